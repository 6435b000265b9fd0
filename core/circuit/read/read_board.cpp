#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/circuit/board.h"
#include "core/circuit/entries/names.h"
#include "core/circuit/entries/reading.h"
#include "core/circuit/entries/values.h"
#include "core/circuit/read/detail/steps.h"
#include "core/circuit/usually_off.h"
#include "core/shape/shape.h"

namespace benchproof {
namespace {

const std::vector<std::string>& sides() {
  static const std::vector<std::string> words = {"north", "east", "south", "west"};
  return words;
}

/// One of some words; -1 after a complaint.
int read_choice(Reading& reading, const TomlEntry& entry,
                const std::vector<std::string>& words, const std::string& target) {
  if (!expect_type(reading, entry.value, TomlNode::Type::string, target)) return -1;
  const auto found = std::find(words.begin(), words.end(), entry.value.text);
  if (found != words.end()) return static_cast<int>(found - words.begin());
  complain(reading, kWordUnknown, entry.value.span,
           fmt::format("{} cannot be {}", target, quoted(entry.value.text)),
           suggestion(reading, entry.value.text, words, "choices"));
  return -1;
}

/// A whole number from `least` to `most`; 0 after a complaint.
int read_count(Reading& reading, const TomlEntry& entry, int least, int most,
               const std::string& target) {
  if (!expect_type(reading, entry.value, TomlNode::Type::number, target)) return 0;
  const double number = entry.value.number;
  if (number >= least && number <= most && std::floor(number) == number)
    return static_cast<int>(number);
  complain(reading, kValueRange, entry.value.span,
           fmt::format("{} cannot be {}", target, shortest(number)),
           fmt::format("it must be a whole number from {} to {}", least, most));
  return 0;
}

/// Reads one table [board] or [boards.NAME].
class BoardReader {
 public:
  BoardReader(Reading& reading, const TomlEntry& entry, std::string name,
              std::string title)
      : reading_(reading), entry_(entry), title_(std::move(title)) {
    board_.name = std::move(name);
    board_.span = entry.key_span;
  }

  /// False after complaints that leave nothing to go on with.
  bool read() {
    const std::vector<std::string> known = {"kind",   "columns", "rows", "rails",
                                            "cuts",   "off",     "on",   "space",
                                            "places", "joins"};
    if (!expect_type(reading_, entry_.value, TomlNode::Type::table,
                     fmt::format("'{}'", title_)))
      return false;
    const KnownKeys keys =
        known_keys(reading_, entry_.value, known, fmt::format("[{}]", title_));
    const TomlNode& table = keys.table();
    read_size(table);
    read_sides(table);
    if (const TomlEntry* space = find_entry(table, "space")) read_space(*space);
    if (has_size_) {
      if (const TomlEntry* cuts = find_entry(table, "cuts")) read_cuts(*cuts);
      if (const TomlEntry* places = find_entry(table, "places")) read_places(*places);
      if (const TomlEntry* joins = find_entry(table, "joins")) read_joins(*joins);
    }
    return true;
  }

  [[nodiscard]] Board take() { return std::move(board_); }

 private:
  std::string target(std::string_view key) const {
    return fmt::format("'{}.{}'", title_, key);
  }

  void read_size(const TomlNode& table) {
    if (const TomlEntry* kind = find_entry(table, "kind")) {
      const int word =
          read_choice(reading_, *kind, {"pads", "strips", "groups"}, target("kind"));
      is_kind_known_ = word >= 0;
      if (word >= 0) board_.kind = static_cast<BoardKind>(word);
    } else {
      complain(reading_, kKeyMissing, entry_.key_span,
               fmt::format("[{}] needs the key 'kind'", title_),
               R"(kind = "pads", "strips" or "groups")");
      is_kind_known_ = false;
    }
    const TomlEntry* columns = find_entry(table, "columns");
    const TomlEntry* rows = find_entry(table, "rows");
    const bool is_groups = is_kind_known_ && board_.kind == BoardKind::groups;
    if (columns != nullptr)
      board_.columns =
          read_count(reading_, *columns, 1, kMostColumns, target("columns"));
    if (is_groups && columns != nullptr) board_.rows = kGroupRows;
    if (rows != nullptr) {
      const int least = is_groups ? kGroupRows : 1;
      const int most = is_groups ? kGroupRows : kMostRows;
      const int count = read_count(reading_, *rows, least, most, target("rows"));
      if (!is_groups) board_.rows = count;
    }
    if (const TomlEntry* rails = find_entry(table, "rails")) {
      if (is_kind_known_ && !is_groups)
        complain(reading_, kKeyConflict, rails->key_span,
                 fmt::format("{} belong to a board of groups", target("rails")));
      else
        board_.rails = read_rails(*rails);
    }
    const bool is_cut = find_entry(table, "cuts") != nullptr;
    const bool is_filled = is_cut || find_entry(table, "places") != nullptr ||
                           find_entry(table, "joins") != nullptr;
    has_size_ = is_kind_known_ && board_.columns > 0 && board_.rows > 0;
    if (is_filled && is_kind_known_ &&
        (columns == nullptr || (rows == nullptr && !is_groups)))
      complain(reading_, kKeyMissing, entry_.key_span,
               fmt::format("[{}] needs the key '{}'", title_,
                           columns == nullptr ? "columns" : "rows"),
               "the number of holes, counted on the board");
    if (is_cut && is_kind_known_ && board_.kind != BoardKind::strips)
      complain(reading_, kKeyConflict, find_entry(table, "cuts")->key_span,
               fmt::format("{} belong to a board of strips", target("cuts")));
  }

  int read_rails(const TomlEntry& rails) {
    const int count = read_count(reading_, rails, 0, 4, target("rails"));
    if (count % 2 == 0) return count;
    complain(reading_, kValueRange, rails.value.span,
             fmt::format("{} cannot be {}", target("rails"), count),
             "it must be 0, 2 or 4");
    return 0;
  }

  /// The part that a name means, or -1 after a complaint.
  int part_of(const std::string& name, const Span& span) {
    if (const auto found = reading_.part_index.find(name);
        found != reading_.part_index.end())
      return found->second;
    complain(reading_, kPartUnknown, span,
             fmt::format("there is no part {}", quoted(name)),
             near_part(reading_, name, span, false).hint);
    return -1;
  }

  void read_sides(const TomlNode& table) {
    for (const Part& part : reading_.circuit.parts)
      board_.is_off.push_back(is_usually_off(part.kind));
    std::vector<int> told;
    for (const std::string_view key : {"off", "on"}) {
      const TomlEntry* list = find_entry(table, key);
      if (list == nullptr ||
          !expect_type(reading_, list->value, TomlNode::Type::array, target(key)))
        continue;
      for (const TomlNode& item : list->value.items) {
        if (!expect_type(reading_, item, TomlNode::Type::string,
                         fmt::format("an item of {}", target(key))))
          continue;
        const int part = part_of(item.text, item.span);
        if (part < 0) continue;
        if (std::find(told.begin(), told.end(), part) != told.end())
          complain(
              reading_, kKeyConflict, item.span,
              fmt::format("{} is named twice in 'off' and 'on'", quoted(item.text)));
        told.push_back(part);
        board_.is_off[static_cast<std::size_t>(part)] = key == "off";
      }
    }
  }

  void read_space(const TomlEntry& space) {
    if (!expect_type(reading_, space.value, TomlNode::Type::table, target("space"),
                     R"(write { width = "70 mm", depth = "35 mm", height = "15 mm" })"))
      return;
    const KnownKeys keys = known_keys(reading_, space.value,
                                      {"width", "depth", "height"}, target("space"));
    for (const TomlEntry& entry : keys.table().entries) {
      const std::string of = fmt::format("'{}.space.{}'", title_, entry.key);
      const auto value = read_quantity(reading_, entry.value, Unit::metre, of);
      if (!value) continue;
      constexpr double kMost = 2.0;  // No model is larger. Metre.
      if (!(*value > 0.0 && *value <= kMost)) {
        complain(reading_, kValueRange, entry.value.span,
                 fmt::format("{} is {}", of, format_quantity(*value, Unit::metre)),
                 range_hint(0.0, false, kMost, Unit::metre));
        continue;
      }
      (entry.key == "width"   ? board_.width
       : entry.key == "depth" ? board_.depth
                              : board_.height) = *value;
    }
  }

  std::optional<Hole> read_hole(const TomlNode& node, const std::string& what) {
    if (!expect_type(reading_, node, TomlNode::Type::string, what, "write \"B12\""))
      return std::nullopt;
    const auto hole = parse_hole(board_, node.text);
    if (!hole) {
      std::string upper = node.text;
      for (char& c : upper)
        if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
      complain(reading_, kHoleMalformed, node.span,
               fmt::format("{} is no hole", quoted(node.text)),
               parse_hole(board_, upper)
                   ? fmt::format("write \"{}\"", upper)
                   : "a hole is a row's letter and a column's number: \"B12\"",
               "no hole's name");
      return std::nullopt;
    }
    if (has_hole(board_, *hole)) return hole;
    const std::string last = hole_name(board_, {board_.rows - 1, board_.columns - 1});
    complain(reading_, kHoleUnknown, node.span,
             fmt::format("there is no hole {} on this board", quoted(node.text)),
             fmt::format("its holes are A1 to {}{}", last,
                         board_.rails == 4   ? ", and those of the rails"
                         : board_.rails == 2 ? ", and those of the rails +T and -T"
                                             : ""));
    return std::nullopt;
  }

  void read_cuts(const TomlEntry& cuts) {
    if (!expect_type(reading_, cuts.value, TomlNode::Type::array, target("cuts")))
      return;
    for (const TomlNode& item : cuts.value.items)
      if (const auto hole = read_hole(item, "a cut"))
        board_.cuts.push_back({*hole, item.span});
  }

  void read_places(const TomlEntry& places) {
    if (!expect_type(reading_, places.value, TomlNode::Type::table, target("places")))
      return;
    for (const TomlEntry& entry : places.value.entries) {
      const int index = part_of(entry.key, entry.key_span);
      if (!expect_type(reading_, entry.value, TomlNode::Type::table,
                       fmt::format("the place of {}", quoted(entry.key)),
                       R"(write { a = "B2", b = "B6" })") ||
          index < 0)
        continue;
      read_place(entry, index);
    }
  }

  void read_place(const TomlEntry& entry, int index) {
    const Part& part = reading_.circuit.parts[static_cast<std::size_t>(index)];
    const bool is_understood =
        reading_.notes[static_cast<std::size_t>(index)].is_understood;
    const std::string of = fmt::format("the place of {}", quoted(part.name));
    Placement place;
    place.part = index;
    place.span = entry.key_span;
    bool has_pin = false;
    for (const TomlEntry& item : entry.value.entries) {
      if (item.key == "faces") {
        const int side = read_choice(reading_, item, sides(), "'faces'");
        if (side >= 0) place.faces = static_cast<Side>(side);
      } else if (item.key == "flat") {
        read_flat(item, place);
      } else {
        has_pin = true;
        const int pin = pin_index(part, item.key);
        if (pin < 0 && is_understood)
          tell_no_pin(reading_, part, item.key, item.key_span);
        const auto hole =
            read_hole(item.value, fmt::format("'{}.{}'", part.name, item.key));
        if (pin >= 0 && hole) place.pins.push_back({pin, *hole, item.value.span});
      }
    }
    if (!has_pin)
      complain(reading_, kKeyMissing, entry.key_span,
               fmt::format("{} names no pin", of),
               fmt::format("pins: {}", fmt::join(part.pins, ", ")));
    if (!place.pins.empty()) board_.places.push_back(std::move(place));
  }

  void read_flat(const TomlEntry& item, Placement& place) {
    if (item.value.type == TomlNode::Type::boolean) {
      place.is_flat = item.value.flag;
      return;
    }
    const int side = read_choice(reading_, item, sides(), "'flat'");
    if (side < 0) return;
    place.is_flat = true;
    place.flat_to = static_cast<Side>(side);
  }

  void read_joins(const TomlEntry& joins) {
    for (const TomlNode* table : tables_of(reading_, joins)) {
      const KnownKeys keys =
          known_keys(reading_, *table, {"from", "to", "as", "colour"}, "a join");
      Join join;
      join.span = table->span;
      bool is_whole = true;
      for (const std::string_view key : {"from", "to", "as"}) {
        const TomlEntry* item = find_entry(keys.table(), key);
        if (item == nullptr) {
          is_whole = false;
          complain(reading_, kKeyMissing, table->span,
                   fmt::format("a join needs the key '{}'", key),
                   R"(from = "B6", to = "B8", as = "bridge", "wire" or "jumper")");
        } else if (key == "as") {
          const int word =
              read_choice(reading_, *item, {"bridge", "wire", "jumper"}, "'as'");
          is_whole = is_whole && word >= 0;
          if (word >= 0) join.kind = static_cast<JoinKind>(word);
        } else {
          const auto hole = read_hole(item->value, fmt::format("'{}'", key));
          is_whole = is_whole && hole.has_value();
          if (hole) (key == "from" ? join.from : join.to) = *hole;
        }
      }
      if (const TomlEntry* colour = find_entry(keys.table(), "colour");
          colour != nullptr &&
          expect_type(reading_, colour->value, TomlNode::Type::string, "'colour'") &&
          check_text(reading_, colour->value.text, colour->value.span, "'colour'"))
        join.colour = colour->value.text;
      if (is_whole) board_.joins.push_back(std::move(join));
    }
  }

  Reading& reading_;
  const TomlEntry& entry_;
  std::string title_;
  Board board_;
  bool is_kind_known_ = true;
  bool has_size_ = false;
};

void read_one(Reading& reading, const TomlEntry& entry, std::string name,
              std::string title) {
  BoardReader reader(reading, entry, std::move(name), std::move(title));
  if (reader.read()) reading.circuit.boards.push_back(reader.take());
}

void read_legs(Reading& reading, const TomlEntry& legs, Part& part) {
  const std::string target = fmt::format("'{}.legs'", part.name);
  if (!expect_type(reading, legs.value, TomlNode::Type::table, target,
                   "write { vdd = 1, vss = 8 }"))
    return;
  constexpr int kMostLegs = 64;
  for (const TomlEntry& entry : legs.value.entries) {
    const int pin = pin_index(part, entry.key);
    if (pin < 0) {
      tell_no_pin(reading, part, entry.key, entry.key_span);
      continue;
    }
    const int leg = read_count(reading, entry, 1, kMostLegs,
                               fmt::format("'{}.legs.{}'", part.name, entry.key));
    if (leg == 0) continue;
    if (std::find(part.legs.begin(), part.legs.end(), leg) != part.legs.end())
      complain(reading, kPinDuplicate, entry.value.span,
               fmt::format("leg {} of {} stands twice", leg, quoted(part.name)));
    part.legs.resize(part.pins.size(), 0);
    part.legs[static_cast<std::size_t>(pin)] = leg;
  }
}

}  // namespace

void read_shape(Reading& reading, const TomlNode& table, Part& part) {
  if (const TomlEntry* shape = find_entry(table, "shape")) {
    const std::string target = fmt::format("'{}.shape'", part.name);
    if (expect_type(reading, shape->value, TomlNode::Type::string, target)) {
      const std::string& name = shape->value.text;
      const std::vector<std::string> names = built_in_shapes().names();
      if (built_in_shapes().find(name) != nullptr)
        part.shape = name;
      else
        complain(reading, kShapeUnknown, shape->value.span,
                 fmt::format("there is no shape {}", quoted(name)),
                 suggestion(reading, name, names, "shapes", names.size()));
    }
  }
  if (const TomlEntry* legs = find_entry(table, "legs"))
    read_legs(reading, *legs, part);
}

void read_boards(Reading& reading, const TomlNode& root) {
  const TomlEntry* one = find_entry(root, "board");
  const TomlEntry* several = find_entry(root, "boards");
  if (one != nullptr) read_one(reading, *one, "", "board");
  if (several == nullptr) return;
  if (one != nullptr)
    complain(reading, kKeyConflict, several->key_span, "there are [board] and [boards]",
             "write each as [boards.NAME]");
  if (!expect_type(reading, several->value, TomlNode::Type::table, "'boards'",
                   "write [boards.NAME]"))
    return;
  for (const TomlEntry& entry : several->value.entries)
    if (check_name(reading, entry.key, entry.key_span, "a board"))
      read_one(reading, entry, entry.key, "boards." + entry.key);
}

}  // namespace benchproof
