#include "core/circuit/write/write_board.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <optional>
#include <vector>

#include "core/base/toml_tree.h"

namespace benchproof {
namespace {

constexpr int kNesting = 32;

bool is_bare(std::string_view key) {
  return !key.empty() && std::all_of(key.begin(), key.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
           c == '_' || c == '-';
  });
}

std::string key_text(std::string_view key) {
  return is_bare(key) ? std::string(key) : fmt::format("\"{}\"", key);
}

/// "{ anode = "B2", cathode = "B6" }".
std::string place_text(const Circuit& circuit, const Board& board,
                       const Placement& place) {
  const Part& part = circuit.parts[static_cast<std::size_t>(place.part)];
  std::vector<std::string> items;
  for (const PlacedPin& pin : place.pins)
    items.push_back(fmt::format("{} = \"{}\"",
                                key_text(part.pins[static_cast<std::size_t>(pin.pin)]),
                                hole_name(board, pin.hole)));
  if (place.faces)
    items.push_back(fmt::format("faces = \"{}\"", side_word(*place.faces)));
  if (place.is_flat)
    items.push_back(place.flat_to
                        ? fmt::format("flat = \"{}\"", side_word(*place.flat_to))
                        : std::string("flat = true"));
  return fmt::format("{{ {} }}", fmt::join(items, ", "));
}

std::string place_line(const Circuit& circuit, const Board& board,
                       const Placement& place) {
  return fmt::format("{} = {}",
                     key_text(circuit.parts[static_cast<std::size_t>(place.part)].name),
                     place_text(circuit, board, place));
}

std::string cuts_text(const Board& board) {
  std::vector<std::string> names;
  names.reserve(board.cuts.size());
  for (const Cut& cut : board.cuts)
    names.push_back(fmt::format("\"{}\"", hole_name(board, cut.hole)));
  return fmt::format("[{}]", fmt::join(names, ", "));
}

/// A text as lines, to which lines are added behind others and stretches replaced.
class Lines {
 public:
  explicit Lines(std::string_view text) {
    if (text.find("\r\n") != std::string_view::npos) end_ = "\r\n";
    while (!text.empty()) {
      const std::size_t end = text.find('\n');
      lines_.emplace_back(
          text.substr(0, end == std::string_view::npos ? end : end + 1));
      if (end == std::string_view::npos) break;
      text.remove_prefix(end + 1);
    }
    added_.resize(lines_.size() + 1);
  }

  /// `line` counts from 1; 0: in front of all.
  void add_behind(int line, const std::string& text) {
    added_[static_cast<std::size_t>(line)] += text + end_;
  }

  /// False where a stretch goes over several lines.
  bool replace(const Span& span, const std::string& by) {
    if (span.begin.line != span.end.line || span.begin.line < 1 ||
        span.begin.line > static_cast<int>(lines_.size()))
      return false;
    replaced_[span.begin.line].push_back({span, by});
    return true;
  }

  [[nodiscard]] int count() const { return static_cast<int>(lines_.size()); }
  [[nodiscard]] const std::string& end() const { return end_; }

  std::string text() {
    for (auto& [line, list] : replaced_) {
      std::sort(list.begin(), list.end(), [](const auto& a, const auto& b) {
        return a.first.begin > b.first.begin;
      });
      for (const auto& [span, by] : list)
        lines_[static_cast<std::size_t>(line - 1)].replace(
            static_cast<std::size_t>(span.begin.column - 1),
            static_cast<std::size_t>(span.end.column - span.begin.column), by);
    }
    std::string text = added_.front();
    for (std::size_t k = 0; k < lines_.size(); ++k) {
      text += lines_[k];
      if (!added_[k + 1].empty() && !lines_[k].ends_with('\n')) text += end_;
      text += added_[k + 1];
    }
    return text;
  }

 private:
  std::vector<std::string> lines_;
  std::vector<std::string> added_;
  std::map<int, std::vector<std::pair<Span, std::string>>> replaced_;
  std::string end_ = "\n";
};

std::string joins_text(const Board& before, const Board& after,
                       const std::string& table, const std::string& end) {
  std::string text;
  for (std::size_t k = before.joins.size(); k < after.joins.size(); ++k) {
    const Join& join = after.joins[k];
    text += fmt::format(
        "{0}[[{1}.joins]]{0}from = \"{2}\"{0}to   = \"{3}\"{0}as   = "
        "\"{4}\"{0}",
        end, table, hole_name(after, join.from), hole_name(after, join.to),
        join_word(join.kind));
    if (!join.colour.empty())
      text += fmt::format("colour = \"{}\"{}", join.colour, end);
  }
  return text;
}

/// Puts sizes and cuts into the table itself.
std::string write_head(Lines& lines, const TomlEntry& board, const Board& before,
                       const Board& after) {
  const int header = board.key_span.begin.line;
  const auto put = [&](std::string_view key, const std::string& value, bool is_new) {
    if (!is_new) return true;
    if (const TomlEntry* entry = find_entry(board.value, key))
      return lines.replace(entry->value.span, value);
    lines.add_behind(header, fmt::format("{} = {}", key, value));
    return true;
  };
  const bool is_groups = after.kind == BoardKind::groups;
  bool is_good =
      put("columns", std::to_string(after.columns), before.columns != after.columns);
  is_good = put("rows", std::to_string(after.rows),
                !is_groups && before.rows != after.rows) &&
            is_good;
  is_good =
      put("rails", std::to_string(after.rails), before.rails != after.rails) && is_good;
  is_good =
      put("cuts", cuts_text(after), before.cuts.size() != after.cuts.size()) && is_good;
  return is_good ? "" : "a value of its table goes over several lines";
}

/// Puts places in: into lines that are there, or behind the last one.
std::string write_places(Lines& lines, const TomlEntry* places, const Circuit& circuit,
                         const Board& before, const Board& after,
                         const std::string& table, std::string& behind) {
  int last = 0;
  if (places != nullptr) {
    last = places->key_span.begin.line;
    for (const TomlEntry& entry : places->value.entries)
      last = std::max(last,
                      std::max(entry.key_span.begin.line, entry.value.span.end.line));
  }
  std::string section;
  for (const Placement& place : after.places) {
    const auto known =
        std::find_if(before.places.begin(), before.places.end(),
                     [&place](const Placement& p) { return p.part == place.part; });
    if (known != before.places.end() && known->pins.size() == place.pins.size())
      continue;
    if (known != before.places.end()) {
      const std::string& name =
          circuit.parts[static_cast<std::size_t>(place.part)].name;
      const TomlEntry* entry =
          places == nullptr ? nullptr : find_entry(places->value, name);
      // A wire's other end: the list's bracket gives way to the rest.
      if (entry == nullptr ||
          !lines.replace(entry->value.span, place_text(circuit, after, place)))
        return fmt::format("the place of '{}' goes over several lines", name);
      continue;
    }
    const std::string line = place_line(circuit, after, place);
    if (last > 0)
      lines.add_behind(last, line);
    else
      section += line + lines.end();
  }
  if (!section.empty())
    behind += fmt::format("{0}[{1}.places]{0}{2}", lines.end(), table, section);
  return {};
}

}  // namespace

WrittenBoard write_board(std::string_view text, const Circuit& circuit,
                         const Board& before, const Board& after, bool is_described) {
  constexpr std::string_view kMark = "\xEF\xBB\xBF";
  const bool has_mark = text.starts_with(kMark);
  const std::string_view body = has_mark ? text.substr(kMark.size()) : text;
  const auto tree = parse_toml(body, kNesting);
  const auto* root = std::get_if<TomlNode>(&tree);
  if (root == nullptr) return {{}, "it is no TOML any more"};
  Lines lines(body);
  const std::string table =
      after.name.empty() ? "board" : "boards." + key_text(after.name);
  std::string behind;
  if (!is_described) {
    behind += fmt::format("{0}[{1}]{0}kind = \"{2}\"{0}columns = {3}{0}", lines.end(),
                          table, board_kind_word(after.kind), after.columns);
    if (after.kind != BoardKind::groups)
      behind += fmt::format("rows = {}{}", after.rows, lines.end());
    if (after.rails > 0)
      behind += fmt::format("rails = {}{}", after.rails, lines.end());
    if (!after.cuts.empty())
      behind += fmt::format("cuts = {}{}", cuts_text(after), lines.end());
    if (std::string failure =
            write_places(lines, nullptr, circuit, before, after, table, behind);
        !failure.empty())
      return {{}, std::move(failure)};
  } else {
    const TomlEntry* board = find_entry(*root, after.name.empty() ? "board" : "boards");
    if (board != nullptr && !after.name.empty())
      board = find_entry(board->value, after.name);
    if (board == nullptr) return {{}, "its board is not there any more"};
    const std::string line(body.substr(
        0, body.find(fmt::format("[{}]", table)) == std::string_view::npos ? 0 : 1));
    if (line.empty() && !body.empty())
      return {{}, fmt::format("its board is not written as a table [{}]", table)};
    const TomlEntry* joins = find_entry(board->value, "joins");
    const std::string list = fmt::format("[[{}.joins]]", table);
    if (joins != nullptr && after.joins.size() > before.joins.size() &&
        body.find(list) == std::string_view::npos)
      return {{},
              fmt::format("its joins are a list in brackets; write each as {}", list)};
    std::string failure = write_head(lines, *board, before, after);
    if (failure.empty())
      failure = write_places(lines, find_entry(board->value, "places"), circuit, before,
                             after, table, behind);
    if (!failure.empty()) return {{}, std::move(failure)};
  }
  behind += joins_text(before, after, table, lines.end());
  // One line feed less: the last line brings its own.
  if (!behind.empty()) {
    if (behind.ends_with(lines.end()))
      behind.resize(behind.size() - lines.end().size());
    lines.add_behind(lines.count(), behind);
  }
  return {(has_mark ? std::string(kMark) : std::string()) + lines.text(), {}};
}

}  // namespace benchproof
