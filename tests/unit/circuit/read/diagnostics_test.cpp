#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <optional>
#include <regex>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "core/base/diagnostic_ids.h"
#include "core/catalogue/read/read_types.h"
#include "core/circuit/entries/block_files.h"
#include "core/circuit/entries/own_catalogue.h"
#include "core/circuit/read/reader.h"
#include "tests/files.h"
#include "tests/unit/circuit/known_parts.h"

// Every file in tests/diagnostics/ says by marks which complaints it must bring about:
// "# expect: error ID" at the end of the guilty line, more than one where it earns
// more. A complaint about the file as a whole, or about a change from outside, counts
// as one of line 1. A line "# limits: parts=1" lowers limits, "# set: target = value"
// asks for a change, "# variant: name" for a variant. The catalogue file that a
// description names is read first, with its own marks.

namespace {

namespace fs = std::filesystem;
using benchproof::Catalogue;
using benchproof::Change;
using benchproof::known_types;
using benchproof::text_of;
using benchproof::Limits;
using benchproof::ReadResult;

const fs::path kSource = BENCHPROOF_SOURCE_DIR;

std::vector<fs::path> bad_files() {
  std::vector<fs::path> files;
  for (const auto& entry : fs::directory_iterator(kSource / "tests" / "diagnostics"))
    if (entry.is_regular_file()) files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  return files;
}

/// Line and id, and how often.
using Marks = std::map<std::pair<int, std::string>, int>;

struct Wanted {
  Marks marks;
  Limits limits;
  std::string variant;
  std::vector<Change> changes;
};

Wanted wanted_of(const std::string& text) {
  Wanted wanted;
  static constexpr std::array<std::string_view, 2> kFindings = {"led-bare",
                                                                "led-current"};
  wanted.limits.findings = kFindings;
  const std::regex mark("expect: error ([a-z0-9-]+)");
  const std::regex set("^# set: ([^=]*[^ =]) *= *(.*)$");
  const std::regex variant("^# variant: (.*)$");
  const std::regex limit("^# limits: ([a-z]+)=([0-9]+)");
  std::istringstream lines(text);
  std::string line;
  for (int number = 1; std::getline(lines, line); ++number) {
    for (std::sregex_iterator it(line.begin(), line.end(), mark), end; it != end; ++it)
      ++wanted.marks[{number, (*it)[1]}];
    std::smatch match;
    if (std::regex_search(line, match, set))
      wanted.changes.push_back({match[1], match[2]});
    if (std::regex_search(line, match, variant)) wanted.variant = match[1];
    if (std::regex_search(line, match, limit)) {
      const std::size_t value = std::stoul(match[2]);
      if (match[1] == "parts") wanted.limits.parts = value;
      if (match[1] == "complaints") wanted.limits.complaints = value;
    }
  }
  return wanted;
}

std::string listed(const Marks& marks) {
  std::string text;
  for (const auto& [where, count] : marks)
    text += std::to_string(where.first) + " " + where.second + " x" +
            std::to_string(count) + "\n";
  return text;
}

/// The files that a description takes blocks from.
std::vector<benchproof::BlockFile> block_texts(const std::string& text) {
  return benchproof::block_files(text, [](const std::string& name) {
    const fs::path path = kSource / "tests" / "diagnostics" / name;
    if (!fs::exists(path)) return benchproof::BlockFile{name, "", "is not there"};
    return benchproof::BlockFile{name, text_of(path), ""};
  });
}

ReadResult read_bad(const fs::path& path, const std::string& text,
                    const Catalogue& types) {
  const Wanted wanted = wanted_of(text);
  return read_circuit(text, path.filename().string(), types,
                      {wanted.variant, wanted.changes, "", block_texts(text)},
                      wanted.limits);
}

/// The catalogue file that a description names: its name and text.
std::optional<std::pair<std::string, std::string>> own_file(const std::string& text) {
  const auto own = benchproof::own_catalogue(text);
  if (!own) return std::nullopt;
  return std::pair{own->path, text_of(kSource / "tests" / "diagnostics" / own->path)};
}

/// Counts the complaints about the file of that number, and tells them.
Marks marks_of(const std::vector<benchproof::Diagnostic>& diagnostics,
               const std::string& file, const std::string& text, std::string& told,
               int number = 0) {
  Marks found;
  for (const auto& diagnostic : diagnostics) {
    if (diagnostic.span.file != number && (number != 0 || diagnostic.span.file > 0))
      continue;
    ++found[{std::max(1, diagnostic.span.begin.line), diagnostic.id}];
    for (const auto& span : diagnostic.also)
      ++found[{std::max(1, span.begin.line), diagnostic.id}];
    told += to_text(diagnostic, file, text);
  }
  return found;
}

/// All complaints about a description and its catalogue, with the text each is of.
std::vector<std::pair<benchproof::Diagnostic, std::string>> all_complaints(
    const fs::path& path) {
  const std::string text = text_of(path);
  std::vector<std::pair<benchproof::Diagnostic, std::string>> all;
  Catalogue types = known_types();
  if (const auto own = own_file(text)) {
    auto read = benchproof::read_types(own->second, own->first, known_types(),
                                       benchproof::Author::user);
    for (const auto& d : read.diagnostics) all.emplace_back(d, own->second);
    types = benchproof::with_types(known_types(), std::move(read.types));
  }
  const auto blocks = block_texts(text);
  for (const auto& d : read_bad(path, text, types).diagnostics)
    all.emplace_back(d, d.span.file > 0
                            ? blocks[static_cast<std::size_t>(d.span.file - 1)].text
                            : text);
  return all;
}

}  // namespace

TEST_CASE("each bad file brings exactly the complaints it is marked with",
          "[circuit][diagnostics]") {
  for (const fs::path& path : bad_files()) {
    const std::string text = text_of(path);
    const auto own = own_file(text);
    std::string told;
    Catalogue types = known_types();
    bool is_own_bad = false;
    if (own) {
      auto read = benchproof::read_types(own->second, own->first, known_types(),
                                         benchproof::Author::user);
      const Marks found = marks_of(read.diagnostics, own->first, own->second, told);
      INFO(told);
      CHECK(listed(found) == listed(wanted_of(own->second).marks));
      is_own_bad = !read.diagnostics.empty();
      types = benchproof::with_types(known_types(), std::move(read.types));
    }
    const ReadResult result = read_bad(path, text, types);
    const Marks found =
        marks_of(result.diagnostics, path.filename().string(), text, told);
    INFO(told);
    CHECK(listed(found) == listed(wanted_of(text).marks));
    int number = 0;
    for (const auto& block : block_texts(text)) {
      const Marks in_block =
          marks_of(result.diagnostics, block.path, block.text, told, ++number);
      INFO(told);
      CHECK(listed(in_block) == listed(wanted_of(block.text).marks));
    }
    CHECK(result.circuit.has_value() == result.diagnostics.empty());
    CHECK((is_own_bad || !result.diagnostics.empty()));
  }
}

TEST_CASE("complaints have a place inside the text, and read well",
          "[circuit][diagnostics]") {
  for (const fs::path& path : bad_files()) {
    for (const auto& [diagnostic, text] : all_complaints(path)) {
      INFO(to_text(diagnostic, path.filename().string(), text));
      CHECK(diagnostic.span.end >= diagnostic.span.begin);
      CHECK((diagnostic.span.begin.line == 0) == (diagnostic.span.begin.column == 0));
      REQUIRE_FALSE(diagnostic.message.empty());
      CHECK(diagnostic.message.back() != '.');
      CHECK((diagnostic.message[0] < 'A' || diagnostic.message[0] > 'Z' ||
             diagnostic.id == "syntax"));
    }
  }
}

TEST_CASE("every id of the table has a bad file and an explanation",
          "[circuit][diagnostics]") {
  std::set<std::string> marked;
  for (const fs::path& path : bad_files()) {
    const std::string text = text_of(path);
    for (const auto& [where, count] : wanted_of(text).marks)
      marked.insert(where.second);
    if (const auto own = own_file(text))
      for (const auto& [where, count] : wanted_of(own->second).marks)
        marked.insert(where.second);
  }
  std::set<std::string> listed_ids;
  for (const auto& id : benchproof::kDiagnosticIds) {
    INFO(id.name);
    CHECK(listed_ids.insert(std::string(id.name)).second);
    CHECK_FALSE(id.about.empty());
    CHECK(marked.contains(std::string(id.name)));
    CHECK(fs::exists(kSource / "tests" / "diagnostics" /
                     (std::string(id.name) + ".toml")));
  }
  CHECK(marked.size() == listed_ids.size());
}

// The reader's functions take an id only as one of the constants of the table's header,
// so it is enough that each constant is in the table.
TEST_CASE("every id that is declared is in the table", "[circuit][diagnostics]") {
  const std::string header = text_of(kSource / "core" / "base" / "diagnostic_ids.h");
  const std::regex declared("constexpr DiagnosticId k[A-Za-z0-9]+\\{\"([a-z0-9-]+)\"");
  std::set<std::string> names;
  for (std::sregex_iterator it(header.begin(), header.end(), declared), end; it != end;
       ++it)
    names.insert((*it)[1]);
  CHECK(names.size() > 40);
  std::set<std::string> in_table;
  for (const auto& id : benchproof::kDiagnosticIds)
    in_table.insert(std::string(id.name));
  CHECK(names == in_table);
}
