#include "core/circuit/write/tidy.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>
#include <utility>
#include <vector>

#include "core/base/toml_tree.h"
#include "core/circuit/entries/limits.h"
#include "core/circuit/write/detail/nets_section.h"
#include "core/circuit/write/detail/trails.h"

namespace benchproof {
namespace {

/// A line of the text to be, with its comments.
struct Line {
  std::string key;
  std::vector<std::string> items;
  std::vector<std::string> above;
  std::string beside;
  bool has_gap = false;
};

std::string joined_lines(const std::vector<Line>& lines) {
  constexpr std::size_t kWidest = 16;
  std::size_t width = 0;
  for (const Line& line : lines)
    if (line.key.size() <= kWidest) width = std::max(width, line.key.size());
  std::string text;
  for (const Line& line : lines) {
    if (line.has_gap && !text.empty()) text += "\n";
    for (const std::string& comment : line.above) text += comment + "\n";
    text += list_line(fmt::format("{:<{}}", line.key, width), line.items) +
            (line.beside.empty() ? "" : "  " + line.beside) + "\n";
  }
  return text;
}

/// Puts the comments of a list that goes to the path that takes its place.
void move_comments(const WrittenList& list, const std::vector<Trail>& trails,
                   std::vector<Line>& lines) {
  for (std::size_t k = 0; k < trails.size(); ++k) {
    const auto is_it = [&list](const TrailStep& step) {
      return step.is_net && step.text == list.name;
    };
    if (std::none_of(trails[k].steps.begin(), trails[k].steps.end(), is_it)) continue;
    lines[k].above.insert(lines[k].above.end(), list.above.begin(), list.above.end());
    if (!list.beside.empty()) lines[k].above.push_back(list.beside);
    return;
  }
}

/// Where new paths are put: behind the last one that is there, or before the nets.
std::size_t place_for_paths(std::string_view text, const TomlNode& root,
                            const NetsSection& section) {
  const TomlEntry* paths = find_entry(root, "paths");
  if (paths == nullptr || paths->value.entries.empty()) return section.begin;
  const std::size_t end = byte_at(text, paths->value.entries.back().value.span.end);
  const std::size_t line_end = std::min(text.find('\n', end), text.size());
  return line_end > end && text[line_end - 1] == '\r' ? line_end - 1 : line_end;
}

/// The text with line ends like those of another text.
std::string with_ends_of(std::string_view model, const std::string& text) {
  if (model.find("\r\n") == std::string_view::npos) return text;
  std::string result;
  for (const char c : text) {
    if (c == '\n') result += '\r';
    result += c;
  }
  return result;
}

std::string rewritten(std::string_view text, const TomlNode& root,
                      const NetsSection& section, const ListedWiring& wiring,
                      const std::vector<Trail>& trails) {
  const auto named = names_with(wiring, trails);
  const std::set<std::string> taken = taken_by(trails);
  std::vector<Line> paths;
  for (const Trail& trail : trails)
    paths.push_back({trail.name, items_of(wiring, trail, named), {}, "", false});
  std::vector<Line> nets;
  for (const WrittenList& list : section.lists) {
    const std::vector<std::string> left = left_of(list, taken);
    if (left.empty() && !list.pins.empty()) {
      move_comments(list, trails, paths);
    } else {
      nets.push_back(
          {list.key, quoted_all(left), list.above, list.beside, list.has_gap});
    }
  }
  const std::string beside = section.header.empty() ? "" : "  " + section.header;
  const bool has_paths = find_entry(root, "paths") != nullptr;
  const std::size_t at = place_for_paths(text, root, section);
  std::string before = joined_lines(paths);
  if (has_paths) {
    before.insert(0, "\n");
    before.pop_back();
  } else {
    before.insert(0, nets.empty() ? "[paths]" + beside + "\n" : "[paths]\n");
    if (nets.empty()) {
      before.pop_back();
    } else {
      before += "\n";
    }
  }
  std::string after;
  if (!nets.empty()) {
    after = "[nets]" + beside + "\n" + joined_lines(nets);
    after.pop_back();
  } else if (has_paths && !section.header.empty()) {
    after = section.header;
  }
  before = with_ends_of(text, before);
  after = with_ends_of(text, after);
  std::string result(text);
  result.replace(section.begin, section.end - section.begin, after);
  const std::size_t moved =
      at > section.begin ? at - (section.end - section.begin) + after.size() : at;
  return result.insert(moved, before);
}

}  // namespace

Tidied tidy(std::string_view text, const Circuit& circuit) {
  const auto as_it_is = [&text](std::string reason) {
    return Tidied{std::string(text), false, std::move(reason)};
  };
  const auto tree = parse_toml(text, Limits{}.nesting);
  const auto* root = std::get_if<TomlNode>(&tree);
  const TomlEntry* nets = root != nullptr ? find_entry(*root, "nets") : nullptr;
  if (nets == nullptr) return as_it_is("it has no nets, only paths");
  const auto section = read_section(text, nets->value);
  if (!section) return as_it_is("its nets do not stand in a table [nets] of their own");
  const ListedWiring wiring = listed_wiring(*section, *root, circuit);
  const std::vector<Trail> trails = shortening_trails(wiring);
  if (trails.empty() || bytes_with(wiring, trails) >= bytes_with(wiring, {}))
    return as_it_is("paths would not be shorter");
  return {rewritten(text, *root, *section, wiring, trails), true, ""};
}

bool same_wiring(const Circuit& one, const Circuit& other) {
  const auto pins_of = [](const Circuit& circuit) {
    std::map<std::string, std::set<std::string>> nets;
    for (const Net& net : circuit.nets)
      for (const PinRef ref : net.pins) {
        const Part& part = circuit.parts[static_cast<std::size_t>(ref.part)];
        nets[net.name].insert(fmt::format(
            "{}.{}", part.name, part.pins[static_cast<std::size_t>(ref.pin)]));
      }
    return nets;
  };
  const bool has_same_parts =
      std::equal(one.parts.begin(), one.parts.end(), other.parts.begin(),
                 other.parts.end(), [](const Part& a, const Part& b) {
                   return a.name == b.name && a.kind == b.kind && a.pins == b.pins;
                 });
  return has_same_parts && pins_of(one) == pins_of(other);
}

}  // namespace benchproof
