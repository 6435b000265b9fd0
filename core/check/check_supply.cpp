#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "core/check/usual.h"

namespace benchproof {
namespace {

constexpr Explanation kExplained[] = {
    {"supply-current", "what a supply delivers, against its rated current",
     "the highest current of any phase, out of plus: fault above 'current', caution "
     "above 0.8 'current'",
     "the part's figure 'current'; 'benchproof parts TYPE' names its source and mark; "
     "the 80 %: common practice, no source (practice)",
     "an overloaded supply sags, shuts down or overheats; one that is always at its "
     "limit grows old early",
     "draw less, or use a supply for more current"},
    {"battery-current", "what a battery delivers, against what it is made to deliver",
     "caution where the average over the phases exceeds 'current', fault where any "
     "phase exceeds 'pulse'",
     "the part's figures 'current' and 'pulse'; 'benchproof parts TYPE' names their "
     "sources and marks",
     "past its practical rate a battery's voltage sags and most of its capacity is "
     "lost as heat inside",
     "draw less, or use a larger size or another chemistry"},
    {"supply-fed", "current that flows back into a supply or battery",
     "the highest current of any phase into plus, above 1 mA",
     "common practice, no source (practice)",
     "primary cells that are charged leak or burst, and most supplies cannot take "
     "current: their voltage rises",
     "block it with a diode in series, or charge a battery with the charger made for "
     "it"},
};
consteval CheckId id(std::string_view check) { return {kExplained, check}; }

/// A supply or battery that takes up more than this is being fed. Common practice, no
/// source.
constexpr double kFedAmps = 1e-3;

Peak delivered(const CheckInput& input, int index) {
  return highest(input,
                 [&](const Observation& seen) { return -pin_amps(seen, index, 0); });
}

std::optional<Finding> check_current(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  const auto limit = figure(part, "current");
  if (!limit) return std::nullopt;
  const Peak amps = delivered(input, index);
  if (exceeds(amps.value, limit->value)) {
    return over_rating(input, index,
                       {id("supply-current"), "current", "current", "current rating"},
                       amps, "draw less, or use a supply for more current");
  }
  if (!exceeds(amps.value, kUsualSupplyShare * limit->value)) return std::nullopt;
  Finding finding = about_part(input, index, Severity::caution, id("supply-current"));
  set_limit(finding, "current", amps.value,
            practice(kUsualSupplyShare * limit->value, Unit::ampere,
                     "80 % of a supply's rated current"));
  finding.phase = amps.phase;
  finding.message =
      fmt::format("'{}' delivers {}, {} of its {} rating; leave it a fifth in hand",
                  part.name, short_text(amps.value, Unit::ampere),
                  short_text(amps.value / limit->value, Unit::fraction, 2),
                  short_text(limit->value, Unit::ampere));
  return finding;
}

/// A battery's published continuous current: past it the battery sags and is soon
/// empty, but is not destroyed; what a pulse may draw is the harder limit.
std::optional<Finding> check_battery_current(const CheckInput& input, int index) {
  const Peak mean{-pin_amps(input.average, index, 0), ""};
  auto pulse = over_rating(input, index,
                           {id("battery-current"), "current", "pulse", "pulse rating"},
                           delivered(input, index), "draw less, or use a larger one");
  if (pulse) return pulse;
  auto lasting = over_rating(
      input, index, {id("battery-current"), "current", "current", "continuous rating"},
      mean, "it is soon empty and its voltage sags: draw less, or use a larger one");
  if (lasting) lasting->severity = Severity::caution;
  return lasting;
}

std::optional<Finding> check_fed(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  const Peak fed =
      highest(input, [&](const Observation& seen) { return pin_amps(seen, index, 0); });
  if (!exceeds(fed.value, kFedAmps)) return std::nullopt;
  constexpr std::array<std::string_view, 3> kPrimary = {"alkaline", "zinc-carbon",
                                                        "lithium"};
  const bool is_primary = part.kind == KindId::battery &&
                          std::find(kPrimary.begin(), kPrimary.end(),
                                    word(part, "chemistry")) != kPrimary.end();
  Finding finding = about_part(
      input, index, is_primary ? Severity::fault : Severity::caution, id("supply-fed"));
  set_limit(finding, "current", fed.value,
            practice(kFedAmps, Unit::ampere,
                     is_primary ? "primary cells are not charged"
                                : "a supply is not fed from outside"));
  finding.phase = fed.phase;
  finding.message = fmt::format(
      "{} flows into '{}'; {}", short_text(fed.value, Unit::ampere), part.name,
      is_primary ? "charging such cells makes them leak or burst: block it with a diode"
      : part.kind == KindId::battery
          ? "charge it only with a charger made for its chemistry"
          : "most supplies cannot take current: block it with a diode");
  return finding;
}

}  // namespace

std::vector<Finding> check_supply(const CheckInput& input) {
  std::vector<Finding> findings;
  for_parts(input, KindId::dc_supply, [&](int index, const Part&) {
    add(findings, check_current(input, index));
    add(findings, check_fed(input, index));
  });
  for_parts(input, KindId::battery, [&](int index, const Part&) {
    add(findings, check_battery_current(input, index));
    add(findings, check_fed(input, index));
  });
  return findings;
}

std::span<const Explanation> explain_supply() { return kExplained; }

}  // namespace benchproof
