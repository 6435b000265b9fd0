#pragma once

#include <cstddef>
#include <string>

namespace benchproof::worker {

/// Limits of the worker process, set by itself before the engine starts.
inline constexpr std::size_t kAddressSpaceBytes = 512U << 20U;
inline constexpr unsigned kCpuSeconds = 600;  ///< Over its whole life.

/// Ties this process to its parent and takes from it what it does not need.
///
/// It dies with the thread that started it, holds no descriptor but 0, 1, 2 and the
/// session's socket, can open no other, writes no file, dumps no core, and is bound in
/// address space and processor time.
/// @param parent the process that must still be there.
/// @return empty, or what failed; the process should end then.
[[nodiscard]] std::string limit_process(int parent);

/// Loads the system call filter of this process, for good. What an analysis needs is
/// allowed: memory, time, signals, and reading and writing what is already open.
/// Opening a file fails with EPERM; starting a process or a thread, replacing this
/// process, or reaching another through a socket, a signal or a trace is not done and
/// ends the process with the status of a wire::Breach. A call of a foreign architecture
/// ends it with SIGSYS.
/// @return empty, or why the filter is not in force.
[[nodiscard]] std::string filter_system_calls();

}  // namespace benchproof::worker
