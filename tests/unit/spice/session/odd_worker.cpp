// A worker that misbehaves in the way its program name says; see test_odd_workers.cpp.
#include <unistd.h>

#include <cmath>
#include <string>
#include <string_view>
#include <vector>

#include "spice/worker/protocol.h"

namespace wire = benchproof::wire;

namespace {

void put(std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t count = write(wire::kWorkerSocket, bytes.data(), bytes.size());
    if (count <= 0) _exit(1);
    bytes.remove_prefix(static_cast<std::size_t>(count));
  }
}

std::string get(std::size_t length) {
  std::string bytes(length, '\0');
  for (std::size_t at = 0; at < length;) {
    const ssize_t count = read(wire::kWorkerSocket, bytes.data() + at, length - at);
    if (count <= 0) _exit(0);
    at += static_cast<std::size_t>(count);
  }
  return bytes;
}

}  // namespace

int main(int, char** arguments) {
  const std::string_view path = arguments[0];
  const std::string_view mode = path.substr(path.rfind('/') + 1);
  if (mode == "exits-at-once") return 7;
  if (mode == "says-nothing") pause();
  if (mode == "says-nonsense") put("HTTP/1.1 200 OK\r\n\r\n");
  if (mode == "promises-too-much")
    put(std::string("BPW\x01\x01\0\0\0\xFF\xFF\xFF\xFF", 12));
  if (mode == "replies-first") put(wire::encode(wire::Reply{}));
  if (mode == "cannot-start")
    put(wire::encode(wire::Hello{true, false, "no engine here\n"}));
  const bool is_unsealed = mode == "has-no-seal";
  put(wire::encode(wire::Hello{!is_unsealed, true, is_unsealed ? "no filter" : ""}));
  int settled = 0;
  while (true) {
    const auto header = wire::decode_header(get(wire::kHeaderBytes));
    const auto request = wire::decode_request(get(header->payload_bytes));
    if (mode == "dies-of-it") _exit(9);
    if (mode == "stops-midway") {
      put(wire::encode(wire::Reply{}).substr(0, wire::kHeaderBytes + 3));
      pause();
    }
    wire::Reply reply;
    reply.outcome = wire::Outcome::solved;
    reply.values.assign(request->vectors.size(), 1.0);
    if (mode == "answers-too-little") reply.values.pop_back();
    if (mode == "fails-with-values") reply.outcome = wire::Outcome::not_solved;
    if (mode == "grows") reply.heap_bytes = 1U << 30U;
    if (mode == "holds-what-failed") {
      reply = {};
      reply.is_held = true;
    }
    if (mode == "holds" || mode == "holds-and-dies") {
      // Tells how many lines it was sent, and how many changes. In time: one vector's,
      // at the beginning and at the end.
      const auto lines = static_cast<double>(request->deck.size());
      const auto changes = static_cast<double>(request->changes.size());
      reply.is_held = request->analysis == wire::Analysis::operating_point;
      reply.values = reply.is_held ? std::vector{lines, changes}
                                   : std::vector{0.0, lines, request->span, lines};
      if (mode == "holds-and-dies" && lines == 0.0) _exit(9);
    }
    if (mode == "holds-in-time") {
      reply.is_held = true;
      reply.values = {0.0, 1.0, request->span, 1.0};
    }
    if (mode == "settles-once") {
      // In time: one vector's 1, at the beginning and at the end.
      if (request->analysis == wire::Analysis::transient)
        reply.values = {0.0, 1.0, request->span, 1.0};
      else if (settled++ > 0)
        reply = {};
    }
    if (mode == "knows-nothing") reply.values.back() = std::nan("");
    const bool is_odd_in_time =
        mode == "goes-back" || mode == "goes-nowhere" || mode == "is-endless";
    if (is_odd_in_time || mode == "falls-silent" || mode == "goes-on" ||
        mode == "overflows" || mode == "breaks-off") {
      reply.more = 5;
    }
    if (mode == "promises-no-end") reply.more = 1ULL << 60U;
    if (mode == "promises-half-a-point") reply.more = 2;
    put(wire::encode(reply));
    if (mode == "goes-on") {
      put(wire::encode_more(std::vector<double>{2.0, 3.0}));
      put(wire::encode_more(std::vector<double>{4.0, 5.0, 6.0}));
    }
    if (mode == "goes-back")
      put(wire::encode_more(std::vector{2.0, 7.0, 4.0, 5.0, 6.0}));
    if (mode == "goes-nowhere")
      put(wire::encode_more(std::vector{2.0, 1.0, 4.0, 5.0, 6.0}));
    if (mode == "is-endless")
      put(wire::encode_more(std::vector{2.0, 3.0, HUGE_VAL, 5.0, 6.0}));
    if (mode == "overflows") put(wire::encode_more(std::vector<double>(6, 2.0)));
    if (mode == "breaks-off") _exit(9);
  }
}
