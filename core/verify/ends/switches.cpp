#include "core/verify/ends/switches.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <memory>
#include <optional>
#include <string>

#include "core/check/finding/explanation.h"
#include "core/check/finding/wording.h"
#include "core/verify/seen/at_rest.h"
#include "core/verify/seen/brought.h"
#include "core/verify/seen/overloads.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutSwitches[] = {
    {"switched-otherwise", "what a switch brings that no state has in that position",
     "each state is solved and judged again with each of its closed switches open, "
     "with "
     "each of its open ones closed as well, and with all closed that harm nothing "
     "alone: "
     "where a rating is passed then and not as described, a fault if a switch is "
     "opened, "
     "a caution if one is closed. Left out are what another state has, what no state "
     "at "
     "rest closes, and two switches that share a net and are plainly one changeover: "
     "every state closes exactly one of them, or none closes both and each has others "
     "that always move with it",
     "the limit of the rating that is passed; the type's figures, whose sources and "
     "marks 'benchproof parts TYPE' names",
     "whoever uses the circuit does not know its states: buttons are pressed together, "
     "and plugs are pulled",
     "a changeover contact in place of two switches, diodes, or values that bear it; "
     "if "
     "it cannot happen, describe it as the circuit has it"},
};

bool is_closed(const State& state, int part) {
  const auto found = state.closed.find(part);
  return found != state.closed.end() && found->second;
}

bool is_same(const OutputSetting& a, const OutputSetting& b) {
  return a.level == b.level && a.duty == b.duty && a.hertz == b.hertz;
}

/// What a state's switches are changed to.
struct Change {
  bool is_opened = false;
  std::vector<int> switches;
};

/// What a change brings.
struct Harm {
  std::size_t state = 0;
  Change change;
  Finding finding;
};

class Switches {
 public:
  Switches(const Circuit& circuit, const std::vector<StateResult>& states,
           const Solve& engine, const Solve& nodal)
      : circuit_(circuit), states_(states), engine_(engine), nodal_(nodal) {
    for (int k = 0; k < static_cast<int>(circuit.parts.size()); ++k) {
      const Part& part = circuit.parts[k];
      if (part.kind == KindId::switch_ && part.nets[0] >= 0 && part.nets[1] >= 0 &&
          part.nets[0] != part.nets[1])
        switches_.push_back(k);
    }
  }

  [[nodiscard]] const std::vector<int>& all() const { return switches_; }
  /// The worst of each part.
  [[nodiscard]] const std::map<std::string, Harm>& worst() const { return worst_; }

  void look_at(std::size_t k) {
    const State& state = state_of(circuit_, states_[k]);
    std::vector<int> harmless;
    for (const int part : switches_) {
      const bool is_opened = is_closed(state, part);
      if (!is_opened && (!is_used(part) || is_other_throw(state, part))) continue;
      const bool is_harmless = !harms(k, {is_opened, {part}});
      const bool is_throw_of_one =
          std::any_of(harmless.begin(), harmless.end(),
                      [&](int other) { return is_changeover(part, other); });
      if (is_harmless && !is_opened && !is_throw_of_one) harmless.push_back(part);
    }
    if (harmless.size() > 1) harms(k, {false, harmless});
  }

 private:
  /// Whether a state has a closed switch of which an open one is the other throw.
  [[nodiscard]] bool is_other_throw(const State& state, int part) const {
    return std::any_of(switches_.begin(), switches_.end(), [&](int other) {
      return other != part && is_closed(state, other) && is_changeover(part, other);
    });
  }

  [[nodiscard]] bool is_changeover(int a, int b) const {
    const std::vector<int>& one = circuit_.parts[a].nets;
    const std::vector<int>& two = circuit_.parts[b].nets;
    if (std::find_first_of(one.begin(), one.end(), two.begin(), two.end()) == one.end())
      return false;
    const auto all = [&](auto holds) {
      return std::all_of(
          circuit_.states.begin(), circuit_.states.end(),
          [&](const State& s) { return holds(is_closed(s, a), is_closed(s, b)); });
    };
    return all([](bool x, bool y) { return x != y; }) ||
           (all([](bool x, bool y) { return !(x && y); }) && is_ganged(a) &&
            is_ganged(b));
  }

  /// Whether another switch is closed in the same states, as one handle moves both.
  [[nodiscard]] bool is_ganged(int part) const {
    return std::any_of(switches_.begin(), switches_.end(), [&](int other) {
      return other != part &&
             std::all_of(circuit_.states.begin(), circuit_.states.end(),
                         [&](const State& s) {
                           return is_closed(s, part) == is_closed(s, other);
                         });
    });
  }

  /// Whether it is ever closed for long.
  [[nodiscard]] bool is_used(int part) const {
    return std::any_of(
        circuit_.states.begin(), circuit_.states.end(),
        [part](const State& s) { return s.steady && is_closed(s, part); });
  }

  /// Whether the description has a state that is the same but for values.
  [[nodiscard]] bool is_described(const State& state) const {
    return std::any_of(
        circuit_.states.begin(), circuit_.states.end(), [&](const State& known) {
          const bool are_switches_same =
              std::all_of(switches_.begin(), switches_.end(), [&](int part) {
                return is_closed(state, part) == is_closed(known, part);
              });
          return are_switches_same && are_outputs_same(state, known);
        });
  }

  [[nodiscard]] bool are_outputs_same(const State& a, const State& b) const {
    for (const std::map<PinRef, OutputSetting>* all : {&a.outputs, &b.outputs})
      for (const auto& [pin, setting] : *all)
        if (!is_same(output(a, pin), output(b, pin))) return false;
    return true;
  }

  /// Whether a change brings anything, which is kept.
  bool harms(std::size_t k, const Change& change) {
    State state = state_of(circuit_, states_[k]);
    for (const int part : change.switches) state.closed[part] = !change.is_opened;
    if (is_described(state)) return false;
    const PosedState posed(circuit_, std::move(state), structure_);
    structure_ = posed.structure();
    std::vector<Finding> found = overloads_brought(posed, states_[k].findings, nodal_);
    std::erase_if(found, [this](const Finding& f) { return is_told(f); });
    if (found.empty() || !see_by_both(posed, engine_, nodal_).agrees) return false;
    for (Finding& finding : found) {
      if (!change.is_opened) finding.severity = Severity::caution;
      keep({k, change, std::move(finding)});
    }
    return true;
  }

  /// Whether a state as described says as much of the same part.
  [[nodiscard]] bool is_told(const Finding& finding) const {
    return std::any_of(
        states_.begin(), states_.end(), [&finding](const StateResult& state) {
          return std::any_of(state.findings.begin(), state.findings.end(),
                             [&finding](const Finding& now) {
                               return now.severity == Severity::fault &&
                                      now.part == finding.part &&
                                      now.quantity == finding.quantity;
                             });
        });
  }

  void keep(Harm harm) {
    const auto known = worst_.find(harm.finding.part);
    if (known == worst_.end())
      worst_.emplace(harm.finding.part, std::move(harm));
    else if (is_worse({0, harm.finding}, {0, known->second.finding}))
      known->second = std::move(harm);
  }

  const Circuit& circuit_;
  const std::vector<StateResult>& states_;
  const Solve& engine_;
  const Solve& nodal_;
  std::vector<int> switches_;
  std::shared_ptr<const Structure> structure_;
  std::map<std::string, Harm> worst_;
};

/// The worst first; what one change brings to several parts is told once.
std::vector<Harm> told_once(const std::map<std::string, Harm>& worst) {
  std::vector<Harm> list;
  for (const auto& [part, harm] : worst) list.push_back(harm);
  std::stable_sort(list.begin(), list.end(), [](const Harm& a, const Harm& b) {
    return is_worse({0, a.finding}, {0, b.finding});
  });
  std::vector<Harm> once;
  for (Harm& harm : list) {
    const bool is_told = std::any_of(once.begin(), once.end(), [&](const Harm& other) {
      return other.change.is_opened == harm.change.is_opened &&
             other.change.switches == harm.change.switches;
    });
    if (!is_told) once.push_back(std::move(harm));
  }
  return once;
}

Finding told_harm(const Circuit& circuit, const std::string& state, const Harm& harm) {
  std::vector<std::string> names;
  for (const int part : harm.change.switches)
    names.push_back("'" + circuit.parts[part].name + "'");
  Finding finding = harm.finding;
  finding.check = CheckId(kAboutSwitches, "switched-otherwise");
  finding.span = circuit.parts[harm.change.switches.front()].span;
  finding.message = fmt::format("with {} {}, in state '{}': {}", fmt::join(names, ", "),
                                harm.change.is_opened ? "open" : "closed as well",
                                state, harm.finding.message);
  return finding;
}

Finding too_many(const Part& first, std::size_t count) {
  Finding finding =
      about(first, Severity::note, CheckId(kAboutSwitches, "switched-otherwise"));
  finding.message = fmt::format(
      "'{}' and others are {} switches, too many to ask what each would bring in each "
      "state; look at them in descriptions of their own",
      first.name, count);
  return finding;
}

}  // namespace

std::vector<std::pair<std::size_t, Finding>> check_switches(
    const Circuit& circuit, const std::vector<StateResult>& states, const Solve& engine,
    const Solve& nodal) {
  Switches switches(circuit, states, engine, nodal);
  const std::size_t count = switches.all().size();
  const auto first = first_agreed(states);
  if (count == 0 || !first) return {};
  if (count * figure_count(circuit) > kMostSwitchFigures)
    return {{*first, too_many(circuit.parts[switches.all().front()], count)}};
  for (std::size_t k = 0; k < states.size(); ++k)
    if (states[k].agrees) switches.look_at(k);
  std::vector<std::pair<std::size_t, Finding>> findings;
  for (const Harm& harm : told_once(switches.worst()))
    findings.emplace_back(harm.state,
                          told_harm(circuit, states[harm.state].name, harm));
  return findings;
}

std::span<const Explanation> explain_switches() { return kAboutSwitches; }

}  // namespace benchproof
