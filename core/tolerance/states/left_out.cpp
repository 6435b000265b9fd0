#include "core/tolerance/states/left_out.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <deque>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/nine_digits.h"
#include "core/check/expect/expectations.h"
#include "core/check/finding/wording.h"
#include "core/network/slots.h"
#include "core/tolerance/states/copied_state.h"
#include "core/verify/explanations.h"

namespace benchproof {
namespace {

using Places = std::vector<double>;

/// A corner at which a gauge ought to be past its limit.
struct Suspect {
  std::size_t gauge = 0;
  bool is_upper = true;
  double share = 0.0;  ///< By how much of its limit, by the slopes.
  Places places;
  std::vector<std::size_t> movers;  ///< A spread of each draw, the strongest first.
};

/// The upper limit that a caution is for: a rating of which only so many times it are a
/// fault (the top of a chip's range) has it lower than the gauge.
std::optional<double> upper_at_caution(const Gauge& gauge,
                                       const std::vector<Part>& parts) {
  if (gauge.rating == nullptr || !gauge.upper) return gauge.upper;
  const Part& part = parts[static_cast<std::size_t>(gauge.part)];
  const double times = fault_times(*gauge.rating, part);
  const bool is_lower = times > 1.0 && caution_share(*gauge.rating, part) <= 1.0;
  return is_lower ? *gauge.upper / times : *gauge.upper;
}

bool fails_at_caution(const Gauge& gauge, const std::vector<Part>& parts,
                      double value) {
  return fails(gauge, gauge.lower, upper_at_caution(gauge, parts), value);
}

/// Each draw of a state alone at both of its ends: lowered there, which for two places
/// is less work than to find out how everything moves.
class AloneAtEnds {
 public:
  /// `result` is what was found of the state as described.
  AloneAtEnds(const GaugedState& state, const StateResult& result)
      : state_(state),
        nominal_(nominal_places(state.spreads())),
        lowering_(state.spreads(), state.posed()),
        measurer_(
            state,
            [this](std::size_t k, const double*, std::size_t phase, Network& network) {
              network = points_[k].networks[phase];
            },
            nodal_solutions(result)) {
    for (std::vector<std::size_t>& draw : by_draw(state.spreads())) {
      add(std::move(draw));
      if (points_.size() >= kMostPoints) measure();
    }
    measure();
  }

  /// Gauges that are past a limit at the corner of their slopes.
  [[nodiscard]] std::vector<Suspect> suspects() const {
    std::vector<Suspect> list;
    for (std::size_t g = 0; g < state_.gauges().size(); ++g) {
      const Gauge& gauge = state_.gauges()[g];
      if (const auto upper = upper_at_caution(gauge, state_.posed().parts()))
        add(g, true, *upper, list);
      if (gauge.lower) add(g, false, *gauge.lower, list);
    }
    return list;
  }

 private:
  static constexpr std::size_t kMostPoints = 64;  ///< Kept at a time.

  static std::vector<const Solution*> nodal_solutions(const StateResult& result) {
    std::vector<const Solution*> solutions;
    for (const PhaseResult& phase : result.phases) solutions.push_back(&phase.nodal);
    return solutions;
  }

  struct Point {
    Places places;
    std::vector<Network> networks;
  };

  /// Adds both ends of a draw, if they move anything.
  void add(std::vector<std::size_t> draw) {
    std::array<Point, 2> ends;
    bool moves = false;
    for (const std::size_t end : {0U, 1U}) {
      ends[end].places = nominal_;
      for (const std::size_t k : draw) ends[end].places[k] = static_cast<double>(end);
      ends[end].networks = lowering_.at(draw, ends[end].places.data());
      if (ends[end].networks.empty()) return;
      moves = moves || differs(ends[end].networks);
    }
    if (!moves) return;
    draws_.push_back(std::move(draw));
    for (Point& end : ends) points_.push_back(std::move(end));
  }

  [[nodiscard]] bool differs(const std::vector<Network>& networks) const {
    bool is_same = true;
    for (std::size_t k = 0; k < networks.size(); ++k) {
      const Network& posed = state_.posed().phases()[k].network;
      is_same = is_same && networks[k].celsius == posed.celsius;
      for_slots(
          networks[k].values, posed.values,
          [&is_same](const Slot&, double a, double b) { is_same = is_same && a == b; });
    }
    return !is_same;
  }

  void measure() {
    measurer_.measure(
        0, points_.size(),
        [this](std::size_t k, double* places) {
          std::copy(points_[k].places.begin(), points_[k].places.end(), places);
        },
        [this](const Measurer::Copy& copy) { alone_.push_back(copy.values); });
    points_.clear();
  }

  /// Whether all comes of one number: by how much a label may be off is what the times
  /// of a rating leave room for.
  static bool is_of_one(const std::vector<std::pair<double, std::size_t>>& movers) {
    constexpr double kLittle = 0.01;
    double all = 0.0;
    double most = 0.0;
    for (const auto& [moves, spread] : movers) {
      all += moves;
      most = std::max(most, moves);
    }
    return most >= (1.0 - kLittle) * all;
  }

  void add(std::size_t gauge, bool is_upper, double limit,
           std::vector<Suspect>& list) const {
    const double sign = is_upper ? 1.0 : -1.0;
    const double now = state_.nominal()[gauge];
    // By how much the ends of a draw bring it nearer to the limit.
    const auto moves = [&](std::size_t m) {
      return std::pair(sign * (alone_[2 * m][gauge] - now),
                       sign * (alone_[2 * m + 1][gauge] - now));
    };
    double there = sign * now;
    for (std::size_t m = 0; m < draws_.size(); ++m) {
      const auto [low, high] = moves(m);
      const double most = std::max(low, high);
      if (most > 0.0) there += most;
    }
    const double size = limit != 0.0 ? std::abs(limit) : 1.0;
    const double share = (there - sign * limit) / size;
    if (!(share > 0.0)) return;
    Suspect suspect{gauge, is_upper, share, nominal_, {}};
    std::vector<std::pair<double, std::size_t>> movers;
    for (std::size_t m = 0; m < draws_.size(); ++m) {
      const auto [low, high] = moves(m);
      const double most = std::max(low, high);
      if (!(most > 0.0)) continue;
      for (const std::size_t k : draws_[m]) suspect.places[k] = low > high ? 0.0 : 1.0;
      movers.emplace_back(most, draws_[m].front());
    }
    const auto own = is_upper ? state_.gauges()[gauge].upper : std::nullopt;
    if (own && is_of_one(movers) && !exceeds(there, *own)) return;
    std::stable_sort(movers.begin(), movers.end(), [](const auto& a, const auto& b) {
      return nine_digits(a.first) > nine_digits(b.first);
    });
    for (const auto& mover : movers) suspect.movers.push_back(mover.second);
    list.push_back(std::move(suspect));
  }

  const GaugedState& state_;
  Places nominal_;
  Lowering lowering_;
  std::vector<Point> points_;
  Measurer measurer_;
  std::vector<std::vector<std::size_t>> draws_;  ///< Those that move anything.
  std::vector<std::vector<double>> alone_;       ///< Two a draw.
};

/// Whether a finding of the state speaks of the same part or net already.
bool is_told(const Circuit& circuit, const StateResult& state, const Gauge& gauge) {
  const std::string part =
      gauge.part < 0 ? "" : circuit.parts[static_cast<std::size_t>(gauge.part)].name;
  const std::string net =
      gauge.net < 0 ? "" : circuit.nets[static_cast<std::size_t>(gauge.net)].name;
  return std::any_of(
      state.findings.begin(), state.findings.end(), [&](const Finding& f) {
        return f.severity >= Severity::caution &&
               ((!part.empty() && f.part == part) || (!net.empty() && f.net == net));
      });
}

std::string subject(const Circuit& circuit, const Gauge& gauge) {
  if (gauge.expectation != nullptr) return subject_of(circuit, *gauge.expectation);
  const Part& part = circuit.parts[static_cast<std::size_t>(gauge.part)];
  return gauge.pin < 0 ? fmt::format("'{}'", part.name)
                       : fmt::format("'{}.{}'", part.name,
                                     part.pins[static_cast<std::size_t>(gauge.pin)]);
}

/// "its gate-source voltage rating allows"
std::string allowing(const Gauge& gauge) {
  const std::string_view words = gauge.rating->rest.words;
  return fmt::format("its {} allows", words.empty() ? "rating" : words);
}

/// "'quay1.forward' at 3.4 V": what makes the corner, the strongest first.
std::string corner_text(const GaugedState& state, const Suspect& suspect) {
  constexpr std::size_t kMost = 3;
  std::vector<std::string> list;
  for (const std::size_t k : suspect.movers) {
    if (list.size() == kMost) break;
    const Spread& spread = state.spreads()[k];
    list.push_back(fmt::format(
        "'{}' at {}", spread.target,
        short_text(value_at(spread, state.posed().parts(), suspect.places[k]),
                   spread.unit)));
  }
  return fmt::format("{}", fmt::join(list, ", "));
}

/// What both witnesses see at a corner; nothing where they do not agree on it.
std::optional<double> confirmed(const GaugedState& state, const Suspect& suspect,
                                const Solve& engine, const Solve& nodal) {
  const double* places = suspect.places.data();
  const std::vector<Network> networks =
      networks_at(state.spreads(), places, state.posed());
  if (networks.empty()) return std::nullopt;
  const SeenByBoth seen = seen_by_both(state, networks, engine, nodal);
  if (!seen.agrees) return std::nullopt;
  return values_at(state, places, seen.nodal)[suspect.gauge];
}

Finding caution(const GaugedState& state, const Suspect& suspect, double value,
                std::size_t others) {
  const Circuit& circuit = state.posed().circuit();
  const Gauge& gauge = state.gauges()[suspect.gauge];
  Finding finding;
  finding.severity = Severity::caution;
  finding.check = check_id("spread-worst");
  if (gauge.part >= 0) {
    const Part& part = circuit.parts[static_cast<std::size_t>(gauge.part)];
    finding.part = part.name;
    finding.span = part.span;
  } else {
    const Net& net = circuit.nets[static_cast<std::size_t>(gauge.net)];
    finding.net = net.name;
    finding.span = net.span;
  }
  finding.bound = suspect.is_upper ? Bound::upper : Bound::lower;
  const double limit =
      suspect.is_upper ? *upper_at_caution(gauge, state.posed().parts()) : *gauge.lower;
  set_limit(finding, gauge.quantity, value,
            practice(limit, gauge.unit, "the worst that copies can come to"));
  const auto [is, may] = two_texts(value, limit, gauge.unit);
  finding.message = fmt::format(
      "in the worst copy the {} of {} is {}, {} the {} that {}: {}{}; 'benchproof "
      "tolerance' tells how many copies work",
      gauge.quantity, subject(circuit, gauge), is, suspect.is_upper ? "above" : "below",
      may, gauge.expectation != nullptr ? "is expected" : allowing(gauge),
      corner_text(state, suspect),
      others == 0 ? ""
      : others == 1
          ? "; another figure fails in its worst copy, too"
          : fmt::format("; {} other figures fail in their worst copies, too", others));
  return finding;
}

}  // namespace

std::optional<std::pair<std::size_t, Finding>> check_left_out(
    const Circuit& circuit, const Verification& verification, const Solve& engine,
    const Solve& nodal) {
  const std::vector<Spread> spreads = spreads_of(circuit);
  std::deque<PosedState> posed;
  std::deque<GaugedState> states;
  struct Found {
    std::size_t state;
    const GaugedState* copied;
    Suspect suspect;
  };
  std::vector<Found> found;
  for (std::size_t k = 0; k < verification.states.size(); ++k) {
    const StateResult& result = verification.states[k];
    if (!result.agrees || verdict_of(result.findings) == Verdict::fault) continue;
    posed.emplace_back(circuit, state_of(circuit, result),
                       posed.empty() ? nullptr : posed.back().structure());
    // What has no limit, is past it as described, or is told of already needs no copy.
    states.emplace_back(posed.back(), spreads, seen_by_nodal(result),
                        [&](const Gauge& gauge, double nominal) {
                          return (gauge.upper || gauge.lower) &&
                                 !fails_at_caution(gauge, result.parts, nominal) &&
                                 !is_told(circuit, result, gauge);
                        });
    if (states.back().gauges().empty()) continue;
    for (Suspect& suspect : AloneAtEnds(states.back(), result).suspects())
      found.push_back({k, &states.back(), std::move(suspect)});
  }
  std::stable_sort(found.begin(), found.end(), [](const Found& a, const Found& b) {
    // Of equal parts the first is told, whatever the last digits are.
    constexpr double kSame = 1e-6;
    return std::round(a.suspect.share / kSame) > std::round(b.suspect.share / kSame);
  });
  for (const Found& worst : found) {
    const auto value = confirmed(*worst.copied, worst.suspect, engine, nodal);
    const Gauge& gauge = worst.copied->gauges()[worst.suspect.gauge];
    if (value && fails_at_caution(gauge, worst.copied->posed().parts(), *value))
      return std::pair(worst.state,
                       caution(*worst.copied, worst.suspect, *value, found.size() - 1));
  }
  return std::nullopt;
}

void add_left_out(const Circuit& circuit, const Solve& engine, const Solve& nodal,
                  Verification& verification) {
  auto found = check_left_out(circuit, verification, engine, nodal);
  if (!found) return;
  StateResult& state = verification.states[found->first];
  state.findings.push_back(std::move(found->second));
  sort_by_severity(state.findings);
  state.verdict = std::max(state.verdict, Verdict::caution);
  verification.verdict = std::max(verification.verdict, Verdict::caution);
}

}  // namespace benchproof
