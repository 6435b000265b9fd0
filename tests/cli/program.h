#pragma once

#include <cstddef>
#include <string>
#include <utility>
#include <vector>

namespace benchproof {

/// The folder of the program that is on trial: BENCHPROOF_BIN_DIR of the environment,
/// or that of the build (with sanitizers the program is built anew, and not its tests).
[[nodiscard]] const std::string& bin_dir();

/// How many sanitized programs do the work of one: what is done over and over again is
/// done so many times less often with the sanitizers, which are after memory and
/// threads and no rare figure. BENCHPROOF_STEP of the environment, or 1.
[[nodiscard]] std::size_t sanitized_step();
[[nodiscard]] inline bool is_sanitized() { return sanitized_step() > 1; }

/// Of how many of a long row a test takes one: every `otherwise`th, without sanitizers
/// as BENCHPROOF_ONE_IN of the environment has it.
[[nodiscard]] std::size_t one_in(std::size_t otherwise);

struct RunOptions {
  std::string input = {};  ///< What it finds on standard input.
  /// Variables set besides PATH and TERM=xterm.
  std::vector<std::pair<std::string, std::string>> environment = {};
  bool on_terminal = false;         ///< Standard output is a terminal.
  bool errors_on_terminal = false;  ///< Standard error is one; both are the same one.
  std::vector<int> closed = {};     ///< Descriptors that it finds closed.
  std::string output_path = {};     ///< Where standard output goes; empty: to `out`.
  std::string program = {};         ///< Another one than that of the build.
  bool filters_refused = false;     ///< The machine loads no system call filter.
  bool tmp_read_only = false;       ///< Nothing can be made below /tmp.
  long descriptors = -1;            ///< So many may be open; negative: as usual.
};

struct Ran {
  int status = -1;  ///< Exit status; -1: ended by a signal.
  std::string out;
  std::string err;
};

/// The status where `tmp_read_only` cannot be had on this machine.
inline constexpr int kNoSuchMachine = 125;

/// Runs the built program in the source folder.
[[nodiscard]] Ran run_program(const std::vector<std::string>& arguments,
                              const RunOptions& options = {});

}  // namespace benchproof
