// Every page of the project (each *.md, wherever it lies): its examples are run, its
// links lead somewhere. What a page may hold, and how it is checked, is written in
// tests/README.md; a new page needs nothing here.

#include <algorithm>
#include <catch2/catch.hpp>
#include <cctype>
#include <filesystem>
#include <iomanip>
#include <map>
#include <nlohmann/json.hpp>
#include <regex>
#include <sstream>
#include <string>
#include <string_view>
#include <vector>

#include "folder.h"
#include "golden.h"
#include "program.h"
#include "tests/files.h"

namespace benchproof {
namespace {

namespace fs = std::filesystem;
using Lines = std::vector<std::string>;

const fs::path kRoot = BENCHPROOF_SOURCE_DIR;

/// A fenced block of a page.
struct Block {
  std::string place;     ///< "page:line" of its fence.
  std::string language;  ///< The word behind the fence.
  std::string text;
};

struct Page {
  std::string name;           ///< Its path within the project.
  std::string prose;          ///< All that stands in no block.
  std::vector<Block> blocks;  ///< In their order.
  std::vector<std::string> anchors;
  std::vector<std::string> sections;  ///< Anchors of the headings of second rank.
  std::string opening;                ///< The prose before the first of them.
  std::size_t lines = 0;
};

Lines lines_of(const std::string& text) {
  Lines lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

/// What a heading is called in a link: small letters, digits and hyphens.
std::string anchor_of(std::string_view heading) {
  std::string anchor;
  for (const char c : heading) {
    if (std::isalnum(static_cast<unsigned char>(c)) != 0 || c == '-' || c == '_') {
      anchor += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    } else if (c == ' ') {
      anchor += '-';
    }
  }
  return anchor;
}

Page read_page(const fs::path& path) {
  Page page;
  page.name = path.lexically_relative(kRoot).string();
  bool is_in_block = false;
  for (const std::string& line : lines_of(text_of(path.string()))) {
    ++page.lines;
    if (line.starts_with("```")) {
      is_in_block = !is_in_block;
      if (is_in_block) {
        page.blocks.push_back(
            {page.name + ":" + std::to_string(page.lines), line.substr(3), {}});
      }
    } else if (is_in_block) {
      page.blocks.back().text += line + "\n";
    } else {
      const std::size_t rank = line.starts_with("#") ? line.find_first_not_of('#') : 0;
      if (rank > 0 && rank != std::string::npos) {
        page.anchors.push_back(anchor_of(std::string_view(line).substr(rank + 1)));
        if (rank == 2) {
          if (page.sections.empty()) page.opening = page.prose;
          page.sections.push_back(page.anchors.back());
        }
      }
      page.prose += line + "\n";
    }
  }
  return page;
}

/// The pages of the project, but for those in `build` and in hidden folders.
const std::vector<Page>& pages() {
  static const std::vector<Page> found = [] {
    std::vector<fs::path> paths;
    for (auto it = fs::recursive_directory_iterator(kRoot); it != fs::end(it); ++it) {
      const std::string name = it->path().filename().string();
      if (it->is_directory() && (name.starts_with(".") || name == "build")) {
        it.disable_recursion_pending();
      } else if (it->path().extension() == ".md") {
        paths.push_back(it->path());
      }
    }
    std::sort(paths.begin(), paths.end());
    std::vector<Page> read;
    for (const fs::path& path : paths) read.push_back(read_page(path));
    return read;
  }();
  return found;
}

std::vector<Block> blocks_in(std::string_view language) {
  std::vector<Block> found;
  for (const Page& page : pages()) {
    std::copy_if(page.blocks.begin(), page.blocks.end(), std::back_inserter(found),
                 [&](const Block& block) { return block.language == language; });
  }
  return found;
}

Lines words_of(const std::string& command) {
  std::istringstream in(command);
  Lines words;
  for (std::string word; in >> std::quoted(word);) words.push_back(word);
  return words;
}

/// Runs what stands behind "benchproof "; standard output, then standard error.
std::string said_by(const std::string& command) {
  const Ran ran = run_program(words_of(command));
  return ran.out + ran.err;
}

bool is_gap(const std::string& line) {
  const std::size_t begin = line.find_first_not_of(' ');
  return begin != std::string::npos && line.substr(begin) == "...";
}

/// Where in `said`, from `from` on, all of `shown` stands; npos: nowhere.
std::size_t find_lines(const Lines& said, std::size_t from, const Lines& shown) {
  const auto it = std::search(
      said.begin() + static_cast<std::ptrdiff_t>(from), said.end(), shown.begin(),
      shown.end(), [](const std::string& found, const std::string& expected) {
        return text_difference("", expected, found).empty();
      });
  return it == said.end() && !shown.empty()
             ? std::string::npos
             : static_cast<std::size_t>(it - said.begin());
}

/// Compares as text_difference does, but a line "..." stands for any number of lines.
std::string cut_difference(const std::string& place, const std::string& shown,
                           const std::string& said) {
  std::vector<Lines> parts(1);
  for (const std::string& line : lines_of(shown)) {
    if (is_gap(line)) {
      parts.emplace_back();
    } else {
      parts.back().push_back(line);
    }
  }
  if (parts.size() == 1) return text_difference(place, shown, said);
  const Lines all = lines_of(said);
  std::size_t from = 0;
  for (std::size_t k = 0; k < parts.size(); ++k) {
    const bool is_last = k + 1 == parts.size();
    if (is_last && !parts[k].empty()) {  // Its end is the end.
      from = std::max(from, all.size() - std::min(all.size(), parts[k].size()));
    }
    const std::size_t at = find_lines(all, from, parts[k]);
    const bool is_there = at != std::string::npos && (k > 0 || at == 0);
    if (!is_there) {
      std::string lost = place + ": not so, or not in this place:\n";
      for (const std::string& line : parts[k]) lost += line + "\n";
      return lost + "what is said:\n" + said;
    }
    from = at + parts[k].size();
  }
  return {};
}

/// The commands that the prose names in full: `benchproof ...` without a word in
/// capitals, which stands for something else, and without what writes files or waits
/// for them to be written.
Lines commands_in(const std::string& prose) {
  static const std::regex code("`benchproof\\s+([^`]*)`");
  static const std::regex stand_in(R"((^|[ =./])[A-Z]{2,}([ =./]|$)|\.\.\.)");
  static const std::regex writes("--(write|record|junit|merge|from|watch)");
  Lines commands;
  for (std::sregex_iterator it(prose.begin(), prose.end(), code), end; it != end;
       ++it) {
    std::string command = (*it)[1];
    std::replace(command.begin(), command.end(), '\n', ' ');
    if (!std::regex_search(command, stand_in) && !std::regex_search(command, writes)) {
      commands.push_back(command);
    }
  }
  return commands;
}

/// The targets of a page's links that lead to something of the project.
Lines links_in(const std::string& prose) {
  static const std::regex link(R"(\]\(([^)\s]+)\))");
  Lines targets;
  for (std::sregex_iterator it(prose.begin(), prose.end(), link), end; it != end;
       ++it) {
    const std::string target = (*it)[1];
    if (target.find("://") == std::string::npos) targets.push_back(target);
  }
  return targets;
}

bool has(const Lines& list, const std::string& one) {
  return std::find(list.begin(), list.end(), one) != list.end();
}

}  // namespace

TEST_CASE("the pages show what the program says", "[program][pages][golden]") {
  const std::string prompt = "$ benchproof ";
  const std::vector<Block> blocks = blocks_in("console");
  CHECK(!blocks.empty());
  for (const Block& block : blocks) {
    INFO(block.place);
    REQUIRE(block.text.starts_with(prompt));
    std::size_t begin = 0;
    while (begin != std::string::npos) {
      const std::size_t next = block.text.find("\n" + prompt, begin);
      const std::string one =
          block.text.substr(begin, next == std::string::npos ? next : next + 1 - begin);
      const std::size_t line_end = one.find('\n');
      const std::string command = one.substr(prompt.size(), line_end - prompt.size());
      CHECK(cut_difference(block.place, one.substr(line_end + 1), said_by(command)) ==
            "");
      begin = next == std::string::npos ? next : next + 1;
    }
  }
}

TEST_CASE("lines may be left out of what a page shows", "[program][pages]") {
  const std::string said = "one\ntwo\nthree\nfour 4.1 V\n";
  const auto is_shown = [&](const std::string& shown) {
    return cut_difference("here", shown, said).empty();
  };
  CHECK(is_shown("one\n  ...\nfour 4.1 V\n"));
  CHECK(is_shown("...\ntwo\n...\n"));
  CHECK(is_shown("one\ntwo\n...\n"));
  CHECK(is_shown("...\nthree\nfour 4.2 V\n"));  // The last digit may differ.
  CHECK_FALSE(is_shown("two\n...\n"));
  CHECK_FALSE(is_shown("one\n...\nthree\n"));
  CHECK_FALSE(is_shown("one\nthree\n...\n"));
  CHECK_FALSE(is_shown("...\nthree\ntwo\n..."));
  CHECK_FALSE(is_shown("one\n...\nfour 4.4 V\n"));
}

TEST_CASE("what the pages name as a command is understood", "[program][pages]") {
  int count = 0;
  for (const Page& page : pages()) {
    for (const std::string& command : commands_in(page.prose)) {
      ++count;
      const Ran ran = run_program(words_of(command));
      CAPTURE(page.name, command, ran.err);
      CHECK((ran.status == 0 || ran.status == 1));
    }
  }
  CHECK(count > 0);
}

TEST_CASE("the descriptions on the pages are sound", "[program][pages]") {
  const std::string added = "# added to ";
  const std::string readings = "# readings of ";
  const std::vector<Block> blocks = blocks_in("toml");
  CHECK(!blocks.empty());
  for (const Block& block : blocks) {
    INFO(block.place);
    const auto holds = [&](const char* what) {
      return block.text.find(what) != std::string::npos;
    };
    Ran ran;
    if (block.text.starts_with(added)) {
      const std::string file =
          block.text.substr(added.size(), block.text.find('\n') - added.size());
      const std::string whole = text_of((kRoot / file).string());
      REQUIRE(!whole.empty());
      ran = run_program({"verify", "-"}, {.input = whole + "\n" + block.text});
    } else if (block.text.starts_with(readings)) {
      const std::string file =
          block.text.substr(readings.size(), block.text.find('\n') - readings.size());
      ran = run_program({"diagnose", file, "-"}, {.input = block.text});
    } else if (holds("[parts]")) {
      ran = run_program({"verify", "-"}, {.input = block.text});
    } else {
      // Neither whole nor added to a file: a catalogue of one's own.
      REQUIRE(holds("[[type]]"));
      const Folder folder;
      ran = run_program({"parts", "--catalogue", folder.file("own.toml", block.text)});
    }
    CAPTURE(ran.out, ran.err);
    CHECK(ran.status == 0);
  }
}

TEST_CASE("blocks on the pages say what they are", "[program][pages]") {
  const Lines known = {"console", "json", "text", "toml"};
  for (const Page& page : pages()) {
    for (const Block& block : page.blocks) {
      INFO(block.place);
      CHECK(has(known, block.language));
      if (block.language == "json") CHECK(nlohmann::json::accept(block.text));
    }
  }
}

TEST_CASE("the links of the pages lead somewhere", "[program][pages]") {
  std::map<std::string, const Page*> known;
  for (const Page& page : pages()) known[page.name] = &page;
  for (const Page& page : pages()) {
    for (const std::string& target : links_in(page.prose)) {
      CAPTURE(page.name, target);
      const std::size_t hash = target.find('#');
      const std::string file = target.substr(0, hash);
      const fs::path path =
          file.empty() ? fs::path(page.name)
                       : (fs::path(page.name).parent_path() / file).lexically_normal();
      CHECK(fs::exists(kRoot / path));
      if (hash == std::string::npos) continue;
      REQUIRE(known.contains(path.string()));
      CHECK(has(known[path.string()]->anchors, target.substr(hash + 1)));
    }
  }
}

TEST_CASE("the first page is short, the others begin with their contents",
          "[program][pages]") {
  for (const Page& page : pages()) {
    CAPTURE(page.name, page.lines);
    if (page.name == "README.md") {
      CHECK(page.lines < 200);
      continue;
    }
    const Lines told = links_in(page.opening);
    for (const std::string& section : page.sections) {
      CAPTURE(section);
      CHECK(has(told, "#" + section));
    }
  }
}

}  // namespace benchproof
