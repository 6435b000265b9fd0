#include "core/sizing/size.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <stdexcept>
#include <utility>

#include "core/base/complaints.h"
#include "core/check/verify_runs.h"

namespace benchproof {
namespace {

constexpr std::size_t kPairsShown = 5;
/// Of so many pairs one without a fault is looked for, where the nearest all have some.
constexpr std::size_t kPairsKept = 40;

struct Range {
  double least;
  double most;
};

/// What the trade sells. Common practice, no source.
std::optional<Range> usual_range(KindId kind) {
  switch (kind) {
    case KindId::resistor:
    case KindId::trimmer:
      return Range{1.0, 10e6};
    case KindId::capacitor:
      return Range{1e-12, 0.1};
    case KindId::inductor:
      return Range{1e-6, 10.0};
    default:
      return std::nullopt;
  }
}

/// Positions from 0 to 1 between two values: by ratio where both are above 0.
class Scale {
 public:
  /// `per_decade` points are looked at.
  Scale(const SizedKey& key, double per_decade)
      : least_(key.least),
        most_(key.most),
        per_decade_(per_decade),
        by_ratio_(key.least > 0.0) {}

  [[nodiscard]] double value(double position) const {
    if (position <= 0.0) return least_;
    if (position >= 1.0) return most_;
    if (by_ratio_) return least_ * std::pow(most_ / least_, position);
    return std::lerp(least_, most_, position);
  }
  [[nodiscard]] int points() const {
    constexpr int kLinear = 64;
    if (!by_ratio_) return kLinear;
    return std::max(
        8, static_cast<int>(std::ceil(per_decade_ * std::log10(most_ / least_))));
  }

 private:
  double least_;
  double most_;
  double per_decade_;
  bool by_ratio_;
};

bool is_of_run(const Goal& goal) { return goal.measure == Goal::Measure::crossing; }

/// Points looked at before it is known where the goal is met; a run costs much more.
double points_per_decade(const Goal& goal) { return is_of_run(goal) ? 4.0 : 8.0; }

/// The figure as a function of the values.
class Figures {
 public:
  Figures(Circuit& circuit, const SizeRequest& request, const Solve& search,
          const SolveInTime& in_time)
      : circuit_(circuit), request_(request), search_(search), in_time_(in_time) {}

  double at(const std::vector<double>& values, Closeness closeness = Closeness::exact) {
    for (std::size_t k = 0; k < values.size(); ++k)
      put_value(circuit_, request_.keys[k], values[k]);
    return request_.state < 0 ? measured(request_.goal, circuit_, in_time_, closeness)
                              : measured(request_.goal, circuit_,
                                         circuit_.states[request_.state], search_);
  }
  double off(const std::vector<double>& values,
             Closeness closeness = Closeness::exact) {
    return at(values, closeness) - request_.goal.want;
  }

 private:
  Circuit& circuit_;
  const SizeRequest& request_;
  const Solve& search_;
  const SolveInTime& in_time_;
};

/// The position between two of opposite sign at which the figure meets the goal.
double root(Figures& figures, const Scale& scale, const Goal& goal, double low,
            double high, double at_low) {
  constexpr int kMost = 60;
  // A run tells its times to some 1e-6.
  const double close = is_of_run(goal) ? 1e-7 : 1e-11;
  const double enough = is_of_run(goal) ? 1e-6 * std::abs(goal.want) : 0.0;
  const Closeness how = is_of_run(goal) ? Closeness::near : Closeness::exact;
  const auto off = [&](double position) {
    const double here = figures.off({scale.value(position)}, how);
    // What a run does not reach in time it reaches too late.
    return is_of_run(goal) && !std::isfinite(here) ? std::abs(goal.want) : here;
  };
  if (is_of_run(goal)) at_low = off(low);
  double at_high = off(high);
  // Regula falsi with the Illinois rule: the end that stays is halved.
  int side = 0;
  for (int k = 0; k < kMost && high - low > close; ++k) {
    double middle = (low * at_high - high * at_low) / (at_high - at_low);
    if (!(middle > low && middle < high) || k % 8 == 7) middle = 0.5 * (low + high);
    const double here = off(middle);
    if (!std::isfinite(here)) return middle;
    if (std::abs(here) <= enough) return middle;
    if ((here < 0.0) == (at_low < 0.0)) {
      low = middle;
      at_low = here;
      if (side == -1) at_high *= 0.5;
      side = -1;
    } else {
      high = middle;
      at_high = here;
      if (side == 1) at_low *= 0.5;
      side = 1;
    }
  }
  return 0.5 * (low + high);
}

void note_reach(Sizing& sizing, double value) {
  const bool is_first = std::isnan(sizing.reach_least);
  sizing.reach_least = is_first ? value : std::min(sizing.reach_least, value);
  sizing.reach_most = is_first ? value : std::max(sizing.reach_most, value);
}

/// The exact value of one key for a run's goal: looked for from the present value on,
/// up and down by quarters of a decade, first where it comes nearer; the first that is
/// met is taken. Each look is a run.
void find_exact_in_run(Figures& figures, const SizedKey& key, const Goal& goal,
                       Sizing& sizing) {
  const Scale scale(key, points_per_decade(goal));
  const int points = scale.points();
  const auto at = [points](int k) { return static_cast<double>(k) / points; };
  int start = points / 2;
  if (key.present) {
    for (int k = 0; k <= points; ++k)
      if (std::abs(std::log(scale.value(at(k)) / *key.present)) <
          std::abs(std::log(scale.value(at(start)) / *key.present)))
        start = k;
  }
  struct Side {
    int last;
    double off;
    int step;
  };
  const double first = figures.off({scale.value(at(start))}, Closeness::rough);
  if (std::isfinite(first)) note_reach(sizing, first + goal.want);
  Side up{start, first, 1}, down{start, first, -1};
  const auto has_more = [points](const Side& side) {
    return side.last + side.step >= 0 && side.last + side.step <= points;
  };
  bool is_ups_turn = true;
  while (has_more(up) || has_more(down)) {
    // One look each way, then on where it comes nearer.
    bool goes_up = is_ups_turn;
    if (up.last != start && down.last != start &&
        std::isfinite(up.off) != std::isfinite(down.off))
      goes_up = std::isfinite(up.off);
    else if (up.last != start && down.last != start && std::isfinite(up.off))
      goes_up = std::abs(up.off) < std::abs(down.off);
    is_ups_turn = !is_ups_turn;
    if (!has_more(goes_up ? up : down)) goes_up = !goes_up;
    Side& side = goes_up ? up : down;
    const int next = side.last + side.step;
    const double here = figures.off({scale.value(at(next))}, Closeness::rough);
    if (std::isfinite(here)) note_reach(sizing, here + goal.want);
    // Where one of two is not reached in time, what is wanted may lie between.
    const auto is_late = [](double off) { return !std::isfinite(off) || off > 0.0; };
    if ((std::isfinite(here) || std::isfinite(side.off)) &&
        is_late(here) != is_late(side.off)) {
      const double low = at(std::min(side.last, next));
      const double high = at(std::max(side.last, next));
      const double value = scale.value(root(figures, scale, goal, low, high, 0.0));
      constexpr double kMet = 1e-4;
      if (std::abs(figures.off({value}, Closeness::near)) <=
          kMet * std::abs(goal.want)) {
        sizing.exact = value;
        return;
      }
    }
    side.last = next;
    side.off = here;
  }
}

/// All exact values of one key, and what the figure reaches.
void find_exact(Figures& figures, const SizedKey& key, const Goal& goal,
                Sizing& sizing) {
  const Scale scale(key, points_per_decade(goal));
  const int points = scale.points();
  std::vector<double> found;
  double before = 0.0;
  bool has_before = false;
  for (int k = 0; k <= points; ++k) {
    const double position = static_cast<double>(k) / points;
    const double here = figures.off({scale.value(position)});
    if (!std::isfinite(here)) {
      has_before = false;
      continue;
    }
    note_reach(sizing, here + goal.want);
    if (here == 0.0) {
      found.push_back(scale.value(position));
    } else if (has_before && before != 0.0 && (here < 0.0) != (before < 0.0)) {
      const double from = static_cast<double>(k - 1) / points;
      found.push_back(scale.value(root(figures, scale, goal, from, position, before)));
    }
    before = here;
    has_before = true;
  }
  if (found.empty()) return;
  const auto distance = [&key](double value) {
    if (!key.present) return 0.0;
    if (key.least > 0.0 && *key.present > 0.0)
      return std::abs(std::log(value / *key.present));
    return std::abs(value - *key.present);
  };
  const auto nearest =
      std::min_element(found.begin(), found.end(),
                       [&](double a, double b) { return distance(a) < distance(b); });
  sizing.exact = *nearest;
  found.erase(nearest);
  sizing.others = std::move(found);
}

/// The values of the series on both sides of the exact one, within the bounds.
std::vector<double> neighbours(const SizeRequest& request, double exact) {
  if (!request.series) return {exact};
  const SizedKey& key = request.keys.front();
  std::vector<double> values;
  const double below = preferred_at_most(*request.series, exact);
  const double above = preferred_at_least(*request.series, exact);
  for (const double value : {below, above}) {
    const bool is_there = !values.empty() && values.back() == value;
    if (value >= key.least && value <= key.most && !is_there) values.push_back(value);
  }
  return values;
}

/// Whether every value looked at is on the right side of a bound.
bool meets_everywhere(const Sizing& sizing, const Goal& goal) {
  return goal.relation != Goal::Relation::equal && std::isfinite(sizing.reach_least) &&
         keeps_to(goal, sizing.reach_least) && keeps_to(goal, sizing.reach_most);
}

/// Values to judge where all meet the goal: those next to the present one, and the
/// outermost.
std::vector<double> samples(const SizeRequest& request) {
  const SizedKey& key = request.keys.front();
  std::vector<double> values{key.least, key.most};
  if (request.series && key.least > 0.0)
    values = {preferred_at_least(*request.series, key.least),
              preferred_at_most(*request.series, key.most)};
  if (key.present && *key.present >= key.least && *key.present <= key.most)
    values.push_back(*key.present);
  std::erase_if(values, [&key](double v) { return v < key.least || v > key.most; });
  std::sort(values.begin(), values.end());
  values.erase(std::unique(values.begin(), values.end()), values.end());
  return values;
}

struct Pair {
  double first;
  double second;
  double off;   ///< |figure - goal|
  double away;  ///< From the present values, as a sum of logarithms.
};

/// Keeps the pairs that come nearest.
class NearestPairs {
 public:
  NearestPairs(const SizeRequest& request, Figures& figures)
      : request_(request), figures_(figures) {}

  double off(double first, double second) {
    const double off = figures_.off({first, second});
    if (std::isfinite(off) && keeps_to(request_.goal, off + request_.goal.want))
      keep(first, second, std::abs(off));
    return off;
  }
  [[nodiscard]] std::vector<std::vector<double>> values() const {
    std::vector<std::vector<double>> values;
    for (const Pair& pair : pairs_) values.push_back({pair.first, pair.second});
    return values;
  }

 private:
  void keep(double first, double second, double off) {
    const auto away = [](const SizedKey& key, double value) {
      return key.present && *key.present > 0.0
                 ? std::abs(std::log(value / *key.present))
                 : 0.0;
    };
    const Pair pair{first, second, off,
                    away(request_.keys[0], first) + away(request_.keys[1], second)};
    const double blur = 1e-9 * std::abs(request_.goal.want);
    const auto place =
        std::find_if(pairs_.begin(), pairs_.end(), [&](const Pair& other) {
          if (std::abs(pair.off - other.off) > blur) return pair.off < other.off;
          return pair.away < other.away;
        });
    const bool is_there =
        std::any_of(pairs_.begin(), pairs_.end(), [&](const Pair& other) {
          return other.first == first && other.second == second;
        });
    if (is_there) return;
    pairs_.insert(place, pair);
    if (pairs_.size() > kPairsKept) pairs_.pop_back();
  }

  const SizeRequest& request_;
  Figures& figures_;
  std::vector<Pair> pairs_;
};

std::vector<std::vector<double>> find_pairs(Figures& figures,
                                            const SizeRequest& request) {
  constexpr std::size_t kLooks = 8;
  const auto values_of = [&request](const SizedKey& key) {
    const Series series =
        key.series ? *key.series : request.series.value_or(Series::e24);
    return preferred_between(series, key.least, key.most);
  };
  const auto firsts = values_of(request.keys[0]);
  const auto seconds = values_of(request.keys[1]);
  NearestPairs nearest(request, figures);
  if (seconds.empty()) return {};
  for (const double first : firsts) {
    std::size_t before = 0;
    double at_before = nearest.off(first, seconds[0]);
    for (std::size_t look = 1; look <= kLooks; ++look) {
      const std::size_t here = (seconds.size() - 1) * look / kLooks;
      if (here == before) continue;
      const double at_here = nearest.off(first, seconds[here]);
      std::size_t low = before;
      std::size_t high = here;
      const bool is_crossed = (at_here < 0.0) != (at_before < 0.0);
      while (is_crossed && high - low > 1) {
        const std::size_t middle = (low + high) / 2;
        const double at_middle = nearest.off(first, seconds[middle]);
        ((at_middle < 0.0) == (at_before < 0.0) ? low : high) = middle;
      }
      before = here;
      at_before = at_here;
    }
  }
  return nearest.values();
}

/// The figure at both ends of every value's tolerance.
void find_band(Figures& figures, const Circuit& circuit, const SizeRequest& request,
               SizeChoice& candidate) {
  candidate.least = candidate.most = candidate.nodal;
  const bool has_tolerance =
      std::any_of(request.keys.begin(), request.keys.end(), [&](const SizedKey& key) {
        return key.key == "value" &&
               figure(circuit.parts[key.part], "tolerance").has_value();
      });
  if (!has_tolerance) return;
  const std::size_t corners = std::size_t{1} << request.keys.size();
  for (std::size_t corner = 0; corner < corners; ++corner) {
    std::vector<double> values = candidate.values;
    for (std::size_t k = 0; k < values.size(); ++k) {
      const auto share = request.keys[k].key == "value"
                             ? figure(circuit.parts[request.keys[k].part], "tolerance")
                             : std::nullopt;
      const double sign = (corner >> k) % 2 == 0 ? -1.0 : 1.0;
      values[k] *= 1.0 + sign * (share ? share->value : 0.0);
    }
    const double here = figures.at(values);
    if (!std::isfinite(here)) continue;
    candidate.least = std::min(candidate.least, here);
    candidate.most = std::max(candidate.most, here);
  }
}

void take_faults(const std::vector<Finding>& findings, SizeChoice& candidate) {
  for (const Finding& finding : findings) {
    if (finding.severity != Severity::fault || !finding.follows.empty()) continue;
    const bool is_told = std::any_of(
        candidate.faults.begin(), candidate.faults.end(), [&](const Finding& other) {
          return other.check == finding.check && other.part == finding.part &&
                 other.net == finding.net;
        });
    if (!is_told) candidate.faults.push_back(finding);
  }
}

/// What a run shows, the goal asked of it like one more expectation.
template <typename Look>
RunResult with_goal(Circuit& circuit, const SizeRequest& request, Look&& look) {
  circuit.expectations.push_back(request.goal.subject);
  RunResult result = look(request.goal.subject.run);
  circuit.expectations.pop_back();
  return result;
}

void take_run(const RunResult& result, SizeChoice& c) {
  c.engine = c.nodal = std::nan("");
  if (!result.expectations.empty()) {
    c.engine = result.expectations.back().engine.value;
    c.nodal = result.expectations.back().nodal.value;
  }
  c.verdict = std::max(c.verdict, result.verdict);
  c.agrees = c.agrees && result.agreement.agrees;
  take_faults(result.findings, c);
}

/// Has both witnesses look at a choice's run of which the nodal one alone was asked.
void confirm_run(Circuit& circuit, const SizeRequest& request,
                 const SolveInTime& engine_in_time, const SolveInTime& nodal_in_time,
                 SizeChoice& c) {
  for (std::size_t k = 0; k < c.values.size(); ++k)
    put_value(circuit, request.keys[k], c.values[k]);
  take_run(with_goal(circuit, request,
                     [&](int run) {
                       return verify_run(circuit, run, engine_in_time, nodal_in_time);
                     }),
           c);
}

/// What is found of a choice: of the states by both witnesses, of a run by the nodal
/// one alone.
SizeChoice looked_at(Circuit& circuit, const SizeRequest& request,
                     const std::vector<double>& values, const Solve& engine,
                     const Solve& nodal, const SolveInTime& nodal_in_time) {
  SizeChoice c;
  c.values = values;
  for (std::size_t k = 0; k < values.size(); ++k)
    put_value(circuit, request.keys[k], values[k]);
  const Verification all = verify(circuit, engine, nodal);
  c.verdict = all.verdict;
  c.agrees = c.verdict <= Verdict::fault;
  for (const StateResult& state : all.states) take_faults(state.findings, c);
  if (request.state < 0) {
    take_run(
        with_goal(circuit, request,
                  [&](int run) { return look_at_run(circuit, run, nodal_in_time); }),
        c);
    c.engine = std::nan("");
  } else {
    const State& state = circuit.states[request.state];
    c.engine = measured(request.goal, circuit, state, engine);
    c.nodal = measured(request.goal, circuit, state, nodal);
  }
  c.keeps = keeps_to(request.goal, c.nodal);
  return c;
}

int recommended(const std::vector<SizeChoice>& candidates, const Goal& goal) {
  int best = -1;
  const auto rank = [&goal](const SizeChoice& c) {
    return std::pair(c.faults.size(), std::abs(c.nodal - goal.want));
  };
  for (std::size_t k = 0; k < candidates.size(); ++k) {
    const SizeChoice& c = candidates[k];
    if (!c.agrees || !c.keeps || !std::isfinite(c.nodal)) continue;
    if (best < 0 || rank(c) < rank(candidates[best])) best = static_cast<int>(k);
  }
  return best;
}

}  // namespace

std::variant<SizedKey, std::string> read_sized_key(const Circuit& circuit,
                                                   std::string_view text) {
  const std::size_t dot = text.find('.');
  const std::string name(text.substr(0, dot));
  SizedKey sized;
  std::vector<std::string> names;
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    names.push_back(circuit.parts[k].name);
    if (names.back() == name) sized.part = static_cast<int>(k);
  }
  int looks = 1;
  if (sized.part < 0) {
    const std::string hint = suggestion(looks, name, names, "parts");
    return fmt::format("there is no part {}{}{}", quoted(name),
                       hint.empty() ? "" : "; ", hint);
  }
  const Part& part = circuit.parts[sized.part];
  sized.key = dot == std::string_view::npos ? "value" : text.substr(dot + 1);
  const Key* key = find_key(kind(part.kind), sized.key);
  const bool is_number =
      key != nullptr &&
      (key->shape == Shape::quantity || key->shape == Shape::number) && !key->is_whole;
  if (!is_number) {
    std::vector<std::string> keys;
    for (const Key& k : kind(part.kind).keys)
      if (k.shape == Shape::quantity || k.shape == Shape::number)
        keys.emplace_back(k.name);
    const std::string hint = suggestion(looks, sized.key, keys, "keys");
    return fmt::format("{} has no number {}{}{}", quoted(name), quoted(sized.key),
                       hint.empty() ? "" : "; ", hint);
  }
  sized.unit = key->shape == Shape::quantity ? key->unit : Unit::none;
  if (const auto now = figure(part, sized.key)) sized.present = now->value;
  const auto usual = sized.key == "value" ? usual_range(part.kind) : std::nullopt;
  constexpr double kNoEnd = 1e9;
  if (usual) {
    sized.least = usual->least;
    sized.most = usual->most;
  } else if (key->most < kNoEnd) {
    sized.least = key->least;
    sized.most = key->most;
  } else if (sized.present && *sized.present > 0.0) {
    sized.least = *sized.present / 100.0;
    sized.most = *sized.present * 100.0;
  } else {
    return fmt::format(
        "'{}.{}' has no present value to look around; give --least and "
        "--most",
        name, sized.key);
  }
  return sized;
}

void put_value(Circuit& circuit, const SizedKey& key, double value) {
  Setting& setting = circuit.parts[key.part].settings[key.key];
  setting.value = value;
}

int state_that_shows(const Circuit& circuit, const SizeRequest& request,
                     const Solve& witness) {
  const SizedKey& key = request.keys.front();
  const Scale scale(key, points_per_decade(request.goal));
  Circuit tried = circuit;
  for (std::size_t k = 0; k < circuit.states.size(); ++k) {
    if (!circuit.states[k].steady) continue;
    std::vector<double> seen;
    constexpr int kLooks = 5;
    for (int look = 0; look <= kLooks; ++look) {
      put_value(tried, key, scale.value(static_cast<double>(look) / kLooks));
      const double value = measured(request.goal, tried, tried.states[k], witness);
      if (std::isfinite(value)) seen.push_back(value);
    }
    if (seen.empty()) continue;
    const auto [low, high] = std::minmax_element(seen.begin(), seen.end());
    if (*high - *low > 1e-3 * std::max(std::abs(*high), std::abs(*low)))
      return static_cast<int>(k);
  }
  return -1;
}

Sizing find_size(Circuit circuit, const SizeRequest& request, const Solve& search,
                 const Solve& engine, const Solve& nodal,
                 const SolveInTime& engine_in_time, const SolveInTime& nodal_in_time) {
  if (request.keys.empty() || request.keys.size() > 2)
    throw std::invalid_argument("one or two values can be chosen");
  for (const SizedKey& key : request.keys)
    if (!(key.least <= key.most)) throw std::invalid_argument("bounds out of order");
  Sizing sizing;
  sizing.present = request.state < 0 ? measured(request.goal, circuit, nodal_in_time)
                                     : measured(request.goal, circuit,
                                                circuit.states[request.state], nodal);
  Figures figures(circuit, request, search, nodal_in_time);
  std::vector<std::vector<double>> choices;
  if (request.keys.size() == 2) {
    choices = find_pairs(figures, request);
  } else {
    sizing.reach_least = sizing.reach_most = std::nan("");
    const bool by_ratio = request.keys.front().least > 0.0;
    (is_of_run(request.goal) && by_ratio ? find_exact_in_run : find_exact)(
        figures, request.keys.front(), request.goal, sizing);
    if (sizing.exact)
      for (const double value : neighbours(request, *sizing.exact))
        choices.push_back({value});
    if (!sizing.exact && meets_everywhere(sizing, request.goal))
      for (const double value : samples(request)) choices.push_back({value});
  }
  constexpr double kNear = 0.05;
  bool is_sound = false;
  for (std::size_t k = 0; k < choices.size(); ++k) {
    if (k >= kPairsShown && (is_sound || is_of_run(request.goal))) break;
    SizeChoice c =
        looked_at(circuit, request, choices[k], engine, nodal, nodal_in_time);
    const bool is_without = c.faults.empty() && c.agrees && c.keeps;
    is_sound = is_sound || is_without;
    const bool is_near =
        std::abs(c.nodal - request.goal.want) <= kNear * std::abs(request.goal.want);
    if (k >= kPairsShown && !(is_without && is_near)) continue;
    find_band(figures, circuit, request, c);
    sizing.candidates.push_back(std::move(c));
  }
  sizing.recommended = recommended(sizing.candidates, request.goal);
  // The engine is slow in time: it is asked of the best choice, and where it does not
  // bear that out of the next best.
  while (request.state < 0 && sizing.recommended >= 0) {
    SizeChoice& best = sizing.candidates[sizing.recommended];
    if (std::isfinite(best.engine)) break;
    confirm_run(circuit, request, engine_in_time, nodal_in_time, best);
    sizing.recommended = recommended(sizing.candidates, request.goal);
  }
  return sizing;
}

}  // namespace benchproof
