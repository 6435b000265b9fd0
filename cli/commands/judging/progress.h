#pragma once

#include <chrono>
#include <condition_variable>
#include <functional>
#include <mutex>
#include <string>
#include <thread>

namespace benchproof {

/// One line on standard error, if that is a terminal, that tells how far the work has
/// come while it goes on, and is gone when this is. Elsewhere nothing happens.
class Progress {
 public:
  /// Makes the line for the time passed. Called by another thread.
  using Line = std::function<std::string(std::chrono::seconds)>;

  /// The first line appears after `patience`. Where no thread is to be had there is
  /// none.
  Progress(Line line, std::chrono::milliseconds patience);
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;
  ~Progress() { end(); }

  /// Takes the line away before this goes; at the latest before anything is written.
  void end();

 private:
  void tell(std::chrono::milliseconds patience);

  Line line_;
  std::mutex mutex_;
  std::condition_variable ended_;
  bool is_over_ = false;
  std::thread teller_;
};

/// Shows "still solving, 12 s" where a command takes longer than most do.
class StillSolving : public Progress {
 public:
  StillSolving();
};

}  // namespace benchproof
