#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/base/preferred.h"
#include "core/check/rest/limits.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutCapacitor[] = {
    {"capacitor-voltage", "a capacitor's voltage",
     "highest voltage of any phase: fault above 'rated', caution above 0.8 'rated'",
     "the part's figure 'rated'; 'benchproof parts TYPE' names its source and mark; "
     "the 80 %: common practice, no source (practice)",
     "above its rating the dielectric breaks down, an electrolytic can burst; near it "
     "a supply that runs high leaves no room",
     "use one of a higher voltage rating"},
    {"capacitor-polarity", "a polarised capacitor the wrong way round",
     "V(minus) - V(plus): caution above 0.05 V, fault above 1 V; of two in series back "
     "to back the one that is in reverse conducts below 1 V, so that no caution is "
     "told",
     "common practice, no source (practice)",
     "in reverse the oxide layer dissolves: it heats, gases and can burst",
     "turn it round, or use one that is not polarised"},
    {"capacitor-series", "electrolytics in series that share a voltage by themselves",
     "the voltage across all that stand in series with it, plus to minus, with nothing "
     "else at the nets between them, at most 'rated'",
     "what they leak differs tenfold from one to the next, and the one that leaks "
     "least "
     "gets most; 10 s / C across each carries ten times 0.01 C V: common practice, no "
     "source (practice)",
     "the one that gets too much breaks down, and then the other gets all",
     "a resistor of the same value across each, or ones that bear all of it"},
    {"capacitor-life", "how long an electrolytic lasts in the heat",
     "L = 'endurance' 2^(('endurance_at' - ambient) / 10 C); without these figures "
     "2000 "
     "h at 85 C: caution below a year of running, note below three; caution where the "
     "ambient lies above 'endurance_at'",
     "twice the life for 10 C less, and what the plainest kind lasts: common practice, "
     "no source (practice)",
     "its liquid dries out: the capacitance falls, the ripple grows",
     "use one for 105 C, keep it away from hot parts, or cool the case"},
    {"capacitor-smooths", "a capacitor that evens out what PWM does",
     "more than 10 mV between the phases' voltages at a capacitor off the supply",
     "common practice, no source (practice)",
     "each phase is solved at rest, with the capacitor fully charged: in truth it "
     "smooths between them",
     "describe a run ([[runs]]): it plays the PWM out"},
};

std::optional<Finding> check_voltage(const CheckInput& input, int index,
                                     const Rating& rating) {
  const auto found = told_standing(input, index, rating);
  if (!found) return std::nullopt;
  const Part& part = input.parts[index];
  Finding finding = about_rating(input, index, rating, *found);
  if (finding.severity == Severity::fault) {
    finding.message = fmt::format(
        "{}; {}{}",
        past_text(found->value.value, found->limit, rating.rest.words, part.name),
        flag(part, "polarised", false) ? "it can burst: " : "", rating.rest.advice);
    return finding;
  }
  const double usual = caution_share(rating, part);
  const double rated = found->limit.value;
  const std::string share = short_text(usual, Unit::fraction);
  set_limit(finding, rating.quantity, found->value.value,
            practice(usual * rated, Unit::volt,
                     fmt::format("{} of a capacitor's rated voltage", share)));
  finding.message = fmt::format(
      "'{}' stands at {}, {} of its {} rated voltage; a supply that runs high leaves "
      "it no room: stay below {}",
      part.name, short_text(found->value.value, Unit::volt),
      short_text(found->value.value / rated, Unit::fraction, 2),
      short_text(rated, Unit::volt), share);
  return finding;
}

/// The supply or battery that stands the wrong way round across a capacitor's nets, or
/// has its plus at ground where the capacitor's minus is; null where there is none.
const Part* reversed_source(const CheckInput& input, const Part& capacitor) {
  for (const Part& part : input.parts) {
    if (!is_source(part.kind)) continue;
    if (part.nets[0] == capacitor.nets[1] && part.nets[0] >= 0) return &part;
  }
  return nullptr;
}

std::optional<Finding> check_polarity(const CheckInput& input, int index,
                                      const Rating& rating) {
  const auto found = told_standing(input, index, rating);
  if (!found) return std::nullopt;
  const Part& part = input.parts[index];
  const bool is_over = found->severity == Severity::fault;
  if (!is_over && is_in_series_electrolytic(input.circuit, part)) return std::nullopt;
  Finding finding = about_rating(input, index, rating, *found);
  if (!is_over)
    set_limit(finding, rating.quantity, found->value.value,
              practice(caution_share(rating, part) * found->limit.value, Unit::volt,
                       "a polarised capacitor is not reversed"));
  const Part* source = reversed_source(input, part);
  const std::string advice =
      !is_over            ? "it ages quickly: use one that is not polarised"
      : source == nullptr ? "it heats and can burst: turn it round"
                          : fmt::format(
                                "it heats and can burst: '{}' has its plus at "
                                "'{}', look whether it is the wrong way round",
                                source->name, input.circuit.nets[source->nets[0]].name);
  finding.message =
      fmt::format("'{}' is polarised and stands {} the wrong way round; {}", part.name,
                  short_text(found->value.value, Unit::volt), advice);
  return finding;
}

/// The nets outside of a row of electrolytics in series.
std::vector<int> ends_of_row(const Circuit& circuit, const Part& part) {
  std::vector<int> nets(part.nets.begin(), part.nets.end());
  std::vector<int> ends;
  for (std::size_t k = 0; k < nets.size(); ++k) {
    if (!is_between_electrolytics(circuit, nets[k])) {
      ends.push_back(nets[k]);
      continue;
    }
    for (const PinRef pin : circuit.nets[nets[k]].pins) {
      const int next = other_net(circuit.parts[pin.part], nets[k]);
      if (next >= 0 && std::find(nets.begin(), nets.end(), next) == nets.end())
        nets.push_back(next);
    }
  }
  return ends;
}

/// An electrolytic of a row that may get all of a voltage which it does not bear.
std::optional<Finding> check_series(const CheckInput& input, int index) {
  constexpr double kShareSeconds = 10.0;
  const Part& part = input.parts[index];
  const auto rated = figure(part, "rated");
  if (!rated || !is_in_series_electrolytic(input.circuit, part) ||
      is_back_to_back(input.circuit, part))
    return std::nullopt;
  const std::vector<int> ends = ends_of_row(input.circuit, part);
  if (ends.empty()) return std::nullopt;
  const auto across = [&](const Observation& seen) {
    const auto [low, high] = std::minmax_element(
        ends.begin(), ends.end(),
        [&seen](int a, int b) { return seen.net_volts[a] < seen.net_volts[b]; });
    return seen.net_volts[*high] - seen.net_volts[*low];
  };
  const Peak all = highest(input, across);
  const double own = highest(input, [&](const Observation& seen) {
                       return std::abs(volts_between(input, seen, index, 0, 1));
                     }).value;
  if (!exceeds(all.value, rated->value) || exceeds(own, rated->value))
    return std::nullopt;
  Finding finding = about_part(input, index, Severity::caution,
                               CheckId(kAboutCapacitor, "capacitor-series"));
  set_limit(finding, "voltage", all.value, *rated);
  finding.phase = all.phase;
  finding.message = fmt::format(
      "nothing but what they leak shares the {} between '{}' and what it is in series "
      "with: it may get more than its {}; put {} across each, or use ones that bear "
      "all "
      "of it",
      short_text(all.value, Unit::volt), part.name,
      short_text(rated->value, Unit::volt),
      short_text(preferred_at_least(Series::e6,
                                    kShareSeconds / number_of(part, "value").value()),
                 Unit::ohm));
  return finding;
}

/// What the plainest aluminium electrolytics last. Common practice, no source.
constexpr double kPlainHours = 2000.0;
constexpr double kPlainCelsius = 85.0;
constexpr double kHoursOfYear = 8766.0;
constexpr double kShortYears = 1.0;
constexpr double kGoodYears = 3.0;

std::optional<Finding> check_life(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  if (!flag(part, "polarised", false)) return std::nullopt;
  const auto hours = figure(part, "endurance");
  const auto at = figure(part, "endurance_at");
  const bool is_known = hours && at;
  const double most = is_known ? at->value : kPlainCelsius;
  const double ambient = input.circuit.ambient;
  const double years_at_most = (is_known ? hours->value : kPlainHours) / kHoursOfYear;
  const double years = years_at_most * std::exp2((most - ambient) / 10.0);
  const bool is_hot = exceeds(ambient, most);
  if (!is_hot && years >= kGoodYears) return std::nullopt;
  const bool is_short = is_hot || years < kShortYears;
  Finding finding =
      about_part(input, index, is_short ? Severity::caution : Severity::note,
                 CheckId(kAboutCapacitor, "capacitor-life"));
  // The ambient temperature at which it would last so long.
  const double wanted = is_short ? kShortYears : kGoodYears;
  const double cool = most - 10.0 * std::log2(wanted / years_at_most);
  set_limit(
      finding, "temperature", ambient,
      practice(is_hot ? most : cool, Unit::celsius,
               is_hot     ? "the greatest that it is made for"
               : is_short ? "a year of running; twice the life for 10 C less"
                          : "three years of running; twice the life for 10 C less"));
  finding.message = fmt::format(
      "'{}' lasts some {} years of running at {} around it{}; {}", part.name,
      short_text(years, Unit::none, 2), short_text(ambient, Unit::celsius),
      is_known ? ""
               : fmt::format(", if it is a plain one ({} h at {})",
                             short_text(kPlainHours, Unit::none, 4),
                             short_text(kPlainCelsius, Unit::celsius)),
      is_hot     ? "it is not made for such heat"
      : is_known ? "each 10 C less double that"
                 : "each 10 C less double that, and one for 105 C lasts four times as "
                   "long");
  return finding;
}

/// A capacitor off the supply whose voltage is not the same in every phase of PWM: it
/// smooths what the phases, each solved at rest, show as steps.
std::optional<Finding> check_smoothing(const CheckInput& input, int index) {
  constexpr double kSteady = 10e-3;  // Common practice, no source.
  const Part& part = input.parts[index];
  const bool is_off_supply =
      std::any_of(part.nets.begin(), part.nets.end(),
                  [&](int net) { return net >= 0 && !is_rail(input.circuit, net); });
  if (input.phases.size() < 2 || !is_off_supply) return std::nullopt;
  const auto across = [&](const Observation& seen) {
    return volts_between(input, seen, index, 0, 1);
  };
  const double most = highest(input, across).value;
  const double least =
      -highest(input, [&](const Observation& seen) { return -across(seen); }).value;
  if (!exceeds(most - least, kSteady)) return std::nullopt;
  Finding finding = about_part(input, index, Severity::note,
                               CheckId(kAboutCapacitor, "capacitor-smooths"));
  set_limit(finding, "voltage", most - least,
            practice(kSteady, Unit::volt, "the same in every phase"));
  finding.message = fmt::format(
      "solved as {} states at rest, {} apart at '{}', which will smooth them",
      input.phases.size(), short_text(most - least, Unit::volt), part.name);
  return finding;
}

constexpr Special kCapacitorSpecials[] = {
    {CheckId(kAboutCapacitor, "capacitor-voltage"), check_voltage},
    {CheckId(kAboutCapacitor, "capacitor-polarity"), check_polarity}};

}  // namespace

std::vector<Finding> check_capacitor(const CheckInput& input) {
  std::vector<Finding> findings;
  for_parts(input, KindId::capacitor, [&](int index, const Part&) {
    tell_ratings(input, index, findings, kCapacitorSpecials);
    append(findings, check_series(input, index));
    append(findings, check_life(input, index));
    append(findings, check_smoothing(input, index));
  });
  return findings;
}

std::span<const Explanation> explain_capacitor() { return kAboutCapacitor; }

}  // namespace benchproof
