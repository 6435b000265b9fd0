#include <pwd.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <charconv>
#include <span>
#include <string>
#include <string_view>

#include "spice/worker/engine.h"
#include "spice/worker/protocol.h"
#include "spice/worker/seal.h"

namespace wire = benchproof::wire;

// The engine asks the user database, not HOME, for the folder whose start-up file it
// runs. This definition stands in front of the C library's: no database is read, and
// the home folder is a path below which nothing can be.
extern "C" passwd* getpwuid(uid_t user) {
  static std::string home = "/dev/null";
  static std::string empty;
  static passwd nobody{};
  nobody.pw_uid = user;
  nobody.pw_name = nobody.pw_passwd = nobody.pw_gecos = nobody.pw_shell = empty.data();
  nobody.pw_dir = home.data();
  return &nobody;
}

namespace {

enum ExitStatus { kDone = 0, kBadStart = 2, kBadRequest = 3, kBadSocket = 4 };

// True when all of `bytes` came; false at the end of the stream or on an error.
bool read_all(char* bytes, std::size_t length) {
  while (length > 0) {
    const ssize_t got = read(wire::kWorkerSocket, bytes, length);
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) return false;
    bytes += got;
    length -= static_cast<std::size_t>(got);
  }
  return true;
}

bool write_all(std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t put = write(wire::kWorkerSocket, bytes.data(), bytes.size());
    if (put < 0 && errno == EINTR) continue;
    if (put <= 0) return false;
    bytes.remove_prefix(static_cast<std::size_t>(put));
  }
  return true;
}

// Answers requests until the session closes the socket.
ExitStatus serve(benchproof::worker::Engine& engine) {
  std::string payload;
  while (true) {
    std::array<char, wire::kHeaderBytes> head{};
    if (!read_all(head.data(), head.size())) return kDone;
    const auto header = wire::decode_header({head.data(), head.size()});
    if (!header || header->kind != wire::FrameKind::request) return kBadRequest;
    payload.resize(header->payload_bytes);
    if (!read_all(payload.data(), payload.size())) return kDone;
    const auto request = wire::decode_request(payload);
    if (!request) return kBadRequest;
    const wire::Reply reply = engine.run(*request);
    if (!write_all(wire::encode(reply))) return kBadSocket;
    std::span<const double> rest(reply.values);
    while (rest.size() > wire::kMaxFrameValues) {
      rest = rest.subspan(wire::kMaxFrameValues);
      const auto next = rest.first(std::min(rest.size(), wire::kMaxFrameValues));
      if (!write_all(wire::encode_more(next))) return kBadSocket;
    }
    if (reply.outcome == wire::Outcome::leaving) return kDone;
  }
}

}  // namespace

// Started by the session only, as: benchproof-worker PARENT, with descriptor 3 the
// socket. It leaves by _exit: the engine's own tidying up at exit has nothing to keep.
int main(int count, char** arguments) {
  int parent = 0;
  const std::string_view text = count == 2 ? arguments[1] : "";
  const auto parsed = std::from_chars(text.data(), text.data() + text.size(), parent);
  if (parsed.ec != std::errc{} || parsed.ptr != text.data() + text.size()) {
    constexpr std::string_view kUsage =
        "benchproof-worker: started by benchproof only\n";
    [[maybe_unused]] const auto told = write(2, kUsage.data(), kUsage.size());
    _exit(kBadStart);
  }
  wire::Hello hello;
  hello.detail = benchproof::worker::limit_process(parent);
  benchproof::worker::Engine engine;
  if (hello.detail.empty()) {
    hello.detail = benchproof::worker::filter_system_calls();
    hello.is_sealed = hello.detail.empty();
    const std::string start_failure = engine.start();
    hello.is_engine_ready = start_failure.empty();
    hello.detail += start_failure;
  }
  if (!write_all(wire::encode(hello))) _exit(kBadSocket);
  _exit(hello.is_engine_ready ? serve(engine) : kBadStart);
}
