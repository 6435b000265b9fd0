#include "core/base/threads.h"

#include <future>
#include <new>
#include <system_error>
#include <vector>

namespace benchproof {

void on_threads(unsigned threads, const std::function<void(unsigned)>& work) {
  // Each waits for its thread when it goes, whatever is thrown.
  std::vector<std::future<void>> others;
  try {
    others.reserve(threads);
    for (unsigned k = 1; k < threads; ++k)
      others.push_back(std::async(std::launch::async, [&work, k] { work(k); }));
  } catch (const std::system_error&) {
  } catch (const std::bad_alloc&) {
  }
  work(0);
  for (std::future<void>& other : others) other.get();
}

}  // namespace benchproof
