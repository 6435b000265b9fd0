#include "cli/commands/command_line/completions.h"

#include <algorithm>
#include <memory>
#include <utility>

#include "cli/commands/command_line/completing.h"
#include "cli/commands/output.h"
#include "cli/render/completion_scripts.h"

namespace benchproof {
namespace {

int run_completions(const std::string& shell) {
  const auto& shells = completed_shells();
  const auto found =
      std::find_if(shells.begin(), shells.end(),
                   [&shell](const CompletedShell& s) { return s.name == shell; });
  return write_last(found->script, kExitGood);
}

}  // namespace

Command completions_command() {
  const auto shell = std::make_shared<std::string>();
  Options options;
  Option& option =
      options.argument("SHELL", "whose script is printed: bash, zsh or fish", *shell);
  option.is_required = true;
  for (const CompletedShell& known : completed_shells())
    option.choices.emplace_back(known.name);
  return {"completions", "print what lets a shell complete command lines",
          std::move(options), [shell] { return run_completions(*shell); }};
}

int answer_shell(const Program& program, const std::vector<std::string>& words) {
  return write_last(completion_text(complete(program, words)), kExitGood);
}

}  // namespace benchproof
