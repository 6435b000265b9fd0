#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/check/rest/limits.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutController[] = {
    {"controller-reversed", "a chip's supply the wrong way round",
     "V(vss) - V(vdd) at most 0.3 V", "common practice, no source (practice)",
     "the chip's own diodes then short the supply, and it is destroyed",
     "exchange vdd and vss"},
    {"controller-supply", "a chip's supply voltage", "V(vdd) - V(vss) <= 'supply_max'",
     "the part's figure 'supply_max'; 'benchproof parts TYPE' names its source and "
     "mark",
     "an absolute rating: beyond it the chip can be destroyed at once",
     "lower its supply, or regulate it"},
    {"controller-operating", "whether a chip's supply is within what it is made for",
     "V(vdd) - V(vss) <= 'operating_max': caution above it, fault above 1.05 times; "
     "nothing where the description gives 'supply_max' alone",
     "the part's figure 'operating_max'; 'benchproof parts TYPE' names its source and "
     "mark; the 5 %: common practice, no source (practice)",
     "between it and the stress limit nothing breaks at once, but the maker promises "
     "neither that the chip works nor how long it lasts",
     "lower its supply, or regulate it"},
    {"controller-brownout", "whether a chip has enough to run",
     "V(vdd) - V(vss) >= 'brownout', unless below 0.5 V, which counts as off",
     "the part's figure 'brownout'; 'benchproof parts TYPE' names its source and mark",
     "below it the chip stops, starts anew or does something else than it is "
     "programmed for",
     "raise its supply"},
    {"controller-pin", "the current of one output",
     "|I(pin)|: fault above 'pin_limit', caution above 0.8 'pin_limit'",
     "the part's figure 'pin_limit'; 'benchproof parts TYPE' names its source and "
     "mark; the 80 %: common practice, no source (practice)",
     "an absolute rating: beyond it the pin's transistors wear out or fail",
     "draw less from it, or let it switch a transistor"},
    {"controller-clamp", "current through a pin's clamp diodes",
     "current into a pin above vdd, or out of one below vss: caution from 0.1 mA, "
     "fault above 'clamp_limit' or where it wakes a chip that has no supply",
     "the part's figure 'clamp_limit'; 'benchproof parts TYPE' names its source and "
     "mark; the 0.1 mA: common practice, no source (practice)",
     "such current feeds a chip that is off through its pin: it half runs, and can "
     "latch up",
     "keep the pin low while the chip is off, or put a larger resistor before it"},
    {"controller-level", "an input between low and high",
     "V(pin) below 0.3 or above 0.7 of V(vdd) - V(vss)",
     "common practice, no source (practice)",
     "between the two levels the chip may read either, and its input stage draws "
     "current",
     "pull the input up or down harder; one that measures a voltage belongs into the "
     "list 'analogue'"},
    {"controller-total", "what all outputs together carry",
     "the sum of the currents sourced, or of those sunk, <= 'total_limit'",
     "the part's figure 'total_limit'; 'benchproof parts TYPE' names its source and "
     "mark",
     "the chip's supply wires inside are made for no more",
     "let transistors switch some of its loads"},
    {"controller-total-strong",
     "what all outputs carry with pins as strong as most are",
     "as for controller-total, with 25 ohm between each pin and its rail",
     "the part's figure 'total_limit'; 'benchproof parts TYPE' names its source and "
     "mark; 25 ohm: common practice, no source (practice)",
     "the figures of pins are those of the weakest published ones: another copy drives "
     "more",
     "larger resistors, or let transistors switch some of its loads"},
    {"controller-power", "a chip's heat", "P <= 'power'",
     "the part's figure 'power'; 'benchproof parts TYPE' names its source and mark",
     "more heat than its case gives off", "draw less from its pins"},
};

/// Current through a pin's clamp below which a chip is not meant to notice. Common
/// practice, no source.
constexpr double kClampNothing = 0.1e-3;
/// What clamp diodes bear where no figure is published. Common practice, no source.
constexpr double kClampMost = 10e-3;

double supply_volts(const CheckInput& input, const Observation& seen, int index) {
  return volts_between(input, seen, index, kVdd, kVss);
}

std::optional<Finding> check_reversed(const CheckInput& input, int index,
                                      const Rating& rating) {
  const auto found = told_standing(input, index, rating);
  if (!found) return std::nullopt;
  Finding finding = about_rating(input, index, rating, *found);
  finding.message = fmt::format(
      "the supply of '{}' is the wrong way round: vdd lies {} below vss, which "
      "destroys it; swap the two",
      finding.part, short_text(found->value.value, Unit::volt));
  return finding;
}

/// Current that flows into a pin through its upper clamp diode. Ampere.
double fed_amps(const CheckInput& input, const Observation& seen, int index, int pin) {
  const bool is_above = volts_between(input, seen, index, pin, kVdd) > 0.0;
  return is_above ? std::max(pin_amps(seen, index, pin), 0.0) : 0.0;
}

/// Whether a chip has no supply of its own in a phase, but is half awake: what flows in
/// through its pins lifts vdd to a voltage that counts as on and is not enough.
bool is_back_fed(const CheckInput& input, const Observation& seen, int index) {
  const Part& chip = input.parts[index];
  const auto brownout = figure(chip, "brownout");
  const double volts = supply_volts(input, seen, index);
  if (!brownout || volts < kControllerOffVolts || !exceeds(brownout->value, volts))
    return false;
  if (pin_amps(seen, index, kVdd) > kClampNothing) return false;
  double fed = 0.0;
  for (int pin = kFirstPin; pin < static_cast<int>(chip.pins.size()); ++pin)
    fed += fed_amps(input, seen, index, pin);
  return fed > kClampNothing;
}

bool is_back_fed(const CheckInput& input, int index) {
  return std::any_of(
      input.phases.begin(), input.phases.end(),
      [&](const SeenPhase& phase) { return is_back_fed(input, phase.seen, index); });
}

std::optional<Finding> check_brownout(const CheckInput& input, int index,
                                      const Rating& rating) {
  const auto found = told_standing(input, index, rating);
  if (!found) return std::nullopt;
  const bool is_fed = is_back_fed(input, index);
  Finding finding = about_rating(input, index, rating, *found);
  const auto [is, must] =
      two_texts(found->value.value, found->limit.value, found->limit.unit);
  finding.message =
      fmt::format("'{}' gets {}{}, below the {} it needs to run{}{}", finding.part, is,
                  is_fed ? " through its own pins alone" : "", must, is_fed ? "" : "; ",
                  is_fed ? "" : rating.rest.advice);
  if (is_fed) finding.follows = CheckId(kAboutController, "controller-clamp");
  return finding;
}

std::optional<Finding> check_pin(const CheckInput& input, int index, int pin,
                                 const Rating& rating) {
  const Part& chip = input.parts[index];
  const auto found = told_standing(input, index, rating, pin);
  if (!found) return std::nullopt;
  Finding finding = about_rating(input, index, rating, *found);
  const std::string name = fmt::format("{}.{}", chip.name, chip.pins[pin]);
  const Figure& limit = found->limit;
  const double amps = found->value.value;
  if (finding.severity == Severity::fault) {
    finding.message = fmt::format(
        "{}; {}", past_text(amps, limit, rating.rest.words, name), rating.rest.advice);
    return finding;
  }
  const double share = caution_share(rating, chip);
  Figure usual = limit;
  usual.value *= share;
  usual.mark = Mark::practice;
  usual.source = fmt::format("common practice: {} of the limit of {}",
                             short_text(share, Unit::fraction),
                             limit.source.empty() ? "common practice" : limit.source);
  set_limit(finding, rating.quantity, amps, usual);
  finding.message = fmt::format(
      "'{}' carries {}, {} of its {} limit, which is an absolute one; keep to {}", name,
      short_text(amps, Unit::ampere), short_text(amps / limit.value, Unit::fraction, 2),
      short_text(limit.value, Unit::ampere), short_text(usual.value, Unit::ampere));
  return finding;
}

/// Current that flows into a pin above vdd, or out of one below vss: it goes through
/// the pin's clamp diodes and can supply a chip that is switched off.
std::optional<Finding> check_clamps(const CheckInput& input, int index, int pin,
                                    const Rating& rating) {
  const Part& chip = input.parts[index];
  Peak clamped = *measured(input, index, rating, pin);
  // What drives the pin may be stronger than it is taken to be.
  for (const SeenPhase& phase : input.phases) {
    const double strong = phase.strong != nullptr
                              ? value_in(input, *phase.strong, index, rating, pin)
                              : 0.0;
    if (strong > clamped.value) clamped = {strong, phase.phase.name};
  }
  if (clamped.value < kClampNothing) return std::nullopt;
  auto limit = limit_of(rating, chip, input.circuit.ambient);
  if (!limit)
    limit = practice(kClampMost, Unit::ampere, "what a pin's clamp diodes bear");
  const bool is_over = exceeds(clamped.value, limit->value);
  const Peak fed = highest(input, [&](const Observation& seen) {
    return fed_amps(input, seen, index, pin);
  });
  const bool is_waking = fed.value > kClampNothing && is_back_fed(input, index);
  Finding finding = about_part(
      input, index, is_over || is_waking ? Severity::fault : Severity::caution,
      CheckId(kAboutController, "controller-clamp"));
  set_limit(finding, rating.quantity, clamped.value,
            is_over ? *limit
                    : practice(kClampNothing, Unit::ampere,
                               "no current through a pin's clamp diodes"));
  finding.phase = clamped.phase;
  const std::string name = fmt::format("{}.{}", chip.name, chip.pins[pin]);
  if (is_over) {
    finding.message =
        fmt::format("{}; {}", past_text(clamped.value, *limit, rating.rest.words, name),
                    rating.rest.advice);
    return finding;
  }
  const std::string amps = short_text(clamped.value, Unit::ampere);
  finding.message = is_waking
                        ? fmt::format(
                              "'{}' has no supply, but is fed through '{}': {} through "
                              "that pin's clamp diode half wakes it; keep the pin low "
                              "while it is off, or put a larger resistor before it",
                              chip.name, name, amps)
                        : fmt::format(
                              "{} flows through the clamp diodes of '{}', which lies "
                              "outside its chip's supply: put a larger resistor before "
                              "the pin, or lower what drives it",
                              amps, name);
  return finding;
}

/// A listening input between the levels that count as low and as high.
std::optional<Finding> check_level(const CheckInput& input, int index, int pin) {
  const Part& chip = input.parts[index];
  if (is_output_pin(chip, pin) || is_analogue_pin(chip, pin) || chip.nets[pin] < 0)
    return std::nullopt;
  for (const SeenPhase& phase : input.phases) {
    const double supply = supply_volts(input, phase.seen, index);
    if (supply < kControllerOffVolts) continue;
    const double share = volts_between(input, phase.seen, index, pin, kVss) / supply;
    if (share < kLowShare || share > kHighShare) continue;
    Finding finding = about_part(input, index, Severity::caution,
                                 CheckId(kAboutController, "controller-level"));
    set_limit(finding, "voltage", share * supply,
              practice(kHighShare * supply, Unit::volt,
                       "a level is low below 30 % and high above 70 % of the supply"));
    finding.bound = Bound::lower;
    finding.phase = phase.phase.name;
    finding.message = fmt::format(
        "input '{}.{}' lies at {}, neither low (below {}) nor high (above {})",
        chip.name, chip.pins[pin], short_text(share * supply, Unit::volt),
        short_text(kLowShare * supply, Unit::volt),
        short_text(kHighShare * supply, Unit::volt));
    return finding;
  }
  return std::nullopt;
}

void check_pins(const CheckInput& input, int index, const Rating& rating,
                std::vector<Finding>& findings) {
  const Part& chip = input.parts[index];
  const Rating& clamp =
      rating_at_rest(chip.kind, CheckId(kAboutController, "controller-clamp"));
  for (int pin = kFirstPin; pin < static_cast<int>(chip.pins.size()); ++pin) {
    if (is_output_pin(chip, pin))
      append(findings, check_pin(input, index, pin, rating));
    append(findings, check_clamps(input, index, pin, clamp));
    append(findings, check_level(input, index, pin));
  }
}

/// Whether a strong pin alone passes its limit in a phase: that is told of the pin.
bool has_strained_pin(const CheckInput& input, const Observation& strong, int index) {
  const Part& chip = input.parts[index];
  const Rating& rating =
      rating_at_rest(chip.kind, CheckId(kAboutController, "controller-pin"));
  const auto limit = limit_of(rating, chip, input.circuit.ambient);
  for (int pin = kFirstPin; limit && pin < static_cast<int>(chip.pins.size()); ++pin) {
    if (is_output_pin(chip, pin) &&
        exceeds(value_in(input, strong, index, rating, pin), limit->value))
      return true;
  }
  return false;
}

/// What all outputs carry together; where weak pins keep to the limit, with strong
/// ones.
std::optional<Finding> check_total(const CheckInput& input, int index,
                                   const Rating& rating) {
  if (auto found = over_rating(input, index, rating)) return found;
  const Part& chip = input.parts[index];
  const auto limit = limit_of(rating, chip, input.circuit.ambient);
  Peak total;
  for (const SeenPhase& phase : input.phases) {
    if (phase.strong == nullptr || has_strained_pin(input, *phase.strong, index))
      continue;
    const double amps =
        value_in(input, *phase.strong, index, rating, rating.measure.pin);
    if (amps > total.value) total = {amps, phase.phase.name};
  }
  if (!limit || !exceeds(total.value, limit->value)) return std::nullopt;
  Finding finding = about_part(input, index, Severity::caution,
                               CheckId(kAboutController, "controller-total-strong"));
  set_limit(finding, rating.quantity, total.value, *limit);
  finding.phase = total.phase;
  finding.message = fmt::format(
      "{} where its pins are as strong as most are; use larger resistors, or {}",
      past_text(total.value, *limit, rating.rest.words, chip.name), rating.rest.advice);
  return finding;
}

// Clamps are told with each pin.
constexpr Special kControllerSpecials[] = {
    {CheckId(kAboutController, "controller-reversed"), check_reversed},
    {CheckId(kAboutController, "controller-brownout"), check_brownout},
    {CheckId(kAboutController, "controller-pin"), nullptr, check_pins},
    {CheckId(kAboutController, "controller-clamp")},
    {CheckId(kAboutController, "controller-total"), check_total}};

}  // namespace

std::vector<Finding> check_controller(const CheckInput& input) {
  std::vector<Finding> findings;
  for_parts(input, KindId::controller, [&](int index, const Part&) {
    tell_ratings(input, index, findings, kControllerSpecials);
  });
  return findings;
}

std::span<const Explanation> explain_controller() { return kAboutController; }

}  // namespace benchproof
