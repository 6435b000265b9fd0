#include "core/base/desk.h"

#include <system_error>
#include <utility>

namespace benchproof {

void Desk::serve(const std::function<void()>& work) {
  const auto work_and_close = [&] {
    // Also when it throws.
    const std::shared_ptr<void> close(nullptr, [this](void*) {
      const std::lock_guard lock(mutex_);
      is_over_ = true;
      changed_.notify_one();
    });
    work();
  };
  std::future<void> working;
  try {
    working = std::async(std::launch::async, work_and_close);
  } catch (const std::system_error&) {
    is_alone_ = true;
    return work();
  }
  for (std::unique_lock lock(mutex_);;) {
    changed_.wait(lock, [this] { return is_over_ || !jobs_.empty(); });
    if (jobs_.empty()) break;
    const std::function<void()> job = std::move(jobs_.front());
    jobs_.pop_front();
    lock.unlock();
    job();
    lock.lock();
  }
  working.get();
}

void Desk::post(std::function<void()> job) {
  const std::lock_guard lock(mutex_);
  jobs_.push_back(std::move(job));
  changed_.notify_one();
}

}  // namespace benchproof
