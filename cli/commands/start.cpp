#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <filesystem>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "cli/commands/command_line/command.h"
#include "cli/commands/files/input.h"
#include "cli/commands/files/templates.h"
#include "cli/commands/files/write_file.h"
#include "cli/commands/output.h"
#include "cli/render/layout.h"
#include "core/base/complaints.h"
#include "core/circuit/entries/own_catalogue.h"
#include "core/circuit/read/reader.h"

namespace benchproof {
namespace {

namespace fs = std::filesystem;

struct StartOptions {
  std::string file;
  std::string from;
  bool list = false;
};

int refuse(const std::string& why) {
  const std::string line = printable("benchproof: " + why);
  write_error(wraps_errors() ? wrapped(line, 0, 2) : line + "\n");
  return kExitRefused;
}

std::string list_text(const std::vector<Template>& templates) {
  std::size_t width = 0;
  for (const Template& t : templates) width = std::max(width, t.name.size());
  std::string text;
  for (const Template& t : templates) {
    const std::string lines = wrapped(t.about, width + 2, width + 2);
    text += padded(t.name, width + 2) + lines.substr(std::min(width + 2, lines.size()));
  }
  return text;
}

/// Writes a file that is not there yet, whole or not at all. Returns why it could not,
/// or nothing.
std::string write_new(const std::string& path, std::string_view text) {
  const int descriptor =
      ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  if (descriptor < 0)
    return errno == EEXIST ? "it is there already, and stays as it is"
                           : with_system_error("it cannot be made");
  std::string failure;
  while (!text.empty() && failure.empty()) {
    const ssize_t written = ::write(descriptor, text.data(), text.size());
    if (written < 0 && errno == EINTR) continue;
    if (written <= 0) failure = with_system_error("it could not be written");
    if (written > 0) text.remove_prefix(static_cast<std::size_t>(written));
  }
  ::close(descriptor);
  if (!failure.empty()) ::unlink(path.c_str());
  return failure;
}

/// What a template needs beside it comes beside the new file too. Adds a line for each
/// to `told`. Returns why one could not come, or nothing.
std::string bring_along(const Template& from, std::string_view text,
                        const std::string& file, std::string& told) {
  for (const std::string& beside : files_beside(text)) {
    if (!is_beside(beside)) continue;
    const Input input = read_beside(from.path, beside, Limits().bytes);
    if (!input.failure.empty())
      return fmt::format("'{}', which '{}' needs: {}", beside, from.name,
                         input.failure);
    const fs::path target = fs::path(file).parent_path() / beside;
    const Input there = read_ordinary(target.string(), Limits().bytes);
    if (there.failure.empty()) {
      const bool is_same = there.bytes == input.bytes;
      told += fmt::format("{}: is there already{}\n", target.string(),
                          is_same ? "" : ", differs from the template's, and stays");
      continue;
    }
    std::error_code ignored;
    if (target.has_parent_path()) fs::create_directories(target.parent_path(), ignored);
    if (std::string failure = write_new(target.string(), input.bytes); !failure.empty())
      return fmt::format("{}: {}", target.string(), failure);
    told += fmt::format("{}: comes with it\n", target.string());
  }
  return {};
}

int write_from(const Template& from, const std::string& file) {
  const Input input = read_input(from.path, Limits().bytes);
  if (!input.failure.empty())
    return refuse(fmt::format("{}: {}", from.path, input.failure));
  if (file == "-") return write_last(input.bytes, kExitGood);
  std::error_code ignored;
  if (fs::exists(fs::symlink_status(file, ignored)))
    return refuse(fmt::format("{}: it is there already, and stays as it is", file));
  std::string told;
  if (const std::string failure = bring_along(from, input.bytes, file, told);
      !failure.empty())
    return refuse(failure);
  if (const std::string failure = write_new(file, input.bytes); !failure.empty())
    return refuse(fmt::format("{}: {}", file, failure));
  std::string text = wrapped(
      printable(fmt::format("{}: made from {} ({})", file, from.name, from.about)), 0,
      2);
  text += printable(told).empty() ? "" : told;
  text +=
      wrapped(printable(fmt::format("next: change it, and prove it with 'benchproof "
                                    "verify {}'",
                                    file)),
              0, 2);
  return write_last(text, kExitGood);
}

int run_start(const StartOptions& options) {
  if (!options.list && options.file.empty()) throw UsageError("FILE is required");
  if (!options.list && options.from.empty())
    throw UsageError("--from", "is required; --list shows the templates");
  const std::string folder = template_folder();
  const std::vector<Template> templates =
      folder.empty() ? std::vector<Template>() : templates_in(folder);
  if (templates.empty())
    return refuse(
        "the templates are neither where the program was installed nor where "
        "it was built");
  if (options.list) return write_last(list_text(templates), kExitGood);
  std::string name = options.from;
  if (name.ends_with(".toml")) name.resize(name.size() - 5);
  std::vector<std::string> names;
  for (const Template& t : templates) {
    if (t.name == name) return write_from(t, options.file);
    names.push_back(t.name);
  }
  const std::string near = nearest(name, names);
  return refuse(fmt::format(
      "there is no template {}; {}", benchproof::quoted(options.from),
      near.empty() ? "'benchproof start --list' shows all of them"
                   : fmt::format("did you mean {}?", benchproof::quoted(near))));
}

}  // namespace

Command start_command() {
  const auto given = std::make_shared<StartOptions>();
  Options options;
  options.argument("FILE", "the new description; - is standard output", given->file);
  options.text("--from", "TEMPLATE", "what it begins as", given->from);
  options.flag("--list", "all templates, a line each", given->list);
  return {"start", "begin a description from a template", std::move(options),
          [given] { return run_start(*given); }};
}

}  // namespace benchproof
