// A worker with a fault: it passes the session's requests to the real one and spoils
// what comes back, as the file `fault` beside it says; see engine_faults_test.cpp.
//
// The file holds `FRAME WHAT [NUMBER [NUMBER]] [once]`; frames are counted from 0, the
// hello. With `once` it is removed in the act, so that the next worker is sound. Each
// frame sent is noted in the file `frames`: its kind, its bytes, its values.
#include <sys/socket.h>
#include <sys/types.h>
#include <unistd.h>

#include <algorithm>
#include <bit>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "spice/worker/protocol.h"

namespace wire = benchproof::wire;

namespace {

struct Fault {
  long frame = -1;
  std::string what;
  std::uint64_t number = 0;
  std::uint64_t other = 0;
  bool is_once = false;
};

Fault read_fault(const std::filesystem::path& path) {
  Fault fault;
  std::ifstream in(path);
  in >> fault.frame >> fault.what >> fault.number >> fault.other;
  in.clear();
  std::string last;
  in >> last;
  fault.is_once = last == "once";
  return fault;
}

void put(int socket, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t count = write(socket, bytes.data(), bytes.size());
    if (count <= 0) _exit(1);
    bytes.remove_prefix(static_cast<std::size_t>(count));
  }
}

/// A whole frame; nothing at the end of the stream.
std::string get_frame(int socket) {
  std::string bytes;
  std::size_t wanted = wire::kHeaderBytes;
  while (bytes.size() < wanted) {
    const std::size_t had = bytes.size();
    bytes.resize(wanted);
    const ssize_t count = read(socket, bytes.data() + had, wanted - had);
    if (count <= 0) return {};
    bytes.resize(had + static_cast<std::size_t>(count));
    if (had < wire::kHeaderBytes && bytes.size() == wire::kHeaderBytes)
      wanted += wire::decode_header(bytes)->payload_bytes;
  }
  return bytes;
}

/// The frame with its values changed; others stay as they are.
template <typename Change>
std::string with_values(const std::string& frame, Change&& change) {
  const auto reply = wire::decode_reply(frame.substr(wire::kHeaderBytes));
  if (!reply || wire::decode_header(frame.substr(0, wire::kHeaderBytes))->kind !=
                    wire::FrameKind::reply)
    return frame;
  wire::Reply changed = *reply;
  change(changed);
  return wire::encode(changed);
}

std::size_t values_in(const std::string& frame) {
  std::size_t count = 0;
  with_values(frame, [&count](wire::Reply& reply) { count = reply.values.size(); });
  return count;
}

/// The bytes sent in place of a frame.
std::string spoilt(const Fault& fault, const std::string& frame,
                   const std::string& before) {
  const auto at = [&fault](std::size_t size) {
    return static_cast<std::size_t>(fault.number % std::max<std::size_t>(size, 1));
  };
  if (fault.what == "end") _exit(9);
  if (fault.what == "cut") {
    put(wire::kWorkerSocket, std::string_view(frame).substr(0, at(frame.size())));
    _exit(9);
  }
  if (fault.what == "flip") {
    std::string bytes = frame;
    const std::size_t bit = at(8 * frame.size());
    bytes[bit / 8] = static_cast<char>(bytes[bit / 8] ^ (1 << (bit % 8)));
    return bytes;
  }
  if (fault.what == "again") return before;
  if (fault.what == "twice") return frame + frame;
  return with_values(frame, [&](wire::Reply& reply) {
    std::vector<double>& values = reply.values;
    if (fault.what == "fewer" && !values.empty()) values.pop_back();
    if (fault.what == "more-values") values.push_back(0.0);
    if (fault.what == "promise") reply.more = fault.number;
    if (fault.what == "outcome")
      reply.outcome = static_cast<wire::Outcome>(fault.number);
    if (fault.what == "rotate" && !values.empty())
      std::rotate(values.begin(), values.begin() + 1, values.end());
    if (fault.what == "reverse") std::reverse(values.begin(), values.end());
    if (fault.what == "value" && !values.empty())
      values[at(values.size())] = std::bit_cast<double>(fault.other);
    if (fault.what == "all")
      std::fill(values.begin(), values.end(), std::bit_cast<double>(fault.other));
  });
}

}  // namespace

int main(int, char** arguments) {
  const auto folder = std::filesystem::path(arguments[0]).parent_path();
  const Fault fault = read_fault(folder / "fault");
  int pair[2];
  if (socketpair(AF_UNIX, SOCK_STREAM, 0, pair) != 0) return 1;
  const std::string parent = std::to_string(getpid());
  const pid_t child = fork();
  if (child == 0) {
    dup2(pair[1], wire::kWorkerSocket);
    execl(BENCHPROOF_BIN_DIR "/benchproof-worker", "benchproof-worker", parent.c_str(),
          static_cast<char*>(nullptr));
    _exit(127);
  }
  close(pair[1]);
  const int worker = pair[0];
  std::thread([worker] {
    for (;;) {
      const std::string request = get_frame(wire::kWorkerSocket);
      if (request.empty()) _exit(0);
      put(worker, request);
    }
  }).detach();
  std::ofstream log(folder / "frames", std::ios::app);
  std::string before;
  for (long k = 0;; ++k) {
    std::string frame = get_frame(worker);
    if (frame.empty()) _exit(0);
    log << static_cast<int>(frame[4]) << ' ' << frame.size() << ' ' << values_in(frame)
        << std::endl;
    if (k == fault.frame) {
      if (fault.is_once) std::filesystem::remove(folder / "fault");
      const std::string sound = frame;
      frame = spoilt(fault, sound, before);
      before = sound;
    } else {
      before = frame;
    }
    put(wire::kWorkerSocket, frame);
  }
}
