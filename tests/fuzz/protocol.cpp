// What the session and the worker say to each other, from both ends: any bytes as each
// payload, as what a worker sends, and as what a session sends. Nothing is started; the
// ends of a socket pair stand for the two.
//
// An input that begins with one of the letters h, q, r, m is the payload of one frame
// of that kind (hello, request, reply, more), which gets its header here; any other is
// a stream as it stands.

#include "spice/worker/protocol.h"

#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <optional>
#include <string>
#include <string_view>

#include "spice/session/detail/frame_stream.h"
#include "spice/worker/detail/serve.h"
#include "tests/fuzz/target.h"

namespace benchproof::fuzz {
namespace {

std::string payload_of(const std::string& frame) {
  return frame.substr(wire::kHeaderBytes);
}

/// The decoders accept exactly what the encoders make.
void check_payload(std::string_view payload) {
  if (const auto hello = wire::decode_hello(payload))
    demand(payload_of(wire::encode(*hello)) == payload, "a hello encodes as it came");
  if (const auto request = wire::decode_request(payload))
    demand(payload_of(wire::encode(*request)) == payload,
           "a request encodes as it came");
  if (const auto reply = wire::decode_reply(payload))
    demand(payload_of(wire::encode(*reply)) == payload, "a reply encodes as it came");
  if (const auto more = wire::decode_more(payload))
    demand(payload_of(wire::encode_more(*more)) == payload,
           "a frame of values encodes as it came");
}

void check_header(std::string_view bytes) {
  if (bytes.size() < wire::kHeaderBytes) return;
  const auto header = wire::decode_header(bytes.substr(0, wire::kHeaderBytes));
  if (header)
    demand(header->payload_bytes <= wire::kMaxPayloadBytes, "a payload is bounded");
}

/// A frame around a payload.
std::string framed(wire::FrameKind kind, std::string_view payload) {
  std::string frame = wire::encode_more({}).substr(0, wire::kHeaderBytes);
  frame[4] = static_cast<char>(kind);
  for (int byte = 0; byte < 4; ++byte)
    frame[8 + byte] = static_cast<char>((payload.size() >> (8 * byte)) & 0xFFU);
  return frame.append(payload);
}

std::optional<wire::FrameKind> kind_of(char letter) {
  switch (letter) {
    case 'h':
      return wire::FrameKind::hello;
    case 'q':
      return wire::FrameKind::request;
    case 'r':
      return wire::FrameKind::reply;
    case 'm':
      return wire::FrameKind::more;
    default:
      return std::nullopt;
  }
}

/// Both ends of a stream, into one of which a text was put that the other one reads,
/// and after it the end of the stream.
struct Ends {
  int near = -1;
  int far = -1;  ///< Where the text was put in.
};

Ends ends_with(std::string_view stream) {
  std::array<int, 2> pair{};
  demand(socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, pair.data()) == 0,
         "there are sockets");
  demand(send(pair[1], stream.data(), stream.size(), MSG_DONTWAIT) ==
             static_cast<ssize_t>(stream.size()),
         "an input fits the socket's buffer");
  shutdown(pair[1], SHUT_WR);
  return {pair[0], pair[1]};
}

FrameStream::Deadline soon() {
  return std::chrono::steady_clock::now() + std::chrono::seconds(10);
}

void as_hello(std::string_view stream) {
  const Ends ends = ends_with(stream);
  FrameStream session(ends.near);
  std::string payload;
  demand(
      session.receive(wire::FrameKind::hello, payload, soon()) != Transfer::timed_out,
      "a stream that has ended is not waited for");
  close(ends.far);
}

void as_answer(std::string_view stream, const Wanted& wanted) {
  const Ends ends = ends_with(stream);
  FrameStream session(ends.near);
  wire::Reply reply;
  const Transfer transfer = exchange(session, "a request", wanted, soon(), reply);
  close(ends.far);
  demand(transfer != Transfer::timed_out, "a stream that has ended is not waited for");
  if (transfer != Transfer::done) return;
  const std::size_t values = reply.values.size();
  demand(reply.more == 0 && values <= wire::kMaxValues, "an answer is whole");
  demand(std::all_of(reply.values.begin(), reply.values.end(),
                     [](double value) { return std::isfinite(value); }),
         "an answer is finite");
  if (reply.outcome != wire::Outcome::solved) {
    demand(values == 0, "a failure has no values");
  } else if (wanted.analysis == wire::Analysis::operating_point) {
    demand(values == wanted.vectors, "one value for each vector");
  } else {
    demand(values > 0 && values % (wanted.vectors + 1) == 0, "whole points");
  }
}

void as_requests(std::string_view stream) {
  const Ends ends = ends_with(stream);
  int answered = 0;
  const auto answer = [&answered](const wire::Request& request) {
    ++answered;
    wire::Reply reply;
    reply.outcome = wire::Outcome::solved;
    reply.values.resize(request.vectors.size());
    return reply;
  };
  const worker::Served served = worker::serve(ends.near, answer);
  demand(served != worker::Served::bad_socket, "the answers are taken");
  close(ends.near);
  // What was answered is what the other end receives.
  FrameStream session(ends.far);
  std::string payload;
  for (int k = 0; k < answered; ++k)
    demand(session.receive(wire::FrameKind::reply, payload, soon()) == Transfer::done &&
               wire::decode_reply(payload).has_value(),
           "each request has a whole answer");
  demand(session.receive(wire::FrameKind::reply, payload, soon()) == Transfer::closed,
         "and nothing follows");
}

}  // namespace
}  // namespace benchproof::fuzz

int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  using namespace benchproof;
  const std::string_view text = fuzz::text_of(bytes, size);
  if (text.empty() || text.size() > 60'000) return 0;
  fuzz::check_payload(text);
  fuzz::check_payload(text.substr(1));
  fuzz::check_header(text);
  const auto kind = fuzz::kind_of(text.front());
  const std::string stream =
      kind ? fuzz::framed(*kind, text.substr(1)) : std::string(text);
  fuzz::as_hello(stream);
  for (const std::size_t vectors : {0, 1, 3}) {
    fuzz::as_answer(stream, {wire::Analysis::operating_point, vectors, 0.0});
    fuzz::as_answer(stream, {wire::Analysis::transient, vectors, 1.0});
  }
  fuzz::as_requests(stream);
  return 0;
}
