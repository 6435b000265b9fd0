#include "core/check/time/run_supply.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <string>

#include "core/check/rest/limits.h"
#include "core/check/time/run_watch.h"
#include "core/circuit/topology.h"
#include "core/network/plan.h"

namespace benchproof {
namespace {

constexpr int kPlus = 0, kMinus = 1;
constexpr double kSoon = 1.0;          ///< Heats nothing. Second.
constexpr double kRidesThrough = 0.1;  ///< Before it switches off. Second.
constexpr double kUpShare = 0.9;

/// A supply at its limit.
struct Limited {
  double seconds = 0.0;  ///< At the limit, all together.
  double longest = 0.0;  ///< In one piece. Second.
  double from = 0.0;     ///< Of the longest. Second.
  bool is_at_end = false;
  double lowest = 0.0;  ///< Of its voltage meanwhile, once it had begun to rise. Volt.
  bool is_up = false;   ///< At the end.
};

std::optional<Limited> limited(const RunInput& input, const Part& supply,
                               const Trace& amps, const Trace& volts) {
  const std::optional<double> limit = supply_limit(supply);
  if (!limit) return std::nullopt;
  constexpr double kAlmost = 0.999;
  const Stretch whole = input.seen.whole();
  const auto stretches = beyond(amps, kAlmost * *limit, true, whole);
  if (stretches.empty()) return std::nullopt;
  Limited result;
  for (const Stretch& s : stretches) {
    result.seconds += s.length();
    if (s.length() < result.longest) continue;
    result.longest = s.length();
    result.from = s.from;
    result.lowest = extremes(volts, s).lowest;
  }
  result.is_at_end = stretches.back().to >= whole.to;
  result.is_up = volts.values.back() >= kUpShare * figure(supply, "voltage")->value;
  return result;
}

Severity severity_of(const Limited& l) {
  if (!l.is_up && l.is_at_end && l.seconds >= kSoon) return Severity::fault;
  const bool rides_through = l.longest <= kRidesThrough && !l.is_at_end;
  return rides_through ? Severity::note : Severity::caution;
}

std::string limited_text(const Part& supply, const Limited& l) {
  std::string text = fmt::format(
      "'{}' is at its limit of {} for {} from {} on, and its voltage is as low as {}",
      supply.name, short_text(*supply_limit(supply), Unit::ampere), for_time(l.longest),
      for_time(l.from), short_text(l.lowest, Unit::volt));
  if (l.is_at_end)
    text += l.is_up ? "; so the run ends" : "; it has not come up when the run ends";
  if (l.longest > kRidesThrough)
    text += "; one that switches off at an overload and tries again may never come up";
  return text + "; less capacitance, or a resistor in series, eases it";
}

}  // namespace

void check_delivery(const RunInput& input, int index, const Rating& rating,
                    std::vector<Finding>& findings) {
  const Part& supply = input.parts[index];
  const auto label = limit_of(rating, supply, input.circuit.ambient);
  if (!label) return;
  const Trace amps = trace_of(input, index, rating, rating.measure.pin);
  const Extremes e = extremes(amps, input.seen.whole());
  if (!exceeds(e.highest, label->value)) return;
  const auto add = [&](Severity severity, std::string message) {
    Finding finding = about_run_rating(supply, rating, severity, e.highest, *label);
    finding.message = std::move(message);
    findings.push_back(std::move(finding));
  };
  const Trace volts = input.seen.volts(supply, kPlus, kMinus);
  if (const auto at_limit = limited(input, supply, amps, volts))
    return add(severity_of(*at_limit), limited_text(supply, *at_limit));
  const double seconds =
      total_length(beyond(amps, label->value, true, input.seen.whole()));
  const bool is_ideal = supply.kind == KindId::dc_supply &&
                        flag(supply, "regulated", true) && !supply_limit(supply);
  const bool is_note =
      supply.kind == KindId::dc_supply && !is_ideal && seconds <= kSoon;
  add(is_note ? Severity::note : Severity::caution,
      fmt::format("'{}' gives up to {} at {}, above its {} for {}{}; less capacitance, "
                  "or a resistor in series, eases it",
                  supply.name, short_text(e.highest, Unit::ampere),
                  for_time(e.highest_at), short_text(label->value, Unit::ampere),
                  for_time(seconds),
                  is_ideal ? ": it is told to have no limit, as a real one has" : ""));
}

std::span<const Explanation> explain_run_supply() { return {&kInrush, 1}; }

}  // namespace benchproof
