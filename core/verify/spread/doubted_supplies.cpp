#include "core/verify/spread/doubted_supplies.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <optional>
#include <string>

#include "core/check/finding/explanation.h"
#include "core/check/finding/wording.h"
#include "core/check/rest/limits.h"
#include "core/check/rest/over_states.h"
#include "core/verify/seen/at_rest.h"
#include "core/verify/seen/brought.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutDoubtedSupplies[] = {
    {"supply-unregulated",
     "a supply that does not say whether it is regulated, where that matters",
     "each state is solved again with an unregulated supply of the same print: 17/12 "
     "of its 'voltage' without load, straight down to 'voltage' at its 'current' (not "
     "told: 1 A, or what it delivers where that is more); a caution where this brings "
     "a fault or caution that the state as described does not have",
     "17 V without load where 12 V are printed: common practice, no source (practice)",
     "simple wall supplies do not hold their voltage, and are sold with the same print "
     "on them: while little is drawn regulators get too hot, LEDs and coils too much, "
     "and capacitors pass their rated voltage",
     "look at the label, or measure the supply without load: if it is regulated, say "
     "'regulated = true'; if not, 'regulated = false' with 'no_load', and mend what is "
     "found then"},
};

bool is_doubted(const Part& part) {
  return part.kind == KindId::dc_supply && !part.settings.contains("regulated");
}

/// Whether a state is told to be shorted, which stands in place of what else would be
/// found (see tell_short): nothing that is found otherwise is news.
bool is_shorted(const StateResult& state) {
  return std::any_of(state.findings.begin(), state.findings.end(),
                     [](const Finding& f) { return f.check == "current-unlimited"; });
}

/// The most that a supply delivers in any state as described. Ampere.
double most_delivered(const std::vector<StateResult>& states, int supply) {
  double most = 0.0;
  for (const StateResult& state : states) {
    if (!state.agrees) continue;
    for (const PhaseResult& phase : state.phases)
      most = std::max(most, -pin_amps(phase.nodal_seen, supply, 0));
  }
  return most;
}

/// The circuit with a supply described as unregulated.
Circuit with_unregulated(const Circuit& circuit, int supply, double amps) {
  Circuit changed = circuit;
  Part& part = changed.parts[supply];
  const auto put = [&part](const char* key, Setting::Value value) {
    part.settings[key] = {std::move(value), part.span};
  };
  put("regulated", false);
  put("no_load", kNoLoadTimes * number_of(part, "voltage").value_or(0.0));
  if (!part.settings.contains("current")) put("current", amps);
  return changed;
}

/// A finding about a doubted supply, without value and message.
Finding about(const Part& supply) {
  Finding finding = about(supply, Severity::caution,
                          CheckId(kAboutDoubtedSupplies, "supply-unregulated"));
  finding.source = source_of(practice(
      0.0, Unit::volt, "an unregulated supply of 12 V stands at 17 V without load"));
  return finding;
}

/// One supply, asked about in every state.
class Doubt {
 public:
  Doubt(const Circuit& circuit, const std::vector<StateResult>& states, int supply)
      : states_(states),
        supply_(supply),
        is_rated_(circuit.parts[supply].settings.contains("current")),
        changed_(with_unregulated(
            circuit, supply,
            std::max(kUsualSupplyAmps, most_delivered(states, supply)))) {}

  void ask(const Solve& nodal) {
    std::shared_ptr<const Structure> structure;
    for (std::size_t k = 0; k < states_.size(); ++k) {
      seen_.emplace_back();
      const StateResult& now = states_[k];
      if (!now.agrees || is_shorted(now) || !is_doubted(now.parts[supply_])) continue;
      const PosedState posed(changed_, state_of(changed_, now), structure);
      structure = posed.structure();
      Sight sight = sight_of(posed, nodal, PinsRead::strong);
      if (!sight.seen) continue;
      const CheckInput input = check_input(posed, *sight.seen);
      for (Finding& f : brought(judge_at_rest(input, input).findings, now.findings))
        take(k, std::move(f));
      seen_.back() = std::move(sight.seen->phases);
    }
  }

  /// Takes what only all states together tell.
  void look_over_states() {
    std::vector<std::vector<const Observation*>> all;
    for (const std::vector<Observation>& state : seen_) {
      if (state.empty()) return;
      all.emplace_back();
      for (const Observation& phase : state) all.back().push_back(&phase);
    }
    std::vector<Finding> now;
    for (const StateResult& state : states_)
      now.insert(now.end(), state.findings.begin(), state.findings.end());
    for (auto& [index, finding] : check_over_states(changed_, all)) {
      for (Finding& f : brought({std::move(finding)}, now)) take(index, std::move(f));
    }
  }

  [[nodiscard]] std::optional<std::pair<std::size_t, Finding>> caution() const {
    if (!worst_) return std::nullopt;
    Finding finding = about(changed_.parts[supply_]);
    const StateResult& state = states_[worst_->state];
    const Part part = part_in(changed_, state_of(changed_, state), supply_);
    const auto volts = [&part](const char* key) {
      return short_text(number_of(part, key).value_or(0.0), Unit::volt);
    };
    finding.quantity = "voltage";
    finding.unit = Unit::volt;
    finding.value = most_volts(worst_->state);
    const Finding& worst = worst_->finding;
    finding.message = fmt::format(
        "'{}' does not say whether it is regulated: an unregulated one of the same "
        "print gives up to {} in place of {}, and would bring a {} in state '{}' ({}); "
        "say regulated = true if it is; else look at its label or measure it without "
        "load, and say regulated = false and no_load",
        part.name, volts("no_load"), volts("voltage"),
        worst.severity == Severity::fault ? "fault" : "caution", state.name,
        worst.message);
    return std::pair{worst_->state, std::move(finding)};
  }

 private:
  void take(std::size_t state, Finding finding) {
    // Of a current that nobody told nothing is known.
    const bool is_own = finding.part == changed_.parts[supply_].name;
    if (is_own && finding.check == "supply-current" && !is_rated_) return;
    Brought change{state, std::move(finding)};
    if (!worst_ || is_worse(change, *worst_)) worst_ = std::move(change);
  }

  /// The highest voltage of the supply in a state that was seen.
  [[nodiscard]] double most_volts(std::size_t state) const {
    const std::vector<int>& nets = changed_.parts[supply_].nets;
    double most = -HUGE_VAL;
    for (const Observation& phase : seen_[state])
      most = std::max(most, phase.net_volts[nets[0]] - phase.net_volts[nets[1]]);
    return most;
  }

  const std::vector<StateResult>& states_;
  int supply_;
  bool is_rated_;
  Circuit changed_;
  /// The phases of each state; empty where it was not asked or has no answer.
  std::vector<std::vector<Observation>> seen_;
  std::optional<Brought> worst_;
};

/// That none of these supplies was asked about, in the first state with findings.
std::vector<std::pair<std::size_t, Finding>> too_many_doubted(
    const Circuit& circuit, const std::vector<StateResult>& states,
    const std::vector<int>& supplies) {
  for (std::size_t k = 0; k < states.size(); ++k) {
    if (!states[k].agrees) continue;
    Finding finding = about(circuit.parts[supplies.front()]);
    finding.message = fmt::format(
        "'{}' does not say whether it is regulated, and {} such supplies are too many "
        "to ask what each would bring if it were not; say regulated = true, or "
        "regulated = false and no_load",
        finding.part, supplies.size());
    return {{k, std::move(finding)}};
  }
  return {};
}

}  // namespace

std::vector<std::pair<std::size_t, Finding>> check_doubted_supplies(
    const Circuit& circuit, const std::vector<StateResult>& states, bool all,
    const Solve& nodal) {
  std::vector<int> supplies;
  for (int k = 0; k < static_cast<int>(circuit.parts.size()); ++k) {
    const Part& part = circuit.parts[k];
    if (is_doubted(part) && part.nets[0] >= 0 && part.nets[1] >= 0)
      supplies.push_back(k);
  }
  if (supplies.size() * figure_count(circuit) > kMostDoubtedFigures)
    return too_many_doubted(circuit, states, supplies);
  std::vector<std::pair<std::size_t, Finding>> findings;
  for (const int supply : supplies) {
    Doubt doubt(circuit, states, supply);
    doubt.ask(nodal);
    if (all) doubt.look_over_states();
    if (auto caution = doubt.caution()) findings.push_back(*std::move(caution));
  }
  return findings;
}

std::span<const Explanation> explain_doubted_supplies() {
  return kAboutDoubtedSupplies;
}

}  // namespace benchproof
