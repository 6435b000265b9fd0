#include <cstddef>
#include <exception>
#include <sstream>
#include <string>
#include <variant>
#include <vector>
#ifdef __GLIBC__
#include <malloc.h>
#endif

#include "cli/commands/command_line/command.h"
#include "cli/commands/command_line/command_line.h"
#include "cli/commands/command_line/completions.h"
#include "cli/commands/output.h"
#include "cli/render/layout.h"
#include "core/base/diagnostic.h"
#include "core/base/pages.h"

namespace {

using namespace benchproof;

Program program() {
  return {
      "benchproof",
      BENCHPROOF_VERSION,
      "Proves small DC circuits: two independent solvers must agree.",
      "Exit status: 0 good, cautions included; 1 a check failed; 2 a description or\n"
      "the command line is wrong; 3 a solver has no answer; 4 the solvers disagree.\n"
      "Of several files the highest counts.",
      {verify_command(),     deck_command(),     wave_command(),
       draw_command(),       report_command(),   shopping_command(),
       size_command(),       parts_command(),    range_command(),
       tolerance_command(),  assemble_command(), board_command(),
       compare_command(),    regress_command(),  readings_command(),
       diagnose_command(),   start_command(),    words_command(),
       tidy_command(),       schema_command(),   manual_command(program),
       completions_command()}};
}

/// Tells what is wrong with the command line, safe to print, and fitting where a person
/// reads it.
void complain(const std::string& complaint) {
  std::istringstream lines("benchproof: " + complaint);
  std::string text;
  for (std::string line; std::getline(lines, line);) {
    line = printable(line);
    text += wraps_errors() ? wrapped(line, 0, 2) : line + "\n";
  }
  write_error(text);
}

/// Has the heap keep what waveforms leave for the next one, instead of giving megabytes
/// back page by page; and begin with what a small circuit takes.
void prepare_heap() {
#ifdef __GLIBC__
  constexpr std::size_t kSmallCircuit = 3 << 19;
  mallopt(M_MMAP_THRESHOLD, 32 << 20);
  mallopt(M_TRIM_THRESHOLD, 64 << 20);
  mallopt(M_TOP_PAD, 1 << 20);
  begin_heap(kSmallCircuit);
#endif
}

/// Runs the command that a command line names. Returns the exit status.
int run(int count, char** arguments) {
  const Program all = program();
  if (count > 1 && arguments[1] == kAskedByShell)
    return answer_shell(all, {arguments + 2, arguments + count});
  const auto read = read_command_line(all, count, arguments);
  if (const auto* answer = std::get_if<Answer>(&read)) {
    const bool is_good = answer->complaint.empty();
    if (!is_good) complain(answer->complaint);
    return write_last(answer->output, is_good ? kExitGood : kExitRefused);
  }
  try {
    return std::get<const Command*>(read)->run();
  } catch (const UsageError& error) {
    complain(std::string(error.what()) + "\n" + help_pointer());
    return kExitRefused;
  }
}

}  // namespace

int main(int count, char** arguments) {
  prepare_heap();
  prepare_streams();
  try {
    return run(count, arguments);
  } catch (const std::exception& error) {
    write_error("benchproof: " + exception_text(error) + "\n");
    return kExitNoAnswer;
  }
}
