// The only source that includes this library: it takes many seconds to compile.
#include "cli/commands/command_line/command_line.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <CLI/CLI.hpp>
#include <map>
#include <optional>
#include <sstream>
#include <string_view>
#include <type_traits>

#include "core/base/complaints.h"
#include "core/base/diagnostic.h"

namespace benchproof {
namespace {

CLI::Option* add_option(CLI::App& command, const Option& option) {
  return std::visit(
      [&](auto* target) {
        using Value = std::remove_pointer_t<decltype(target)>;
        if constexpr (std::is_same_v<Value, bool>)
          return command.add_flag(option.name, *target, option.about);
        else
          return command.add_option(option.name, *target, option.about)
              ->type_name(option.value_name);
      },
      option.target);
}

/// Adds an option with all that is asked of its values.
CLI::Option* declare(CLI::App& command, const Option& option) {
  CLI::Option* added = add_option(command, option);
  // Left alone, the library takes a value in square brackets for a list.
  if (option.is_repeated) added->expected(1)->take_all()->allow_extra_args(false);
  if (option.separator != '\0') added->delimiter(option.separator);
  if (option.is_required) added->required();
  if (!option.choices.empty()) added->check(CLI::IsMember(option.choices));
  if (option.least < option.most) added->check(CLI::Range(option.least, option.most));
  return added;
}

void declare(CLI::App& app, const Command& command) {
  CLI::App* added = app.add_subcommand(command.name, command.about);
  std::map<std::string, CLI::Option*> by_name;
  for (const Option& option : command.options.all())
    by_name[option.name] = declare(*added, option);
  for (const Option& option : command.options.all())
    if (!option.excludes.empty())
      by_name.at(option.name)->excludes(by_name.at(option.excludes));
}

/// Null if there is none of that name.
const Command* find_command(const Program& program, std::string_view name) {
  for (const Command& command : program.commands)
    if (command.name == name) return &command;
  return nullptr;
}

/// The complaint where no command is given, or none of that name.
std::string command_complaint(const Program& program, int count, char** arguments) {
  std::vector<std::string> names;
  for (const Command& command : program.commands) names.push_back(command.name);
  if (count < 2)
    return fmt::format("no command is given\ncommands: {}\n", fmt::join(names, ", "));
  const std::string_view given = arguments[1];
  if (given.starts_with('-')) return {};
  std::string complaint =
      fmt::format("there is no command {}\n{}\n", benchproof::quoted(given),
                  names_hint(nearest(given, names), names, "commands"));
  if (given.ends_with(".toml"))
    complaint += fmt::format("a description is proved with: {} verify {}\n",
                             program.name, given);
  return complaint;
}

/// What an option that is missing is for; empty where another error is told.
std::string missing_option(const CLI::ParseError& error, const CLI::App& app,
                           const Program& program) {
  if (app.get_subcommands().empty()) return {};
  const std::string& name = app.get_subcommands().front()->get_name();
  for (const Command& command : program.commands)
    for (const Option& option : command.options.all())
      if (command.name == name && option.is_required &&
          error.what() == option.name + " is required")
        return fmt::format("{} {}: {}\n", option.name, option.value_name, option.about);
  return {};
}

/// What an option is told that is given more than once but has one value; empty where
/// another error is told.
std::string given_twice(const CLI::ParseError& error, const CLI::App& app,
                        const Program& program) {
  if (app.get_subcommands().empty()) return {};
  const std::string& name = app.get_subcommands().front()->get_name();
  const std::string_view words = error.what();
  for (const Command& command : program.commands)
    for (const Option& option : command.options.all())
      if (command.name == name && !option.is_repeated &&
          words.starts_with(option.name + ":") &&
          words.find("required but received") != words.npos)
        return fmt::format("{} is given more than once: it takes one {}\n", option.name,
                           option.value_name);
  return {};
}

/// The library's words about an error, or ours where no command was found.
Answer answer_to(const CLI::ParseError& error, const CLI::App& app,
                 const Program& program, int count, char** arguments) {
  std::ostringstream output;
  std::ostringstream complaint;
  const int status = app.exit(error, output, complaint);
  if (status == 0) return {output.str(), {}};
  const std::string told = app.get_subcommands().empty()
                               ? command_complaint(program, count, arguments)
                               : std::string();
  if (!told.empty()) return {output.str(), told + help_pointer()};
  if (const std::string twice = given_twice(error, app, program); !twice.empty())
    return {output.str(), twice + help_pointer()};
  return {output.str(), complaint.str() + missing_option(error, app, program)};
}

}  // namespace

std::variant<const Command*, Answer> read_command_line(const Program& program,
                                                       int count, char** arguments) {
  CLI::App app{program.about, program.name};
  app.set_version_flag("--version", program.name + " " + program.version);
  app.require_subcommand(1);
  app.footer(program.footer);
  // All of them are declared, which takes a millisecond, only where none is named.
  const Command* const named =
      count < 2 ? nullptr : find_command(program, arguments[1]);
  for (const Command& command : program.commands)
    if (named == nullptr || named == &command) declare(app, command);
  try {
    app.parse(count, arguments);
  } catch (const CLI::ParseError& error) {
    return answer_to(error, app, program, count, arguments);
  }
  if (const auto parsed = app.get_subcommands(); !parsed.empty())
    return find_command(program, parsed.front()->get_name());
  return Answer{{}, command_complaint(program, count, arguments) + help_pointer()};
}

std::string help_pointer() { return "Run with --help for more information.\n"; }

}  // namespace benchproof
