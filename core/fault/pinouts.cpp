#include "core/fault/pinouts.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <optional>
#include <utility>

#include "core/base/complaints.h"
#include "core/fault/detail/entry.h"
#include "core/shape/pinouts_texts.h"

namespace benchproof {
namespace {

/// Kinds whose leads can be told apart by nothing but a sheet.
constexpr std::array kOrdered = {KindId::transistor, KindId::mosfet, KindId::regulator,
                                 KindId::diode};
/// A lead that is joined to nothing in the part.
constexpr std::string_view kNoPin = "-";

std::vector<std::string> names_of_types(const Catalogue& catalogue) {
  std::vector<std::string> names;
  for (const KindId id : kOrdered)
    for (std::string& name : catalogue.names(id)) names.push_back(std::move(name));
  return names;
}

std::optional<KindId> kind_of_type(const Catalogue& catalogue, std::string_view name) {
  for (const KindId id : kOrdered)
    if (catalogue.find(id, name) != nullptr) return id;
  return std::nullopt;
}

std::optional<KindId> kind_of(Entry& entry, const Pinout& pinout,
                              const Catalogue& catalogue) {
  std::optional<KindId> found;
  for (const std::string& type : pinout.types) {
    const auto id = kind_of_type(catalogue, type);
    if (!id) {
      const std::vector<std::string> names = names_of_types(catalogue);
      entry.complain(kTypeUnknown, entry.span_of("types"),
                     fmt::format("no type {}", quoted(type)),
                     names_hint(nearest(type, names), names, "types"));
      continue;
    }
    if (found && *found != *id)
      entry.complain(kKeyConflict, entry.span_of("types"), "types of two kinds");
    found = id;
  }
  return found;
}

/// Whether the leads are the pins of the kind in some order.
void check_leads(Entry& entry, const Pinout& pinout) {
  std::vector<std::string> pins = split_words(kind(pinout.kind).pins);
  const bool is_adjustable = std::find(pinout.leads.begin(), pinout.leads.end(),
                                       "adjust") != pinout.leads.end();
  if (pinout.kind == KindId::regulator && is_adjustable) pins[1] = "adjust";
  for (const std::string& lead : pinout.leads) {
    if (lead == kNoPin) continue;
    if (std::find(pins.begin(), pins.end(), lead) == pins.end())
      entry.complain(
          kPinUnknown, entry.span_of("leads"),
          fmt::format("a {} has no pin {}", kind(pinout.kind).name, quoted(lead)),
          names_hint(nearest(lead, pins), pins, "pins"));
    else if (std::count(pinout.leads.begin(), pinout.leads.end(), lead) > 1)
      entry.complain(kPinDuplicate, entry.span_of("leads"),
                     fmt::format("pin '{}' has two leads", lead));
  }
  for (const std::string& pin : pins)
    if (std::find(pinout.leads.begin(), pinout.leads.end(), pin) == pinout.leads.end())
      entry.complain(kPinNowhere, entry.span_of("leads"),
                     fmt::format("pin '{}' has no lead", pin));
}

Pinout read_pinout(Entry& entry, const Catalogue& catalogue) {
  Pinout pinout;
  pinout.types = entry.texts("types");
  std::vector<std::string> kinds;
  for (const KindId id : kOrdered) kinds.emplace_back(kind(id).name);
  std::string name;
  if (pinout.types.empty()) name = entry.word("kind", kinds);
  const auto found = name.empty() ? kind_of(entry, pinout, catalogue)
                                  : std::optional(find_kind(name)->id);
  pinout.package = entry.text("package");
  pinout.seen = entry.text("seen");
  pinout.leads = entry.texts("leads");
  pinout.mark = entry.mark();
  pinout.source = entry.text("source");
  pinout.note = entry.text_if("note");
  pinout.differs = entry.text_if("differs");
  entry.end();
  if (!found) return pinout;
  pinout.kind = *found;
  check_leads(entry, pinout);
  return pinout;
}

}  // namespace

ReadPinouts read_pinouts(std::string_view text, const Catalogue& catalogue) {
  ReadPinouts read;
  read.diagnostics = read_data_file(
      text, {"pinout"}, [&](const TomlNode& root, std::vector<Diagnostic>& complaints) {
        for (Entry& entry : entries_of(root, "pinout", complaints))
          read.pinouts.push_back(read_pinout(entry, catalogue));
      });
  return read;
}

std::vector<Pinout> built_in_pinouts(const Catalogue& catalogue) {
  std::vector<Pinout> pinouts;
  for (const auto& [file, text] : pinouts_texts()) {
    ReadPinouts read = read_pinouts(text, catalogue);
    demand_none(read.diagnostics, file, text);
    for (Pinout& pinout : read.pinouts) pinouts.push_back(std::move(pinout));
  }
  return pinouts;
}

std::vector<const Pinout*> pinouts_of(const std::vector<Pinout>& pinouts,
                                      std::string_view type) {
  std::vector<const Pinout*> found;
  for (const Pinout& pinout : pinouts)
    if (std::find(pinout.types.begin(), pinout.types.end(), type) != pinout.types.end())
      found.push_back(&pinout);
  return found;
}

}  // namespace benchproof
