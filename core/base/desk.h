#pragma once

#include <condition_variable>
#include <deque>
#include <functional>
#include <future>
#include <memory>
#include <mutex>
#include <type_traits>

namespace benchproof {

/// Lets threads have things done on another one: what belongs to a thread, as a child
/// process that ends with it does.
class Desk {
 public:
  /// Does `work` on another thread, and on this one what is asked meanwhile; where no
  /// other thread is to be had, all of it here. What `work` throws is passed on.
  void serve(const std::function<void()>& work);

  /// Has the thread that serves do `job`, and waits for its result. What it throws is
  /// passed on. Called by `work` alone, or threads that it has begun.
  template <typename Job>
  std::invoke_result_t<Job> ask(const Job& job) {
    if (is_alone_) return job();
    // Shared: the one who serves may still be leaving it when the result is there.
    const auto task = std::make_shared<std::packaged_task<std::invoke_result_t<Job>()>>(
        [&job] { return job(); });
    post([task] { (*task)(); });
    return task->get_future().get();
  }

 private:
  void post(std::function<void()> job);

  std::mutex mutex_;
  std::condition_variable changed_;
  std::deque<std::function<void()>> jobs_;
  bool is_over_ = false;
  bool is_alone_ = false;
};

}  // namespace benchproof
