#pragma once

#include <functional>

namespace benchproof {

/// Does `work(0)` to `work(threads - 1)` at once, `work(0)` on this thread; each goes
/// on until there is nothing left of what they share. Those for which no thread is to
/// be had are left out. When all have ended, what one of them has thrown is passed on.
void on_threads(unsigned threads, const std::function<void(unsigned)>& work);

}  // namespace benchproof
