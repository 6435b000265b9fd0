#include "core/shape/shape.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <stdexcept>
#include <utility>
#include <variant>

#include "core/base/pieces.h"
#include "core/base/quantity.h"
#include "core/base/toml_tree.h"
#include "core/shape/detail/shapes_texts.h"
#include "core/shape/pinouts_texts.h"

namespace benchproof {
namespace {

constexpr std::array<std::pair<std::string_view, ShapeForm>, 6> kForms = {{
    {"axial", ShapeForm::axial},
    {"radial", ShapeForm::radial},
    {"row", ShapeForm::row},
    {"rows", ShapeForm::rows},
    {"triangle", ShapeForm::triangle},
    {"loose", ShapeForm::loose},
}};
constexpr int kNesting = 8;
/// Figures that are plain numbers; all others are lengths.
constexpr std::array<std::string_view, 2> kPlain = {"holes", "capacity"};
constexpr std::array<std::string_view, 10> kLengths = {
    "length", "diameter", "width",  "depth",  "height",
    "lead",   "spacing",  "across", "before", "behind"};

[[noreturn]] void refuse(const Span& span, const std::string& what) {
  throw std::runtime_error(
      fmt::format("reference/shapes, pinouts: line {}: {}", span.begin.line, what));
}

const std::string& text_of(const TomlNode& table, std::string_view key) {
  const TomlEntry* entry = find_entry(table, key);
  if (entry == nullptr || entry->value.type != TomlNode::Type::string)
    refuse(table.span, fmt::format("the text '{}' is missing", key));
  return entry->value.text;
}

Mark mark_of(const std::string& word, const Span& span) {
  for (const Mark mark : {Mark::verified, Mark::memory, Mark::practice})
    if (mark_word(mark) == word) return mark;
  refuse(span, fmt::format("'{}' is no mark", word));
}

/// "7 mm | verified | SOURCE | condition".
Figure figure_of(const TomlEntry& entry, const TomlNode& sources) {
  std::vector<std::string> fields = pieces_between(entry.value.text, '|');
  if (fields.size() < 2 || fields.size() > 4)
    refuse(entry.key_span, fmt::format("'{}' is no figure", entry.key));
  fields.resize(4);
  const bool is_plain =
      std::find(kPlain.begin(), kPlain.end(), entry.key) != kPlain.end();
  Figure figure;
  figure.unit = is_plain ? Unit::none : Unit::metre;
  const auto value = parse_quantity(fields[0], figure.unit);
  if (!std::holds_alternative<double>(value) || !(std::get<double>(value) > 0.0))
    refuse(entry.key_span, fmt::format("'{}' has no value", entry.key));
  figure.value = std::get<double>(value);
  figure.mark = mark_of(fields[1], entry.key_span);
  figure.source = "common practice, no source";
  if (figure.mark != Mark::practice) figure.source = text_of(sources, fields[2]);
  figure.condition = fields[3];
  return figure;
}

PartShape shape_of(const TomlNode& table, const TomlNode& sources) {
  PartShape shape;
  shape.name = text_of(table, "name");
  shape.about = text_of(table, "about");
  shape.mark = text_of(table, "mark");
  const std::string& form = text_of(table, "form");
  const auto found = std::find_if(kForms.begin(), kForms.end(),
                                  [&form](const auto& f) { return f.first == form; });
  if (found == kForms.end()) refuse(table.span, fmt::format("no form '{}'", form));
  shape.form = found->second;
  for (const TomlEntry& entry : table.entries) {
    if (entry.key == "leads") {
      shape.leads = static_cast<int>(entry.value.number);
    } else if (std::find(kPlain.begin(), kPlain.end(), entry.key) != kPlain.end() ||
               std::find(kLengths.begin(), kLengths.end(), entry.key) !=
                   kLengths.end()) {
      shape.figures[entry.key] = figure_of(entry, sources);
    } else if (entry.key != "name" && entry.key != "about" && entry.key != "mark" &&
               entry.key != "form") {
      refuse(entry.key_span, fmt::format("'{}' is no key of a shape", entry.key));
    }
  }
  return shape;
}

const std::vector<TomlNode>& tables(const TomlNode& root, std::string_view key) {
  const TomlEntry* entry = find_entry(root, key);
  if (entry == nullptr) refuse(root.span, fmt::format("no [[{}]]", key));
  return entry->value.items;
}

const std::vector<TomlNode>& items_of(const TomlNode& table, std::string_view key) {
  const TomlEntry* entry = find_entry(table, key);
  if (entry == nullptr || entry->value.items.empty())
    refuse(table.span, fmt::format("the list '{}' is missing", key));
  return entry->value.items;
}

/// The first of a series that bears at least `value`; the last where none does.
struct Step {
  double most;
  std::string_view shape;
};
std::string_view first_of(std::span<const Step> steps, double value) {
  for (const Step& step : steps)
    if (value <= step.most * (1.0 + 1e-9)) return step.shape;
  return steps.back().shape;
}
// The sizes that resistors of a power usually have. Watt.
constexpr std::array<Step, 6> kResistors = {{{0.125, "axial 0.125 W"},
                                             {0.25, "axial 0.25 W"},
                                             {0.6, "axial 0.5 W"},
                                             {1.0, "axial 1 W"},
                                             {2.0, "axial 2 W"},
                                             {1e9, "axial 5 W"}}};
// Zeners by their power: glass up to half a watt.
constexpr std::array<Step, 2> kZeners = {{{0.5, "DO-35"}, {1e9, "DO-41"}}};
constexpr std::array<Step, 7> kChips = {{{6, "DIP-8"},  // six legs are chips of eight
                                         {8, "DIP-8"},
                                         {14, "DIP-14"},
                                         {16, "DIP-16"},
                                         {18, "DIP-18"},
                                         {20, "DIP-20"},
                                         {1e9, "DIP-28"}}};
// Above it an unpolarised capacitor is likely a film one. Farad.
constexpr double kMostCeramic = 10e-6;

/// The name of the shape that is usual for a kind.
std::string_view usual(const ShapeWish& wish) {
  switch (wish.kind) {
    case KindId::resistor:
      return first_of(kResistors, wish.watts.value_or(0.25));
    case KindId::trimmer:
      return "trimmer 6 mm";
    case KindId::light_resistor:
      return "light cell";
    case KindId::heat_resistor:
      return "bead";
    case KindId::capacitor:
      return wish.farads.value_or(0.0) > kMostCeramic ? "film box" : "ceramic";
    case KindId::inductor:
      return "axial choke";
    case KindId::diode:
      return "DO-41";
    case KindId::zener:
      return first_of(kZeners, wish.watts.value_or(0.5));
    case KindId::led:
      return wish.size.starts_with("3") ? "LED 3 mm" : "LED 5 mm";
    case KindId::transistor:
      return "TO-92";
    case KindId::mosfet:
    case KindId::regulator:
      return "TO-220";
    case KindId::switch_:
      return "button 6x6";
    case KindId::controller:
      return first_of(kChips, wish.pins);
    case KindId::fuse:
      return "fuse 5x20";
    case KindId::relay_coil:
      return "relay SRD";
    case KindId::buzzer:
      return "buzzer 12 mm";
    case KindId::wire:
      return "wire";
    case KindId::dc_supply:
    case KindId::battery:
    case KindId::lamp:
    case KindId::motor:
    case KindId::voltage_source:
    case KindId::current_source:
      return "wires";
  }
  return "wires";
}

}  // namespace

double PartShape::size(std::string_view figure) const {
  const auto found = figures.find(figure);
  return found == figures.end() ? 0.0 : found->second.value;
}

Shapes::Shapes(std::string_view text, std::string_view pinouts) {
  const auto tree = parse_toml(text, kNesting);
  if (const auto* complaint = std::get_if<Diagnostic>(&tree))
    refuse(complaint->span, complaint->message);
  const auto& root = std::get<TomlNode>(tree);
  const TomlEntry* sources = find_entry(root, "sources");
  if (sources == nullptr) refuse(root.span, "no [sources]");
  for (const TomlNode& table : tables(root, "shape")) {
    shapes_.push_back(shape_of(table, sources->value));
    if (find(shapes_.back().name) != &shapes_.back())
      refuse(table.span, fmt::format("'{}' twice", shapes_.back().name));
  }
  for (const TomlNode& table : tables(root, "use")) {
    const PartShape* shape = find(text_of(table, "shape"));
    if (shape == nullptr) refuse(table.span, "a use of no shape");
    const Use use{static_cast<std::size_t>(shape - shapes_.data()),
                  mark_of(text_of(table, "mark"), table.span),
                  text_of(table, "source")};
    for (const TomlNode& type : items_of(table, "types"))
      if (!uses_.emplace(type.text, use).second)
        refuse(table.span, fmt::format("'{}' has two shapes", type.text));
  }
  read_orders(pinouts);
}

void Shapes::read_orders(std::string_view pinouts) {
  const auto tree = parse_toml(pinouts, kNesting);
  if (const auto* complaint = std::get_if<Diagnostic>(&tree))
    refuse(complaint->span, complaint->message);
  const TomlEntry* all = find_entry(std::get<TomlNode>(tree), "pinout");
  if (all == nullptr) return;
  for (const TomlNode& table : all->value.items) {
    const TomlEntry* types = find_entry(table, "types");
    if (types == nullptr) continue;
    LeadOrder order;
    for (const TomlNode& lead : items_of(table, "leads"))
      order.pins.push_back(lead.text);
    order.mark = mark_of(text_of(table, "mark"), table.span);
    order.source = text_of(table, "source");
    if (const TomlEntry* differs = find_entry(table, "differs"))
      order.differs = differs->value.text;
    // Of several orders of a type the first one is its own.
    for (const TomlNode& type : types->value.items) orders_.emplace(type.text, order);
  }
}

const PartShape* Shapes::find(std::string_view name) const {
  const auto found =
      std::find_if(shapes_.begin(), shapes_.end(),
                   [name](const PartShape& shape) { return shape.name == name; });
  return found == shapes_.end() ? nullptr : &*found;
}

std::vector<std::string> Shapes::names() const {
  std::vector<std::string> names;
  names.reserve(shapes_.size());
  for (const PartShape& shape : shapes_) names.push_back(shape.name);
  return names;
}

ChosenShape Shapes::choose(const ShapeWish& wish) const {
  if (const auto use = uses_.find(wish.type); use != uses_.end())
    return {&shapes_[use->second.shape], false, use->second.source, use->second.mark};
  if (wish.kind == KindId::capacitor && wish.polarised) {
    constexpr double kMicro = 1e6;
    constexpr double kUsualVolts = 16.0;
    const double held =
        wish.farads.value_or(0.0) * kMicro * wish.volts.value_or(kUsualVolts);
    for (const PartShape& shape : shapes_)
      if (const double most = shape.size("capacity"); most > 0.0 && held <= most)
        return {&shape, true, "usual can of that value and rating", Mark::practice};
  }
  return {find(usual(wish)), true, "usual for the kind", Mark::practice};
}

const LeadOrder* Shapes::order(std::string_view type) const {
  const auto found = orders_.find(type);
  return found == orders_.end() ? nullptr : &found->second;
}

const Shapes& built_in_shapes() {
  static const Shapes shapes{shapes_texts().front().second,
                             pinouts_texts().front().second};
  return shapes;
}

ShapeWish wish_of(const Type& type) {
  ShapeWish wish{type.kind, type.name};
  if (const auto size = type.words.find("size"); size != type.words.end())
    wish.size = size->second;
  if (const auto power = type.figures.find("power"); power != type.figures.end())
    wish.watts = power->second.value;
  return wish;
}

}  // namespace benchproof
