#include "cli/commands/watch.h"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <csignal>
#include <filesystem>
#include <utility>

#include "cli/commands/files/file_watch.h"
#include "cli/commands/files/input.h"
#include "cli/commands/files/templates.h"
#include "cli/commands/output.h"
#include "cli/render/layout.h"
#include "cli/render/verify/watch_text.h"
#include "core/base/diagnostic.h"
#include "core/circuit/read/reader.h"

namespace benchproof {
namespace {

/// The exit status of the last look, for when we are interrupted.
std::atomic<int> last_status = kExitGood;
static_assert(std::atomic<int>::is_always_lock_free);

/// Ends the program at once. A worker of the engine ends with the pipe to it.
void end_now(int /*signal*/) { ::_exit(last_status); }

void end_when_interrupted() {
  struct sigaction action = {};
  action.sa_handler = end_now;
  for (const int signal : {SIGINT, SIGTERM, SIGHUP})
    ::sigaction(signal, &action, nullptr);
}

/// A description and the files that it names, with what stands in them.
struct Watched {
  std::vector<std::string> paths;
  std::vector<std::string> texts;
  bool operator==(const Watched&) const = default;
};

/// @post No file stands in it twice, and no more than a person would write.
Watched watched_by(const std::string& file) {
  constexpr std::size_t kMostFiles = 64;
  Watched watched{{file}, {}};
  for (std::size_t k = 0; k < watched.paths.size() && k < kMostFiles; ++k) {
    watched.texts.push_back(read_input(watched.paths[k], Limits().bytes).bytes);
    const auto folder = std::filesystem::path(watched.paths[k]).parent_path();
    for (const std::string& beside : files_beside(watched.texts.back())) {
      const std::string path = (folder / beside).string();
      if (std::find(watched.paths.begin(), watched.paths.end(), path) ==
          watched.paths.end())
        watched.paths.push_back(path);
    }
  }
  return watched;
}

/// The longest list of files whose folders can be watched: a folder that is not there
/// has nothing to tell. Returns why the description's own cannot, or nothing.
std::string set_watch(FileWatch& watch, const Watched& watched) {
  if (watch.set(watched.paths).empty()) return {};
  return watch.set({watched.paths.front()});
}

std::string since_text(const std::vector<CaseRecord>& before, bool was_good,
                       const std::vector<CaseRecord>& now) {
  return fmt::format("\nchanged since the last {}:\n{}",
                     was_good ? "good one" : "one with figures",
                     changes_text(before, now));
}

}  // namespace

int watch_file(const std::string& file, const std::function<WatchRound()>& look) {
  FileWatch watch;
  std::optional<std::vector<CaseRecord>> last;
  bool is_last_good = false;
  end_when_interrupted();
  for (bool is_first = true;; is_first = false) {
    Watched watched = watched_by(file);
    std::string failure = set_watch(watch, watched);
    if (!failure.empty()) {
      write_error(wrapped(printable("benchproof: " + failure), 0, 2));
      return kExitRefused;
    }
    if (!is_first &&
        !write_result("\n" +
                      wrapped(printable(fmt::format("--- {}: saved", file)), 0, 4)))
      return last_status;
    WatchRound round = look();
    last_status = round.status;
    std::string text;
    if (round.records && last) text = since_text(*last, is_last_good, *round.records);
    const bool is_better = round.records && (round.is_good || !is_last_good);
    if (is_better) {
      last = std::move(round.records);
      is_last_good = round.is_good;
    }
    text += wrapped(printable(fmt::format("watching {} (Ctrl-C ends)", file)), 0, 2);
    if (!write_result(text)) return last_status;
    do {  // Saved without a change is no news.
      if (!watch.wait()) return last_status;
    } while (watched_by(file) == watched);
  }
}

}  // namespace benchproof
