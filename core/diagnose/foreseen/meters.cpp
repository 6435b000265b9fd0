#include "core/diagnose/foreseen/meters.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>
#include <optional>
#include <set>
#include <utility>
#include <variant>

#include "core/base/complaints.h"
#include "core/base/diagnostic_ids.h"
#include "core/base/pieces.h"
#include "core/base/quantity.h"

namespace benchproof {
namespace {

constexpr int kMeterNesting = 16;
constexpr std::string_view kMeterUnknown = "meter-unknown";

/// A figure of a meter: how far it may be off, or a quantity.
struct MeterKey {
  std::string_view key;
  Unit unit;
  Accuracy Meter::*accuracy;
  double Meter::*number;
};
constexpr std::array<MeterKey, 10> kMeterKeys = {{
    {"volts", Unit::volt, &Meter::volts, nullptr},
    {"amps", Unit::ampere, &Meter::amps, nullptr},
    {"ohms", Unit::ohm, &Meter::ohms, nullptr},
    {"diode", Unit::volt, &Meter::diode, nullptr},
    {"input", Unit::ohm, nullptr, &Meter::input_ohms},
    {"ohms_volts", Unit::volt, nullptr, &Meter::ohms_test_volts},
    {"ohms_amps", Unit::ampere, nullptr, &Meter::ohms_test_amps},
    {"ohms_most", Unit::ohm, nullptr, &Meter::most_ohms},
    {"diode_amps", Unit::ampere, nullptr, &Meter::diode_amps},
    {"diode_volts", Unit::volt, nullptr, &Meter::diode_open_volts},
}};

std::vector<std::string> meter_keys() {
  std::vector<std::string> keys;
  for (const MeterKey& key : kMeterKeys) keys.emplace_back(key.key);
  return keys;
}

/// Puts a figure's text into a meter. Returns what is wrong with it, or nothing.
std::string put_figure(const MeterKey& key, std::string_view text, Meter& meter) {
  const std::string form =
      key.accuracy != nullptr
          ? fmt::format("write a share and what comes on top, \"0.5% + 20 m{}\"",
                        symbol(key.unit))
          : how_to_write(key.unit);
  if (key.number != nullptr) {
    const auto value = parse_quantity(text, key.unit);
    if (const auto* error = std::get_if<QuantityError>(&value))
      return error->message + "; " + (error->hint.empty() ? form : error->hint);
    if (!(std::get<double>(value) > 0.0)) return "it must be above 0";
    meter.*key.number = std::get<double>(value);
    return {};
  }
  Accuracy accuracy;
  const std::vector<std::string> terms = pieces_between(text, '+');
  if (terms.size() > 2) return form;
  bool has_share = false;
  bool has_absolute = false;
  for (const std::string& term : terms) {
    const auto share = parse_quantity(term, Unit::fraction);
    const auto absolute = parse_quantity(term, key.unit);
    if (const double* value = std::get_if<double>(&share); value && !has_share) {
      accuracy.share = *value;
      has_share = true;
    } else if (const double* so_much = std::get_if<double>(&absolute);
               so_much && !has_absolute) {
      accuracy.absolute = *so_much;
      has_absolute = true;
    } else {
      return form;
    }
  }
  if (accuracy.share < 0.0 || accuracy.share >= 1.0 || accuracy.absolute < 0.0)
    return "a share is from 0 to 100 %, and nothing is below 0";
  meter.*key.accuracy = accuracy;
  return {};
}

const MeterKey* find_meter_key(std::string_view name) {
  const auto found =
      std::find_if(kMeterKeys.begin(), kMeterKeys.end(),
                   [name](const MeterKey& key) { return key.key == name; });
  return found != kMeterKeys.end() ? found : nullptr;
}

void complain_of(std::vector<Diagnostic>& complaints, std::string_view id,
                 const Span& span, std::string message, std::string hint = "") {
  complaints.push_back({std::string(id), span, std::move(message), std::move(hint)});
}

/// One entry of a meter of the file: "value | mark | source | condition".
void read_told(const TomlEntry& entry,
               const std::map<std::string, std::string>& sources,
               std::set<std::string>& used, KnownMeter& meter,
               std::vector<Diagnostic>& complaints) {
  const MeterKey* key = find_meter_key(entry.key);
  if (key == nullptr) {
    const std::vector<std::string> keys = meter_keys();
    return complain_of(complaints, kKeyUnknown.name, entry.key_span,
                       fmt::format("{} is not a key of a meter", quoted(entry.key)),
                       names_hint(nearest(entry.key, keys), keys, "keys"));
  }
  std::vector<std::string> told = pieces_between(entry.value.text, '|');
  told.resize(4);
  if (std::string problem = put_figure(*key, told[0], meter.meter); !problem.empty())
    return complain_of(complaints, kFigureMalformed.name, entry.value.span,
                       fmt::format("'{}' is {}", entry.key, quoted(told[0])),
                       std::move(problem));
  const bool needs_source = told[1] == "verified" || told[1] == "memory";
  const std::vector<std::string> marks = {"verified", "memory", "practice", "derived"};
  if (std::find(marks.begin(), marks.end(), told[1]) == marks.end())
    return complain_of(complaints, kMarkUnknown.name, entry.value.span,
                       fmt::format("there is no mark {}", quoted(told[1])),
                       names_hint(nearest(told[1], marks), marks, "marks"));
  if (needs_source) {
    const auto source = sources.find(told[2]);
    if (source == sources.end())
      return complain_of(complaints, kSourceUnknown.name, entry.value.span,
                         fmt::format("{} is not in [sources]", quoted(told[2])));
    used.insert(told[2]);
    told[2] = source->second;
  }
  meter.figures.push_back({entry.key, told[0], told[1], told[2], told[3]});
}

}  // namespace

ReadMeters read_meters(std::string_view text) {
  ReadMeters read;
  const auto tree = parse_toml(text, kMeterNesting);
  if (const auto* diagnostic = std::get_if<Diagnostic>(&tree)) {
    read.diagnostics.push_back(*diagnostic);
    return read;
  }
  const auto& root = std::get<TomlNode>(tree);
  std::map<std::string, std::string> sources;
  if (const TomlEntry* table = find_entry(root, "sources"))
    for (const TomlEntry& entry : table->value.entries)
      sources.emplace(entry.key, entry.value.text);
  std::set<std::string> used;
  const TomlEntry* list = find_entry(root, "meter");
  if (list == nullptr) {
    complain_of(read.diagnostics, kKeyMissing.name, {}, "there is no [[meter]]");
    return read;
  }
  for (const TomlNode& item : list->value.items) {
    KnownMeter known;
    if (!read.meters.empty()) known.meter = read.meters.front().meter;
    const TomlEntry* name = find_entry(item, "name");
    if (name == nullptr || name->value.text.empty()) {
      complain_of(read.diagnostics, kKeyMissing.name, item.span,
                  "a meter has no 'name'");
      continue;
    }
    known.meter.name = name->value.text;
    for (const TomlEntry& entry : item.entries) {
      if (entry.key == "about")
        known.about = entry.value.text;
      else if (entry.key != "name")
        read_told(entry, sources, used, known, read.diagnostics);
    }
    read.meters.push_back(std::move(known));
  }
  if (const TomlEntry* table = find_entry(root, "sources"))
    for (const TomlEntry& entry : table->value.entries)
      if (!used.contains(entry.key))
        complain_of(read.diagnostics, kSourceUnused.name, entry.key_span,
                    fmt::format("no figure names {}", quoted(entry.key)));
  sort_by_position(read.diagnostics);
  return read;
}

const std::vector<KnownMeter>& built_in_meters() {
  static const std::vector<KnownMeter> meters =
      read_meters(meters_texts().front().second).meters;
  return meters;
}

Meter meter_of(const TomlNode* given, std::vector<Diagnostic>& complaints) {
  const std::vector<KnownMeter>& known = built_in_meters();
  Meter usual = known.empty() ? Meter() : known.front().meter;
  if (given == nullptr) return usual;
  if (given->type == TomlNode::Type::string) {
    std::vector<std::string> names;
    for (const KnownMeter& each : known) {
      if (each.meter.name == given->text) return each.meter;
      names.push_back(each.meter.name);
    }
    complain_of(complaints, kMeterUnknown, given->span,
                fmt::format("there is no meter {}", quoted(given->text)),
                names_hint(nearest(given->text, names), names, "meters") +
                    R"(; or { volts = "0.5% + 20 mV", input = "10 Mohm" })");
    return usual;
  }
  if (given->type != TomlNode::Type::table) {
    complain_of(complaints, kTomlType.name, given->span,
                fmt::format("'meter' must be a text or a table, not {}",
                            type_name(given->type)));
    return usual;
  }
  usual.name = "as told";
  for (const TomlEntry& entry : given->entries) {
    const MeterKey* key = find_meter_key(entry.key);
    if (key == nullptr) {
      const std::vector<std::string> keys = meter_keys();
      complain_of(complaints, kKeyUnknown.name, entry.key_span,
                  fmt::format("{} is not a key of a meter", quoted(entry.key)),
                  names_hint(nearest(entry.key, keys), keys, "keys"));
    } else if (entry.value.type != TomlNode::Type::string) {
      complain_of(complaints, kTomlType.name, entry.value.span,
                  fmt::format("'{}' must be a text, not {}", entry.key,
                              type_name(entry.value.type)));
    } else if (std::string problem = put_figure(*key, entry.value.text, usual);
               !problem.empty()) {
      complain_of(complaints, kFigureMalformed.name, entry.value.span,
                  fmt::format("'{}' cannot be {}", entry.key, quoted(entry.value.text)),
                  std::move(problem));
    }
  }
  return usual;
}

}  // namespace benchproof
