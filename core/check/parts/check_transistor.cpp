#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/catalogue/pins.h"
#include "core/check/rest/limits.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutTransistor[] = {
    {"transistor-current", "a transistor's collector current",
     "highest |Ic| of any phase <= 'current'",
     "the part's figure 'current'; 'benchproof parts TYPE' names its source and mark",
     "beyond it the bond wires and the crystal fail", "use one for more current"},
    {"transistor-voltage", "its voltage from collector to emitter",
     "highest |Vce| of any phase <= 'voltage'",
     "the part's figure 'voltage'; 'benchproof parts TYPE' names its source and mark",
     "beyond it the junction breaks down", "use one for more voltage"},
    {"transistor-base", "its base-emitter junction in reverse",
     "V(emitter) - V(base) (turned for PNP) <= 'base_reverse'",
     "the part's figure 'base_reverse'; 'benchproof parts TYPE' names its source and "
     "mark",
     "it breaks down at some 6 V, and loses its gain each time it does",
     "clamp it with a diode from emitter to base"},
    {"transistor-swapped", "collector and emitter exchanged",
     "V(emitter) - V(collector) (turned for PNP) at most 1 V",
     "common practice, no source (practice)",
     "the wrong way round a transistor has next to no gain, and its base bears a few "
     "volts only",
     "exchange the two"},
    {"transistor-exchanged", "base and collector exchanged",
     "|Ib| <= |Ic|, where |Ib| is above 10 mA and comes from a rail with nothing that "
     "switches it on the way, while something switches what the collector gets; or "
     "through a lamp, motor, coil or buzzer, of which the collector has none; or is "
     "above 'current'",
     "common practice, no source (practice)",
     "a load in the base's lead is on whatever the collector does, and the base burns",
     "exchange the two; a base wants a resistor of its own"},
    {"base-overdriven", "more current into a base than into its collector",
     "|Ib| <= |Ic|, where |Ib| is above 10 mA: a note",
     "common practice, no source (practice)",
     "a twentieth of the collector's current is enough; the rest is wasted",
     "raise the base's resistor"},
    {"transistors-joined", "transistors joined pin by pin",
     "the sum of |Ic| over bipolar transistors with the same three nets <= 'current' "
     "of "
     "each",
     "60 mV between two base-emitter voltages are ten times the current: common "
     "practice, no source (practice)",
     "the one with the lowest base-emitter voltage takes most of the base's current, "
     "and with it of the load's; it warms up, and takes still more",
     "give each a resistor of its own at its emitter or its base, or use one that "
     "bears all of it"},
    {"transistor-power", "its heat, against a power rating", "P <= 'power'",
     "the part's figure 'power'; 'benchproof parts TYPE' names its source and mark",
     "more heat than its case gives off", "lower its current or voltage"},
    {"transistor-junction", "the temperature of its junction",
     "Tj = ambient + P 'thermal_resistance' <= 'junction_max'; with a heat sink Tj = "
     "ambient + P ('thermal_resistance_case' + 'heatsink')",
     "the part's figures 'thermal_resistance' and 'junction_max'; 'benchproof parts "
     "TYPE' names their sources and marks",
     "above it the part fails", "lower its current or voltage, or give it a heat sink"},
    {"mosfet-current", "a MOS transistor's drain current",
     "average <= 'current' and each phase <= 'pulse'; without 'pulse' each phase <= "
     "'current'",
     "the part's figures 'current' and 'pulse'; 'benchproof parts TYPE' names their "
     "sources and marks",
     "beyond it the bond wires and the crystal fail", "use one for more current"},
    {"mosfet-voltage", "its voltage from drain to source",
     "highest |Vds| of any phase <= 'voltage'",
     "the part's figure 'voltage'; 'benchproof parts TYPE' names its source and mark",
     "beyond it the transistor breaks down", "use one for more voltage"},
    {"mosfet-gate", "its voltage from gate to source",
     "highest |Vgs| of any phase <= 'gate'",
     "the part's figure 'gate'; 'benchproof parts TYPE' names its source and mark",
     "the gate's oxide is some ten nanometres thin: once it is pierced the part is "
     "dead",
     "limit the gate's voltage with a zener"},
    {"mosfet-power", "its heat, against a power rating", "P <= 'power'",
     "the part's figure 'power'; 'benchproof parts TYPE' names its source and mark",
     "more heat than its case gives off", "lower its current or voltage"},
    {"mosfet-junction", "the temperature of its junction",
     "Tj = ambient + P 'thermal_resistance' <= 'junction_max'; with a heat sink Tj = "
     "ambient + P ('thermal_resistance_case' + 'heatsink')",
     "the part's figures 'thermal_resistance' and 'junction_max'; 'benchproof parts "
     "TYPE' names their sources and marks",
     "above it the part fails", "lower its current or voltage, or give it a heat sink"},
    {"mosfet-sheet-heat", "its heat with the largest resistance that its sheet allows",
     "Tj = ambient + I^2 R(Tj) 'thermal_resistance' <= 'junction_max', solved for Tj, "
     "with R = R25 (1 + (Tj - 25 C) / 100 K) and R25 of 'on_resistances' or "
     "'on_resistance' the one at the highest gate voltage which its gate has: a fault "
     "where the model's own resistance is enough for that, where Tj - "
     "ambient is past the limit by a quarter, or where there is no such Tj",
     "the part's figures; 'benchproof parts TYPE' names their sources and marks; twice "
     "the resistance at 125 C: common practice, no source (practice)",
     "the model has the resistance of the sheet at 'on_gate' and less above it, "
     "while a real one keeps a good part of it, and more when hot: the heat makes more "
     "resistance, and that more heat",
     "give it a heat sink, or use a type of lower resistance"},
};

/// A MOS transistor's on-resistance rises by this share of that at 25 C for each
/// kelvin: twice as much at 125 C. Common practice, no source; sheets show 1.7 to 2.1
/// times.
constexpr double kHotterPerKelvin = 0.01;

/// What heats a MOS transistor that is on, at 25 C: by its resistance, which rises with
/// heat, and otherwise.
struct OnHeat {
  double by_resistance = 0.0;  ///< Watt.
  double other = 0.0;          ///< Watt.
  double most_amps = 0.0;

  /// Where heat and resistance settle, `resistance` to the air in K/W; infinite where
  /// each kelvin makes more heat than it takes away.
  [[nodiscard]] double settled(double ambient, double resistance) const {
    const double gain = resistance * by_resistance * kHotterPerKelvin;
    if (gain >= 1.0) return HUGE_VAL;
    const double cold =
        by_resistance * (1.0 - kHotterPerKelvin * kSheetCelsius) + other;
    return (ambient + resistance * cold) / (1.0 - gain);
  }
  static constexpr double kSheetCelsius = 25.0;
};

/// The heat of a MOS transistor: by its model's resistance, and the same with at least
/// what its sheet allows at the voltage of its gate, where it tells that.
struct Heats {
  OnHeat by_model;
  OnHeat by_sheet;
  Figure resistance;  ///< The sheet's, of the phase in which most current flows.
};

Heats on_heats(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  Heats heats;
  for (const SeenPhase& phase : input.phases) {
    const double amps = std::abs(pin_amps(phase.seen, index, kDrain));
    const double gate =
        polarity(part) * volts_between(input, phase.seen, index, kGate, kSource);
    const double modelled = phase.phase.share * phase.seen.part_watts[index];
    const auto sheet = sheet_on_resistance(part, gate);
    if (!sheet) {
      heats.by_model.other += modelled;
      heats.by_sheet.other += modelled;
      continue;
    }
    heats.by_model.by_resistance += modelled;
    heats.by_sheet.by_resistance +=
        std::max(modelled, phase.phase.share * amps * amps * sheet->value);
    if (amps <= heats.by_sheet.most_amps) continue;
    heats.by_sheet.most_amps = amps;
    heats.resistance = *sheet;
  }
  return heats;
}

/// A junction that is too hot with the resistance that the sheet allows, which the heat
/// itself makes larger, and not with the model's, which falls without end as the gate's
/// voltage rises.
std::optional<Finding> check_sheet_heat(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  const auto modelled =
      standing(input, index,
               rating_at_rest(part.kind, CheckId(kAboutTransistor, "mosfet-junction")));
  if (!modelled || modelled->severity) return std::nullopt;
  const auto [by_model, by_sheet, resistance] = on_heats(input, index);
  const auto path = junction(input, index, 0.0);
  const Figure& limit = modelled->limit;
  if (!path || by_sheet.most_amps == 0.0) return std::nullopt;
  const auto settled = [&](const OnHeat& heat) {
    return heat.settled(input.circuit.ambient, path->resistance.value);
  };
  const double hot = settled(by_sheet);
  if (!exceeds(hot, limit.value)) return std::nullopt;
  // By the model alone it is a fault; by what the sheet allows besides, past a quarter.
  const double room = limit.value - input.circuit.ambient;
  const bool is_sure = exceeds(settled(by_model), limit.value) ||
                       hot - input.circuit.ambient > 1.25 * room;
  Finding finding =
      about_part(input, index, is_sure ? Severity::fault : Severity::caution,
                 CheckId(kAboutTransistor, "mosfet-sheet-heat"));
  const double watts = by_sheet.by_resistance + by_sheet.other;
  const double told = std::isfinite(hot) ? hot : limit.value + room;
  set_limit(finding, "temperature", told, limit);
  finding.mark = Mark::derived;
  finding.source =
      fmt::format("limit: {}; resistance: {}; twice as much at 125 C: common practice",
                  finding.source, source_of(resistance));
  const std::string where =
      std::isfinite(hot) && hot < 3.0 * limit.value
          ? fmt::format("settles at {}, above", found_text(hot, Unit::celsius))
          : "finds no equilibrium below";
  finding.message = fmt::format(
      "'{}' {} its {} junction limit: {} through the {} that its sheet allows make {} "
      "while it is cold, and the resistance doubles by 125 C; give it a heat sink, or "
      "use a type of lower resistance",
      part.name, where, short_text(limit.value, Unit::celsius),
      short_text(by_sheet.most_amps, Unit::ampere),
      short_text(resistance.value, Unit::ohm), short_text(watts, Unit::watt));
  return finding;
}

/// The emitter where the collector ought to be: above the collector (NPN), below it
/// (PNP). A transistor works that way with next to no gain, and its base-emitter
/// junction stands a few volts only.
std::optional<Finding> check_swapped(const CheckInput& input, int index,
                                     Severity severity) {
  constexpr double kSwappedVolts = 1.0;  // Common practice, no source.
  const Part& part = input.parts[index];
  const double sign = polarity(part);
  const Peak volts = highest(input, [&](const Observation& seen) {
    return sign * volts_between(input, seen, index, kEmitter, kCollector);
  });
  if (!exceeds(volts.value, kSwappedVolts)) return std::nullopt;
  Finding finding = about_part(input, index, severity,
                               CheckId(kAboutTransistor, "transistor-swapped"));
  set_limit(finding, "voltage", volts.value,
            practice(kSwappedVolts, Unit::volt,
                     "the collector is not on the emitter's side of the supply"));
  finding.phase = volts.phase;
  finding.message = fmt::format(
      "'{}' looks wired with collector and emitter swapped: its emitter lies {} {} its "
      "collector{}",
      part.name, short_text(volts.value, Unit::volt), sign > 0.0 ? "above" : "below",
      severity == Severity::fault
          ? ", and its base stands more in reverse than it is rated for"
          : "");
  return finding;
}

/// What stands between a lead and the rail that its current comes from.
struct LeadFeed {
  bool is_switched = false;  ///< A switch, transistor or output.
  bool has_load = false;     ///< A lamp, motor, coil or buzzer.
};

/// Follows the better part of a lead's current to a rail, or to what switches it.
LeadFeed lead_feed(const CheckInput& input, const Observation& seen, PinRef lead) {
  LeadFeed feed;
  const double least = 0.5 * std::abs(pin_amps(seen, lead.part, lead.pin));
  int from = lead.part;
  int net = input.parts[lead.part].nets[lead.pin];
  for (std::size_t step = 0; step < input.parts.size(); ++step) {
    if (net < 0 || is_rail(input.circuit, net)) return feed;
    const auto& pins = input.circuit.nets[net].pins;
    const auto next = std::find_if(pins.begin(), pins.end(), [&](PinRef pin) {
      return pin.part != from && std::abs(pin_amps(seen, pin.part, pin.pin)) >= least;
    });
    if (next == pins.end()) return feed;
    from = next->part;
    const Part& part = input.parts[from];
    feed.has_load |= is_load(part.kind);
    feed.is_switched |= part.kind == KindId::switch_;
    const bool is_on_the_way = is_passage(part.kind) || part.kind == KindId::led ||
                               part.kind == KindId::diode ||
                               part.kind == KindId::switch_;
    if (!is_on_the_way) return {true, feed.has_load};
    net = other_net(part, net);
  }
  return feed;
}

/// Whether a base that takes more than its collector is surely not meant to: its load
/// is on whatever switches the collector, or it takes more than the collector may.
bool is_surely_exchanged(const CheckInput& input, const Observation& seen, int index,
                         double base_amps) {
  const auto most = figure(input.parts[index], "current");
  if (most && exceeds(base_amps, most->value)) return true;
  const LeadFeed base = lead_feed(input, seen, {index, kBase});
  const LeadFeed collector = lead_feed(input, seen, {index, kCollector});
  return (!base.is_switched && collector.is_switched) ||
         (base.has_load && !collector.has_load);
}

/// More current into the base than into the collector.
std::optional<Finding> check_exchanged(const CheckInput& input, int index) {
  constexpr double kMuchAmps = 10e-3;  // Common practice, no source.
  Peak base;
  bool is_sure = false;
  for (const SeenPhase& phase : input.phases) {
    const double amps = std::abs(pin_amps(phase.seen, index, kBase));
    if (amps <= std::abs(pin_amps(phase.seen, index, kCollector)) ||
        !exceeds(amps, kMuchAmps))
      continue;
    is_sure |= is_surely_exchanged(input, phase.seen, index, amps);
    if (amps > base.value) base = {amps, phase.phase.name};
  }
  if (base.value == 0.0) return std::nullopt;
  Finding finding =
      about_part(input, index, is_sure ? Severity::fault : Severity::note,
                 is_sure ? CheckId(kAboutTransistor, "transistor-exchanged")
                         : CheckId(kAboutTransistor, "base-overdriven"));
  set_limit(finding, "current", base.value,
            practice(kMuchAmps, Unit::ampere, "a base takes less than a collector"));
  finding.phase = base.phase;
  finding.message =
      fmt::format("'{}' takes {} into its base, more than into its collector: {}",
                  input.parts[index].name, short_text(base.value, Unit::ampere),
                  is_sure ? "are the two exchanged, or is its load missing"
                          : "a larger resistor at its base is enough");
  return finding;
}

/// What a base that stands too much in reverse says is told with exchanged leads.
void check_base(const CheckInput& input, int index, const Rating& rating,
                std::vector<Finding>& findings) {
  auto base = over_rating(input, index, rating);
  auto swapped =
      check_swapped(input, index, base ? Severity::fault : Severity::caution);
  append(findings, swapped ? std::move(swapped) : std::move(base));
  append(findings, check_exchanged(input, index));
}

/// Bipolar transistors joined pin by pin for more current than one of them bears; told
/// of the first.
std::optional<Finding> check_joined(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  const auto limit = figure(part, "current");
  std::vector<int> joined;
  for_parts(input, KindId::transistor, [&](int other, const Part& p) {
    if (p.nets == part.nets && polarity(p) == polarity(part)) joined.push_back(other);
  });
  if (!limit || joined.size() < 2 || joined.front() != index) return std::nullopt;
  const Peak all = highest(input, [&](const Observation& seen) {
    double sum = 0.0;
    for (const int k : joined) sum += std::abs(pin_amps(seen, k, kCollector));
    return sum;
  });
  if (!exceeds(all.value, limit->value)) return std::nullopt;
  Finding finding = about_part(input, index, Severity::caution,
                               CheckId(kAboutTransistor, "transistors-joined"));
  set_limit(finding, "current", all.value, *limit);
  finding.phase = all.phase;
  finding.message = fmt::format(
      "'{}' and '{}' are joined pin by pin for {}, and each bears {}: they do not "
      "share "
      "by themselves; give each a resistor of its own at its emitter or its base, or "
      "use one that bears all of it",
      part.name, input.parts[joined[1]].name, short_text(all.value, Unit::ampere),
      short_text(limit->value, Unit::ampere));
  return finding;
}

constexpr Special kTransistorSpecials[] = {
    {CheckId(kAboutTransistor, "transistor-base"), nullptr, check_base}};

}  // namespace

std::vector<Finding> check_transistor(const CheckInput& input) {
  std::vector<Finding> findings;
  for_parts(input, KindId::transistor, [&](int index, const Part&) {
    tell_ratings(input, index, findings, kTransistorSpecials);
    append(findings, check_joined(input, index));
  });
  for_parts(input, KindId::mosfet, [&](int index, const Part&) {
    tell_ratings(input, index, findings);
    append(findings, check_sheet_heat(input, index));
  });
  return findings;
}

std::span<const Explanation> explain_transistor() { return kAboutTransistor; }

}  // namespace benchproof
