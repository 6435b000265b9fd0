#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <memory>
#include <sstream>
#include <string>
#include <string_view>
#include <system_error>
#include <utility>
#include <vector>

#include "cli/commands/command_line/completions.h"
#include "cli/commands/files/write_file.h"
#include "cli/commands/output.h"
#include "cli/render/completion_scripts.h"
#include "core/base/complaints.h"
#include "core/base/diagnostic.h"

namespace benchproof {
namespace {

struct ManualOptions {
  std::string command;  ///< Empty: the page of the program.
  std::string folder;   ///< Where all pages are written; empty: to standard output.
};

/// A text for a manual page: groff_man(7).
std::string roff(std::string_view text) {
  std::string safe;
  bool is_line_begin = true;
  for (const char c : text) {
    if (is_line_begin && (c == '.' || c == '\'')) safe += "\\&";
    if (c == '\\') {
      safe += "\\e";
    } else if (c == '-') {
      safe += "\\-";
    } else {
      safe += c;
    }
    is_line_begin = c == '\n';
  }
  return safe;
}

/// "benchproof\-verify"
std::string page_name(const Program& program, const Command& command) {
  return roff(program.name + "-" + command.name);
}

std::string upper_case(std::string text) {
  for (char& c : text)
    c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  return text;
}

std::string page_heading(const Program& program, const std::string& page,
                         const std::string& about) {
  return fmt::format(
      ".TH \"{}\" 1 \"\" \"{} {}\" \"User Commands\"\n.SH NAME\n{} \\- {}\n",
      upper_case(page), program.name, program.version, page, roff(about));
}

/// Text in paragraphs, an indented line or a bullet each by itself.
std::string page_text(const std::string& text) {
  std::string page;
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);)
    page += line.empty() ? ".PP\n" : roff(line) + "\n";
  return page;
}

/// "FILE...", "[FILE]": how an argument stands in a synopsis.
std::string in_synopsis(const Option& option) {
  const std::string name =
      fmt::format("\\fI{}\\fR{}", roff(option.name), option.takes_many() ? "..." : "");
  return option.is_required ? name : "[" + name + "]";
}

std::string page_synopsis(const Program& program, const Command& command) {
  std::string line =
      fmt::format(".SH SYNOPSIS\n\\fB{} {}\\fR", program.name, roff(command.name));
  for (const Option& option : command.options.all())
    if (option.is_argument()) line += " " + in_synopsis(option);
  for (const Option& option : command.options.all())
    if (!option.is_argument() && option.is_required)
      line += fmt::format(" \\fB{}\\fR \\fI{}\\fR", roff(option.name),
                          roff(option.value_name));
  return line + " [\\fIoptions\\fR]\n";
}

/// An option with all that is asked of its values.
std::string option_entry(const Option& option) {
  std::string entry =
      option.is_argument()
          ? fmt::format(".TP\n\\fI{}\\fR\n", roff(option.name))
          : fmt::format(".TP\n\\fB{}\\fR{}\n", roff(option.name),
                        option.value_name.empty()
                            ? ""
                            : " \\fI" + roff(option.value_name) + "\\fR");
  entry += roff(option.about) + "\n";
  if (!option.choices.empty() && !option.is_argument())
    entry += fmt::format("One of: {}.\n",
                         roff(fmt::format("{}", fmt::join(option.choices, ", "))));
  if (option.least < option.most)
    entry += fmt::format("From {} to {}.\n", option.least, option.most);
  if (!option.excludes.empty())
    entry += fmt::format("Not together with \\fB{}\\fR.\n", roff(option.excludes));
  return entry;
}

std::string see_also(const Program& program, const Command* but) {
  std::vector<std::string> pages;
  if (but != nullptr) pages.push_back(fmt::format("\\fB{}\\fR(1)", program.name));
  for (const Command& command : program.commands)
    if (&command != but)
      pages.push_back(fmt::format("\\fB{}\\fR(1)", page_name(program, command)));
  return fmt::format(".SH SEE ALSO\n{}\n", fmt::join(pages, ",\n"));
}

std::string page_status(const Program& program) {
  return ".SH EXIT STATUS\n" + page_text(program.footer);
}

/// The page of a command.
std::string command_page(const Program& program, const Command& command) {
  std::string page = page_heading(program, page_name(program, command), command.about) +
                     page_synopsis(program, command) + ".SH OPTIONS\n";
  for (const Option& option : command.options.all()) page += option_entry(option);
  page += ".TP\n\\fB\\-\\-help\\fR\nprint what the command does, and its options\n";
  return page + page_status(program) + see_also(program, &command);
}

/// The page of the program: its commands, each with its options' names.
std::string program_page(const Program& program) {
  std::string about = program.about;
  about[0] = static_cast<char>(std::tolower(static_cast<unsigned char>(about[0])));
  if (about.ends_with('.')) about.pop_back();
  std::string page = page_heading(program, program.name, about) +
                     fmt::format(
                         ".SH SYNOPSIS\n\\fB{0}\\fR \\fICOMMAND\\fR "
                         "[\\fIFILE\\fR...] [\\fIoptions\\fR]\n"
                         ".br\n\\fB{0}\\fR \\fB\\-\\-help\\fR | "
                         "\\fB\\-\\-version\\fR\n.SH COMMANDS\n",
                         program.name);
  for (const Command& command : program.commands)
    page +=
        fmt::format(".TP\n\\fB{}\\fR\n{}\n", roff(command.name), roff(command.about));
  return page + page_status(program) + see_also(program, nullptr);
}

/// The page of the program that nobody starts by hand.
std::string worker_page(const Program& program) {
  return page_heading(program, program.name + "\\-worker",
                      "the sealed program in which the engine of benchproof runs") +
         fmt::format(
             ".SH DESCRIPTION\nIt is started, fed and ended by "
             "\\fB{0}\\fR(1), and is of no use by hand.\n"
             ".SH SEE ALSO\n\\fB{0}\\fR(1)\n",
             program.name);
}

/// A file below the folder of all that is made from the table.
struct MadeFile {
  std::string path;
  std::string text;
};

/// Every manual page and script, where it is installed below share/.
std::vector<MadeFile> all_files(const Program& program) {
  std::vector<MadeFile> files = {
      {fmt::format("man/man1/{}.1", program.name), program_page(program)},
      {fmt::format("man/man1/{}-worker.1", program.name), worker_page(program)}};
  for (const Command& command : program.commands)
    files.push_back({fmt::format("man/man1/{}-{}.1", program.name, command.name),
                     command_page(program, command)});
  for (const CompletedShell& shell : completed_shells())
    files.push_back({std::string(shell.file), std::string(shell.script)});
  return files;
}

int refuse_page(const std::string& text) {
  write_error(fmt::format("benchproof: {}\n", printable(text)));
  return kExitRefused;
}

int write_pages(const Program& program, const std::string& folder) {
  for (const MadeFile& file : all_files(program)) {
    const std::filesystem::path path = std::filesystem::path(folder) / file.path;
    std::error_code error;
    std::filesystem::create_directories(path.parent_path(), error);
    const std::string failure =
        error ? error.message() : write_file(path, file.text, Durability::none);
    if (!failure.empty()) return refuse_page(path.string() + ": " + failure);
  }
  return kExitGood;
}

int run_manual(const Program& program, const ManualOptions& options) {
  if (!options.folder.empty()) return write_pages(program, options.folder);
  if (options.command.empty()) return write_last(program_page(program), kExitGood);
  std::vector<std::string> names;
  for (const Command& command : program.commands) {
    names.push_back(command.name);
    if (command.name == options.command)
      return write_last(command_page(program, command), kExitGood);
  }
  return refuse_page(
      fmt::format("there is no command {}; {}", benchproof::quoted(options.command),
                  names_hint(nearest(options.command, names), names, "commands")));
}

}  // namespace

Command manual_command(ProgramTable table) {
  const auto given = std::make_shared<ManualOptions>();
  Options options;
  options
      .argument("COMMAND", "the page of this command; else that of the program",
                given->command)
      .names(Meaning::command_name);
  options
      .text("--folder", "FOLDER", "write every page, and the completions, below here",
            given->folder)
      .names(Meaning::folder);
  return {"manual", "print a manual page (for man and groff)", std::move(options),
          [given, table = std::move(table)] { return run_manual(table(), *given); }};
}

}  // namespace benchproof
