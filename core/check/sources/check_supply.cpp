#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "core/check/rest/limits.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutSupply[] = {
    {"supply-current", "what a supply delivers, against its rated current",
     "the highest current of any phase, out of plus: fault above 'current', caution "
     "above 0.8 'current'",
     "the part's figure 'current'; 'benchproof parts TYPE' names its source and mark; "
     "the 80 %: common practice, no source (practice)",
     "an overloaded supply sags, shuts down or overheats; one that is always at its "
     "limit grows old early",
     "draw less, or use a supply for more current"},
    {"battery-current", "what a battery delivers, against what it is made to deliver",
     "caution where the average over the phases exceeds 'current' (without that "
     "figure 0.2 of the capacity in an hour for alkaline, 0.1 for zinc-carbon, 0.5 for "
     "lead-acid, 1 for others), fault where any "
     "phase exceeds 'pulse', of a primary cell a caution",
     "the part's figures 'current' and 'pulse'; 'benchproof parts TYPE' names their "
     "sources and marks",
     "past its practical rate a battery's voltage sags and most of its capacity is "
     "lost as heat inside",
     "draw less, or use a larger size or another chemistry"},
    {"battery-life", "how long a battery lasts in a state",
     "hours = 'capacity' left / average current over the phases; left of a fresh one "
     "is "
     "all, of a half spent one half, of a spent one a tenth",
     "the part's figure 'capacity', or what its 'capacities' have at that current; "
     "'benchproof parts TYPE' names its source and mark; the shares left: common "
     "practice, no source (practice)",
     "it is what a user of the thing asks first; in the cold it is less",
     "draw less, or use a larger size"},
    {"battery-empty", "a battery's voltage under its load",
     "V / 'cells' >= 'end_voltage', where it delivers 1 mA or more",
     "the part's figure 'end_voltage'; 'benchproof parts TYPE' names its source and "
     "mark",
     "below it a battery counts as empty; one that can be charged is damaged when it "
     "is "
     "drawn down further",
     "draw less, use a larger size, or fresh ones"},
    {"battery-short", "a battery that is shorted",
     "V(plus) - V(minus) in each phase at least half of 'open_circuit' times 'cells'",
     "common practice, no source (practice)",
     "only its inner resistance is left to limit the current: it heats, leaks or "
     "bursts, and wires burn",
     "look for the short; put a fuse next to every battery"},
    {"supply-fed", "current that flows back into a supply or battery",
     "the highest current of any phase into plus, above 1 mA: a fault for primary and "
     "lithium-ion cells, for a supply above 5 mA, for other cells above 0.3 of their "
     "capacity an "
     "hour; else a caution",
     "common practice, no source (practice)",
     "primary cells that are charged leak or burst, and most supplies cannot take "
     "current: their voltage rises",
     "block it with a diode in series, or charge a battery with the charger made for "
     "it"},
    {"battery-trickle", "what leaks into a cell that is not to be charged",
     "average current into plus, for a year, at most 3 % of 'capacity': lithium cells "
     "that are not made to be charged",
     "makers' sheets of lithium coin cells that back up a supply allow 1 % to 3 % of "
     "the "
     "capacity in all their life (memory)",
     "it goes on for years, and a Schottky diode leaks tens of times more in the heat: "
     "the cell swells, leaks or bursts",
     "a silicon diode of little leakage (a 1N4148), and 1 kohm in series with it"},
};

/// A supply or battery that takes up more than this is being fed. Common practice, no
/// source.
constexpr double kFedAmps = 1e-3;
/// What lifts a supply's voltage for certain. Common practice, no source.
constexpr double kMuchFedAmps = 5e-3;
/// A charge faster than this share of the capacity, per hour, has to be ended in time.
/// Common practice, no source.
constexpr double kFastChargeShare = 0.3;

/// Whether a part is a battery that is not made to be charged.
bool is_primary(const Part& part) {
  constexpr std::array<std::string_view, 3> kPrimary = {"alkaline", "zinc-carbon",
                                                        "lithium"};
  return part.kind == KindId::battery &&
         std::find(kPrimary.begin(), kPrimary.end(), word_of(part, "chemistry")) !=
             kPrimary.end();
}

Peak delivered(const CheckInput& input, int index) {
  return highest(input,
                 [&](const Observation& seen) { return -pin_amps(seen, index, 0); });
}

std::optional<Finding> check_supply_current(const CheckInput& input, int index,
                                            const Rating& rating) {
  auto finding = over_rating(input, index, rating);
  if (!finding || finding->severity == Severity::fault) return finding;
  const Part& part = input.parts[index];
  const double amps = *finding->value;
  const double rated = *finding->limit;
  const double usual = caution_share(rating, part);
  set_limit(*finding, rating.quantity, amps,
            practice(usual * rated, Unit::ampere,
                     fmt::format("{} of a supply's rated current",
                                 short_text(usual, Unit::fraction))));
  finding->message = fmt::format(
      "'{}' delivers {}, {} of its {} rating; leave it a fifth in hand", part.name,
      short_text(amps, Unit::ampere), short_text(amps / rated, Unit::fraction, 2),
      short_text(rated, Unit::ampere));
  return finding;
}

/// A battery of which no current is published delivers more than it is good for.
std::optional<Finding> check_rate(const CheckInput& input, int index,
                                  const Rating& rating) {
  const auto found = told_standing(input, index, rating);
  if (!found) return std::nullopt;
  const Part& part = input.parts[index];
  Finding finding = about_rating(input, index, rating, *found);
  finding.message = fmt::format(
      "'{}' delivers {}, more than the {} that a battery of {} ({}) is good for: it "
      "gives much less than its capacity and sags; draw less, or use a larger one",
      part.name, short_text(found->value.value, Unit::ampere),
      short_text(found->limit.value, Unit::ampere),
      short_text(figure(part, "capacity")->value, Unit::ampere_hour),
      word_of(part, "chemistry"));
  return finding;
}

/// A battery's published continuous current: past it the battery sags and is soon
/// empty, but is not destroyed; what a pulse may draw is the harder limit.
void check_battery_current(const CheckInput& input, int index, const Rating& pulse,
                           std::vector<Finding>& findings) {
  const auto rating = [&pulse](std::string_view key) -> const Rating& {
    return rating_at_rest(KindId::battery, pulse.rest.check, key);
  };
  auto over = over_rating(input, index, pulse);
  // It sags and is soon empty, which is told where it happens; nothing is destroyed.
  if (over && is_primary(input.parts[index])) {
    over->severity = std::min(over->severity, Severity::caution);
    over->message += "; it sags, and is soon empty";
  }
  append(findings,
         over ? std::move(over) : over_rating(input, index, rating("current")));
  append(findings, check_rate(input, index, rating("capacity")));
}

std::string time_text(double hours) {
  constexpr double kDay = 24.0, kYear = 365.25 * kDay;
  if (hours * 60.0 < 1.5) return "a minute";
  if (hours < 1.0) return fmt::format("{:.0f} minutes", hours * 60.0);
  if (hours < 10.0) return fmt::format("{:.1f} hours", hours);
  if (hours < 2.0 * kDay) return fmt::format("{:.0f} hours", hours);
  if (hours < 90.0 * kDay) return fmt::format("{:.0f} days", hours / kDay);
  if (hours < 2.0 * kYear) return fmt::format("{:.0f} months", hours / (kYear / 12.0));
  return fmt::format("{:.0f} years", hours / kYear);
}

std::optional<Finding> check_life(const CheckInput& input, int index) {
  constexpr double kNothing = 1e-6;  // Below it ageing counts, not the load.
  constexpr double kShelfHours = 5.0 * 365.25 * 24.0;  // Common practice, no source.
  const Part& part = input.parts[index];
  const double amps = -pin_amps(input.average, index, 0);
  const auto capacity = charge_left(part, amps);
  if (!capacity || amps < kNothing) return std::nullopt;
  const double left = capacity->value;
  const double hours = left / amps;
  Finding finding =
      about_part(input, index, Severity::note, CheckId(kAboutSupply, "battery-life"));
  finding.quantity = "current";
  finding.unit = Unit::ampere;
  finding.value = amps;
  finding.source = source_of(*capacity);
  finding.mark = capacity->mark;
  finding.message =
      fmt::format("'{}' lasts about {}: {} at {}{}", part.name, time_text(hours),
                  short_text(left, Unit::ampere_hour), short_text(amps, Unit::ampere),
                  hours > kShelfHours ? ", if it does not age before that" : "");
  return finding;
}

/// A battery that what stands at it pulls below half of its voltage is shorted, or as
/// good as that.
std::optional<Finding> check_short(const CheckInput& input, int index) {
  constexpr double kShortShare = 0.5;  // Common practice, no source.
  constexpr double kGlowAmps = 2.0;    // What a thin wire does not bear. The same.
  const Part& part = input.parts[index];
  const auto open = figure(part, "open_circuit");
  const auto cells = figure(part, "cells");
  if (!open || !cells) return std::nullopt;
  const double least = kShortShare * open->value * cells->value;
  const Peak low = highest(input, [&](const Observation& seen) {
    const bool is_loaded = -pin_amps(seen, index, 0) > kFedAmps;
    return is_loaded ? -volts_between(input, seen, index, 0, 1) : -HUGE_VAL;
  });
  if (!exceeds(least, -low.value)) return std::nullopt;
  const double amps = delivered(input, index).value;
  Finding finding =
      about_part(input, index, Severity::fault, CheckId(kAboutSupply, "battery-short"));
  set_limit(finding, "voltage", -low.value,
            practice(least, Unit::volt, "half of a battery's voltage without load"));
  finding.bound = Bound::lower;
  finding.phase = low.phase;
  finding.message = fmt::format(
      "'{}' is as good as shorted: it gives {}, and only {} of its {} are left; {}",
      part.name, short_text(amps, Unit::ampere), short_text(-low.value, Unit::volt),
      short_text(2.0 * least, Unit::volt),
      amps > kGlowAmps
          ? "it gets hot, and wires glow: look for the short, and put a fuse next to it"
          : "use a larger one, or a smaller load");
  return finding;
}

std::optional<Finding> check_empty(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  const auto end = figure(part, "end_voltage");
  const auto cells = figure(part, "cells");
  if (!end || !cells) return std::nullopt;
  const Peak low = highest(input, [&](const Observation& seen) {
    const bool is_loaded = -pin_amps(seen, index, 0) > kFedAmps;
    return is_loaded ? -volts_between(input, seen, index, 0, 1) / cells->value
                     : -HUGE_VAL;
  });
  const double volts = -low.value;
  if (!exceeds(end->value, volts)) return std::nullopt;
  Finding finding = about_part(input, index, Severity::caution,
                               CheckId(kAboutSupply, "battery-empty"));
  set_limit(finding, "voltage", volts, *end);
  finding.bound = Bound::lower;
  finding.phase = low.phase;
  finding.message = fmt::format(
      "'{}' sags to {}{} under its load; at {} it counts as empty: draw less, or use "
      "a larger or fresh one",
      part.name, short_text(volts, Unit::volt),
      cells->value > 1.0 ? " in each of its units" : "",
      short_text(end->value, Unit::volt));
  return finding;
}

std::optional<Finding> check_fed(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  const Peak fed =
      highest(input, [&](const Observation& seen) { return pin_amps(seen, index, 0); });
  if (!exceeds(fed.value, kFedAmps)) return std::nullopt;
  const bool is_cell = is_primary(part);
  const auto capacity = figure(part, "capacity");
  const double most = part.kind == KindId::dc_supply ? kMuchFedAmps
                      : capacity ? kFastChargeShare * capacity->value
                                 : HUGE_VAL;
  const bool is_touchy = word_of(part, "chemistry") == "lithium-ion";
  const bool is_fault = is_cell || is_touchy || exceeds(fed.value, most);
  Finding finding =
      about_part(input, index, is_fault ? Severity::fault : Severity::caution,
                 CheckId(kAboutSupply, "supply-fed"));
  set_limit(finding, "current", fed.value,
            practice(kFedAmps, Unit::ampere,
                     is_cell ? "primary cells are not charged"
                             : "a supply is not fed from outside"));
  finding.phase = fed.phase;
  finding.message = fmt::format(
      "{} flows into '{}'; {}", short_text(fed.value, Unit::ampere), part.name,
      is_cell ? "charging such cells makes them leak or burst: block it with a diode"
      : part.kind == KindId::battery
          ? "charge it only with a charger made for its chemistry"
          : "most supplies cannot take current, and what they feed gets too much "
            "voltage: block it with a diode");
  return finding;
}

/// What leaks into a lithium cell through what is to block it.
std::optional<Finding> check_trickle(const CheckInput& input, int index) {
  constexpr double kMostShare = 0.03;  // From memory.
  constexpr double kYearHours = 365.25 * 24.0;
  const Part& part = input.parts[index];
  const auto capacity = figure(part, "capacity");
  const double amps = pin_amps(input.average, index, 0);
  if (!capacity || word_of(part, "chemistry") != "lithium" || exceeds(amps, kFedAmps))
    return std::nullopt;
  const double most = kMostShare * capacity->value;
  if (!exceeds(amps * kYearHours, most)) return std::nullopt;
  Finding finding = about_part(input, index, Severity::caution,
                               CheckId(kAboutSupply, "battery-trickle"));
  set_limit(finding, "current", amps,
            {most / kYearHours, Unit::ampere, Mark::memory,
             "sheets of lithium coin cells as remembered", "3 % of the capacity"});
  finding.message = fmt::format(
      "{} leak into '{}': {} in a year, more in the heat, where such a cell bears {} "
      "in "
      "all its life before it swells or bursts; block it with a silicon diode of "
      "little "
      "leakage (a 1N4148), and 1 kohm in series",
      short_text(amps, Unit::ampere, 2), part.name,
      short_text(amps * kYearHours, Unit::ampere_hour, 2),
      short_text(most, Unit::ampere_hour, 2));
  return finding;
}

constexpr Special kSupplySpecials[] = {
    {CheckId(kAboutSupply, "supply-current"), check_supply_current},
    {CheckId(kAboutSupply, "battery-current"), nullptr, check_battery_current}};

}  // namespace

std::vector<Finding> check_supply(const CheckInput& input) {
  std::vector<Finding> findings;
  for_parts(input, KindId::dc_supply, [&](int index, const Part&) {
    tell_ratings(input, index, findings, kSupplySpecials);
    append(findings, check_fed(input, index));
  });
  for_parts(input, KindId::battery, [&](int index, const Part&) {
    auto shorted = check_short(input, index);
    if (!shorted) {
      tell_ratings(input, index, findings, kSupplySpecials);
      append(findings, check_empty(input, index));
    }
    append(findings, std::move(shorted));
    append(findings, check_fed(input, index));
    append(findings, check_trickle(input, index));
    append(findings, check_life(input, index));
  });
  return findings;
}

std::span<const Explanation> explain_supply() { return kAboutSupply; }

}  // namespace benchproof
