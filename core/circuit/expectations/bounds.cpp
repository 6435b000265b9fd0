#include "core/circuit/expectations/detail/bounds.h"

#include <fmt/format.h>

#include <cmath>

#include "core/circuit/entries/values.h"

namespace benchproof {
namespace {

/// How far a value may be off: a share of the nominal value, or a quantity like it.
std::optional<double> read_within(Reading& reading, const TomlEntry& within,
                                  double nominal, Unit unit) {
  const Span& span = within.value.span;
  const bool is_share = within.value.type == TomlNode::Type::string &&
                        (within.value.text.find('%') != std::string::npos ||
                         std::holds_alternative<double>(
                             parse_quantity(within.value.text, Unit::fraction)));
  const auto value = read_quantity(reading, within.value,
                                   is_share ? Unit::fraction : unit, "'within'");
  if (!value) return std::nullopt;
  if (*value <= 0.0) {
    complain(reading, kExpectBounds, span, "'within' leaves no room",
             "it must be above 0");
    return std::nullopt;
  }
  if (is_share && nominal == 0.0) {
    complain(
        reading, kExpectBounds, span, "a percentage of 0 is 0",
        fmt::format("write 'within' as {}",
                    unit == Unit::volt ? "a voltage" : "a quantity of the same unit"));
    return std::nullopt;
  }
  return is_share ? *value * std::abs(nominal) : *value;
}

}  // namespace

const QuantityStyle* find_quantity(Reading& reading, const TomlNode& table,
                                   std::string_view choices) {
  const QuantityStyle* found = nullptr;
  for (const QuantityStyle& style : kQuantities) {
    const TomlEntry* entry = find_entry(table, style.key);
    if (entry == nullptr) continue;
    if (found != nullptr) {
      complain(reading, kKeyConflict, entry->key_span,
               fmt::format("an expectation asks for both '{}' and '{}'", found->key,
                           style.key),
               "write one [[expect]] for each");
      return nullptr;
    }
    found = &style;
  }
  if (found == nullptr)
    complain(reading, kKeyMissing, table.span, "an expectation asks for nothing",
             fmt::format("give one of: {}", choices));
  return found;
}

std::optional<double> read_bound(Reading& reading, const TomlNode& table,
                                 std::string_view key, Unit unit) {
  const TomlEntry* entry = find_entry(table, key);
  if (entry == nullptr) return std::nullopt;
  return read_quantity(reading, entry->value, unit, fmt::format("'{}'", key));
}

bool read_bounds(Reading& reading, const TomlEntry& entry, Unit unit,
                 Expectation& expectation) {
  const std::string target = fmt::format("'{}'", entry.key);
  constexpr std::string_view kForms = "write { nominal, within } or { min, max }";
  if (!expect_type(reading, entry.value, TomlNode::Type::table, target, kForms))
    return false;
  const KnownKeys keys =
      known_keys(reading, entry.value, {"nominal", "within", "min", "max"}, target);
  const TomlNode& table = keys.table();
  const bool has_nominal = find_entry(table, "nominal") != nullptr;
  const TomlEntry* within = find_entry(table, "within");
  const TomlEntry* least = find_entry(table, "min");
  const TomlEntry* most = find_entry(table, "max");
  if ((has_nominal || within) && (least || most)) {
    complain(reading, kKeyConflict, (least ? least : most)->key_span,
             fmt::format("{} mixes two ways of giving bounds", target),
             std::string(kForms));
    return false;
  }
  if (has_nominal != (within != nullptr) || (!has_nominal && !least && !most)) {
    if (keys.has_stranger) return false;  // Which may be meant to be them.
    complain(reading, kKeyMissing, entry.key_span,
             fmt::format("{} has no bounds", target), std::string(kForms));
    return false;
  }
  if (has_nominal) {
    const auto nominal = read_bound(reading, table, "nominal", unit);
    if (!nominal) return false;
    const auto room = read_within(reading, *within, *nominal, unit);
    if (!room) return false;
    expectation.nominal = nominal;
    expectation.least = *nominal - *room;
    expectation.most = *nominal + *room;
    return true;
  }
  expectation.least = read_bound(reading, table, "min", unit);
  expectation.most = read_bound(reading, table, "max", unit);
  if ((least && !expectation.least) || (most && !expectation.most)) return false;
  if (least && most && *expectation.least > *expectation.most) {
    complain(reading, kExpectBounds, entry.key_span,
             fmt::format("'min' {} is above 'max' {}",
                         format_quantity(*expectation.least, unit),
                         format_quantity(*expectation.most, unit)));
    return false;
  }
  return true;
}

bool check_power(Reading& reading, const TomlEntry& entry,
                 const Expectation& expectation) {
  const bool is_of_source =
      expectation.part >= 0 && expectation.quantity == Quantity::power &&
      is_source(reading.circuit.parts[static_cast<std::size_t>(expectation.part)].kind);
  if (!is_of_source || expectation.least || !expectation.most ||
      *expectation.most <= 0.0)
    return true;
  const std::string most = format_quantity(*expectation.most, Unit::watt);
  complain(
      reading, kExpectMeaning, entry.key_span,
      fmt::format(
          "a power of at most {} is true of whatever {} delivers", most,
          quoted(
              reading.circuit.parts[static_cast<std::size_t>(expectation.part)].name)),
      fmt::format("a part's power is what it takes up, a source's is negative: at "
                  "most {0} delivered is min = \"-{0}\"",
                  most));
  return false;
}

}  // namespace benchproof
