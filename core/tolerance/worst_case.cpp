#include "core/tolerance/worst_case.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <utility>

#include "core/check/agree/agreement.h"

namespace benchproof {
namespace {

using Places = std::vector<double>;

/// The places of a spread that are looked at: both ends, and between them.
constexpr double kLooks[] = {0.0, 1.0, 0.25, 0.5, 0.75};
constexpr std::size_t kEnds = 2;
/// What moves a gauge by less than this share of its value does not matter.
constexpr double kMatters = 1e-9;
constexpr int kMostRounds = 8;

/// One side of a gauge: its least or its most.
struct Side {
  std::size_t gauge = 0;
  double sign = 1.0;  ///< -1: the least is looked for.
  double best = 0.0;  ///< sign * value.
  Places places;
};

class Search {
 public:
  explicit Search(const CopiedState& state)
      : state_(state), measurer_(state), nominal_(state.spreads().size()) {
    for (std::size_t k = 0; k < nominal_.size(); ++k) {
      nominal_[k] = std::clamp(nominal_place(state.spreads()[k]), 0.0, 1.0);
      if (state.is_moved_by(k)) moved_.push_back(k);
    }
  }

  std::vector<WorstCase> run() {
    look_alone();
    begin_at_corners();
    for (int round = 0; round < kMostRounds && improve(round == 0); ++round) {
    }
    for (Side& side : sides_) {
      Extreme& end =
          side.sign < 0.0 ? found_[side.gauge].least : found_[side.gauge].most;
      end.value = side.sign * side.best;
      end.places = std::move(side.places);
    }
    return std::move(found_);
  }

 private:
  /// The values of all gauges at each of the points.
  std::vector<std::vector<double>> measure(const std::vector<Places>& points) {
    std::vector<std::vector<double>> values;
    values.reserve(points.size());
    measurer_.measure(
        0, points.size(),
        [&points](std::size_t k, double* places) {
          std::copy(points[k].begin(), points[k].end(), places);
        },
        [&values](const Measurer::Copy& copy) { values.push_back(copy.values); });
    return values;
  }

  /// Each spread alone at each of its places.
  void look_alone() {
    std::vector<Places> points = {nominal_};
    for (const std::size_t k : moved_) {
      for (const double place : kLooks) {
        points.push_back(nominal_);
        points.back()[k] = place;
      }
    }
    alone_ = measure(points);
    const std::size_t gauges = state_.gauges().size();
    found_.resize(gauges);
    for (std::size_t g = 0; g < gauges; ++g) {
      found_[g].moves.assign(state_.spreads().size(), 0.0);
      for (std::size_t m = 0; m < moved_.size(); ++m)
        found_[g].moves[moved_[m]] = alone(m, 1, g) - alone(m, 0, g);
    }
  }

  [[nodiscard]] double alone(std::size_t moved, std::size_t look, std::size_t gauge) {
    return alone_[1 + moved * std::size(kLooks) + look][gauge];
  }

  /// The corner of each side by each spread alone.
  void begin_at_corners() {
    for (std::size_t g = 0; g < state_.gauges().size(); ++g) {
      const double now = alone_[0][g];
      for (const double sign : {-1.0, 1.0}) {
        Side side{g, sign, sign * now, nominal_};
        for (std::size_t m = 0; m < moved_.size(); ++m) {
          double best = sign * now + kMatters * std::abs(now);
          for (std::size_t look = 0; look < std::size(kLooks); ++look) {
            const double value = sign * alone(m, look, g);
            if (!(value > best)) continue;
            best = value;
            side.places[moved_[m]] = kLooks[look];
          }
        }
        sides_.push_back(std::move(side));
      }
    }
  }

  /// Looks from every side's corner at its neighbours and goes to the best. Whether any
  /// went. At first the corners themselves are what is new.
  bool improve(bool is_first) {
    std::map<Places, std::vector<Side*>> corners;
    for (Side& side : sides_)
      if (is_first || went_.contains(&side)) corners[side.places].push_back(&side);
    went_.clear();
    for (auto& [corner, sides] : corners) improve_at(corner, sides, is_first);
    return !went_.empty();
  }

  void improve_at(const Places& corner, const std::vector<Side*>& sides,
                  bool is_first) {
    std::vector<Places> points = {corner};
    for (const std::size_t k : moved_) {
      for (const double place : kLooks) {
        if (place == corner[k]) continue;
        points.push_back(corner);
        points.back()[k] = place;
      }
    }
    const std::vector<std::vector<double>> values = measure(points);
    for (Side* side : sides) {
      const double here = side->sign * values[0][side->gauge];
      if (is_first && std::isfinite(here)) side->best = here;
      std::size_t best = 0;
      for (std::size_t k = 1; k < points.size(); ++k) {
        const double value = side->sign * values[k][side->gauge];
        if (value > side->best + kMatters * std::abs(side->best)) {
          side->best = value;
          best = k;
        }
      }
      if (best == 0) continue;
      side->places = points[best];
      went_.insert(side);
    }
  }

  const CopiedState& state_;
  Measurer measurer_;
  Places nominal_;
  std::vector<std::size_t> moved_;
  std::vector<std::vector<double>> alone_;  ///< [point][gauge]; the nominal one first.
  std::vector<WorstCase> found_;
  std::vector<Side> sides_;
  std::set<Side*> went_;
};

/// What both witnesses say at one corner.
struct Confirmed {
  std::vector<double> engine;  ///< One a gauge; empty: no answer.
  std::vector<double> nodal;
  bool agrees = false;
};

Confirmed confirmed_at(const CopiedState& state, const Places& places,
                       const Solve& engine, const Solve& nodal) {
  Confirmed confirmed;
  confirmed.agrees = true;
  SeenState by_engine, by_nodal;
  std::vector<double> shares;
  const Circuit& circuit = state.posed().circuit();
  const std::vector<Network> networks = state.networks(places.data());
  for (std::size_t phase = 0; phase < networks.size(); ++phase) {
    const Network& network = networks[phase];
    const Solution e = engine(network);
    const Solution n = nodal(network);
    if (!is_complete(network, e) || !is_complete(network, n)) return {};
    confirmed.agrees = confirmed.agrees && agree(circuit, network, e, n).agrees;
    by_engine.phases.push_back(observe(circuit, network, e));
    by_nodal.phases.push_back(observe(circuit, network, n));
    shares.push_back(state.posed().phases()[phase].phase.share);
  }
  for (SeenState* seen : {&by_engine, &by_nodal}) {
    seen->average = average(seen->phases, shares);
    seen->strong.resize(seen->phases.size());
  }
  confirmed.engine = values_at(state, places.data(), by_engine);
  confirmed.nodal = values_at(state, places.data(), by_nodal);
  return confirmed;
}

}  // namespace

std::vector<WorstCase> worst_cases(const CopiedState& state) {
  return Search(state).run();
}

void confirm(const CopiedState& state, const Solve& engine, const Solve& nodal,
             std::vector<WorstCase>& worst) {
  std::map<Places, Confirmed> corners;
  for (std::size_t g = 0; g < worst.size(); ++g) {
    for (Extreme* end : {&worst[g].least, &worst[g].most}) {
      const auto [it, is_new] = corners.try_emplace(end->places);
      if (is_new) it->second = confirmed_at(state, end->places, engine, nodal);
      const Confirmed& both = it->second;
      end->agrees = both.agrees;
      if (!both.engine.empty()) end->engine = both.engine[g];
      if (!both.nodal.empty()) end->nodal = both.nodal[g];
    }
  }
}

}  // namespace benchproof
