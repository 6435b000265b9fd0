#include "cli/commands/judging/progress.h"

#include <fmt/format.h>

#include <new>
#include <system_error>
#include <utility>

#include "cli/commands/output.h"

namespace benchproof {

Progress::Progress(Line line, std::chrono::milliseconds patience)
    : line_(std::move(line)) {
  if (!wraps_errors()) return;
  try {
    teller_ = std::thread([this, patience] {
      try {
        tell(patience);
      } catch (const std::bad_alloc&) {
        // There is no memory for words; the work may yet be done.
      }
    });
  } catch (const std::system_error&) {
  }
}

void Progress::end() {
  if (!teller_.joinable()) return;
  {
    const std::scoped_lock lock(mutex_);
    is_over_ = true;
  }
  ended_.notify_one();
  teller_.join();
}

void Progress::tell(std::chrono::milliseconds patience) {
  constexpr auto kPause = std::chrono::milliseconds(100);
  using Clock = std::chrono::steady_clock;
  const auto begin = Clock::now();
  std::unique_lock lock(mutex_);
  if (ended_.wait_for(lock, patience, [this] { return is_over_; })) return;
  std::string before;
  do {
    const std::string text =
        line_(std::chrono::duration_cast<std::chrono::seconds>(Clock::now() - begin));
    if (text != before) write_error("\r" + text + "\x1b[K");
    before = text;
  } while (!ended_.wait_for(lock, kPause, [this] { return is_over_; }));
  write_error("\r\x1b[K");
}

StillSolving::StillSolving()
    : Progress(
          [](std::chrono::seconds passed) {
            return fmt::format("still solving, {} s", passed.count());
          },
          std::chrono::seconds(1)) {}

}  // namespace benchproof
