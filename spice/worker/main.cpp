#include <pwd.h>
#include <unistd.h>

#include <charconv>
#include <string>
#include <string_view>

#include "spice/worker/detail/engine.h"
#include "spice/worker/detail/seal.h"
#include "spice/worker/detail/serve.h"
#include "spice/worker/protocol.h"

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

int exit_status(benchproof::worker::Served served) {
  switch (served) {
    case benchproof::worker::Served::done:
      return kDone;
    case benchproof::worker::Served::bad_request:
      return kBadRequest;
    case benchproof::worker::Served::bad_socket:
      break;
  }
  return kBadSocket;
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
  if (!benchproof::worker::send_frame(wire::kWorkerSocket, wire::encode(hello))) {
    _exit(kBadSocket);
  }
  if (!hello.is_engine_ready) _exit(kBadStart);
  _exit(exit_status(benchproof::worker::serve(
      wire::kWorkerSocket,
      [&engine](const wire::Request& request) { return engine.run(request); })));
}
