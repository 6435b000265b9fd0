#include "core/check/agree/run_agreement.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <optional>

#include "core/base/quantity.h"
#include "core/check/agree/detail/courses.h"
#include "core/check/agree/detail/leaks.h"
#include "core/network/edits.h"

namespace benchproof {
namespace {

/// What a witness that did not finish has to say; empty if it did.
std::string failure(const char* witness, const Timeline& timeline, const Waveform& w) {
  const std::string why = w.reason.empty() ? "no reason told" : w.reason;
  switch (w.status) {
    case SolveStatus::solved: {
      const bool is_whole = w.width == row_width(*timeline.network.structure) &&
                            w.seconds.size() > 1 &&
                            w.rows.size() == w.width * w.seconds.size() &&
                            w.seconds.back() >= timeline.span * (1.0 - 1e-12);
      const bool is_finite = std::all_of(w.rows.begin(), w.rows.end(),
                                         [](double x) { return std::isfinite(x); });
      if (is_whole && is_finite) return {};
      return fmt::format("the {} witness left out a part of the run", witness);
    }
    case SolveStatus::no_convergence:
    case SolveStatus::engine_failed:
      return fmt::format("the {} witness did not finish the run: {}", witness, why);
    case SolveStatus::engine_lost:
      return fmt::format("the {} witness was lost: {}", witness, why);
    case SolveStatus::not_asked:
      return fmt::format("the {} witness was not asked: {}", witness, why);
  }
  return {};
}

double distance(double volts, double seconds, double shift, const Waveform& other,
                std::size_t node) {
  return distance_to(volts, seconds, shift, other.seconds,
                     [&](std::size_t k) { return other.row(k)[node]; });
}

/// Where the currents that the nodal witness tells do not add up; empty if nowhere.
std::string unbalanced(const Timeline& timeline, const Imbalance& imbalance) {
  if (imbalance.worst <= 1.0) return {};
  return fmt::format(
      "the nodal witness's currents leave {} over at '{}' {} into the run",
      format_quantity(imbalance.amps, Unit::ampere),
      timeline.network.structure->nodes[static_cast<std::size_t>(imbalance.node)],
      format_quantity(imbalance.seconds, Unit::second, 5));
}

/// What is told of a question that came to nothing after witnesses had differed.
std::string asked_again(const std::string& failure) {
  return "; asked again, " + failure;
}

/// The times of both lists, in order, each once.
std::vector<double> together(const std::vector<double>& a,
                             const std::vector<double>& b) {
  std::vector<double> all;
  std::set_union(a.begin(), a.end(), b.begin(), b.end(), std::back_inserter(all));
  return all;
}

/// What each net's voltage swings by in the run. Volt.
std::vector<double> swings(const Waveform& nodal, std::size_t nets) {
  std::vector<double> swings(nets);
  for (std::size_t net = 1; net < nets; ++net) {
    double low = nodal.row(0)[net];
    double high = low;
    for (std::size_t k = 1; k < nodal.seconds.size(); ++k) {
      low = std::min(low, nodal.row(k)[net]);
      high = std::max(high, nodal.row(k)[net]);
    }
    swings[net] = high - low;
  }
  return swings;
}

/// Of moments that are as bad but for so much the first is told: rounding would choose
/// another one on another machine.
constexpr double kAsBad = 1.05;

/// A point of the nodal witness's, and the engine's first one that is not before it.
struct Meeting {
  std::size_t nodal = 0;
  std::size_t engine = 0;
  bool is_met = false;  ///< Both are of one time; else the engine has one before, too.
};

/// Compares the voltages of two witnesses point by point, and keeps the worst.
class VoltageComparison {
 public:
  VoltageComparison(const Timeline& timeline, const Waveform& engine,
                    const Waveform& nodal, const Flips& flips)
      : timeline_(timeline),
        nodes_(timeline.network.structure->nodes),
        nets_(static_cast<std::size_t>(timeline.network.structure->nets)),
        flips_(flips),
        flanks_(timeline),
        engine_(engine),
        nodal_(nodal),
        share_(rings(*timeline.network.structure) ? kRingShare : kWaveShare),
        swings_(swings(nodal, nets_)) {}

  void compare(const Meeting& at) {
    bool is_passed_over = false;
    const bool is_flank = flanks_.has(nodal_.seconds[at.nodal]);
    const double volts = is_flank ? kFlankVolts : kWaveVolts;
    const double share = is_flank ? kFlankShare : share_;
    for (std::size_t node = 1; node < nets_; ++node) {
      const double allowed = volts + share * swings_[node];
      const double nearest = nearest_volts(at, node);
      double off = std::abs(nodal_.row(at.nodal)[node] - nearest);
      // To look beside this time takes long where there are many points, and can only
      // make less of it.
      const bool is_told =
          at.is_met || is_passed_over || told_.passed_over.size() > kMostPassedOver;
      if (is_told && !(off / allowed > worst_)) continue;
      const double much = allowed * std::clamp(worst_, kLittleShare, 1.0);
      if (off > much) off = std::min(off, shifted(at, node, allowed));
      if (off > allowed) off = std::min(off, allowed * leak_share(at, node, nearest));
      is_passed_over |= !at.is_met && off > allowed;
      const double told = off / allowed;
      worst_ = std::max(worst_, told);
      const bool is_first_beyond = told > 1.0 && told_share_ <= 1.0;
      if (told > kAsBad * told_share_ || is_first_beyond)
        keep(at, node, {off, allowed, nearest});
    }
    if (is_passed_over && told_.passed_over.size() <= kMostPassedOver)
      told_.passed_over.push_back(nodal_.seconds[at.nodal]);
  }

  /// The worst, over what is allowed there.
  [[nodiscard]] double worst() const { return worst_; }
  [[nodiscard]] RunAgreement take() { return std::move(told_); }

 private:
  /// The nodal voltage, or the nearest to it between those that the engine has.
  [[nodiscard]] double nearest_volts(const Meeting& at, std::size_t node) const {
    const double right = engine_.row(at.engine)[node];
    const double left = at.is_met ? right : engine_.row(at.engine - 1)[node];
    return std::clamp(nodal_.row(at.nodal)[node], std::min(left, right),
                      std::max(left, right));
  }

  /// How far they are apart where one of them may see an edge a moment later.
  [[nodiscard]] double shifted(const Meeting& at, std::size_t node,
                               double allowed) const {
    const double t = nodal_.seconds[at.nodal];
    const double shift = flips_.shift_of(
        t, allowed, nodal_.seconds, [&](std::size_t k) { return nodal_.row(k)[node]; });
    const double there = distance(nodal_.row(at.nodal)[node], t, shift, engine_, node);
    if (!at.is_met) return there;
    return std::max(there,
                    distance(engine_.row(at.engine)[node], t, shift, nodal_, node));
  }

  /// Whether anything but what leaks joins a net to another without a junction.
  [[nodiscard]] bool has_resistor(std::size_t node) const {
    const std::vector<TwoEnds>& all = timeline_.network.structure->resistors;
    for (std::size_t k = 0; k < all.size(); ++k) {
      const bool is_here = static_cast<std::size_t>(all[k].a) == node ||
                           static_cast<std::size_t>(all[k].b) == node;
      if (is_here && timeline_.network.values.ohms[k] < kLeastLeakOhms) return true;
    }
    return false;
  }

  /// The current that the difference at a net stands for, over what is allowed.
  [[nodiscard]] double leak_share(const Meeting& at, std::size_t node,
                                  double engine_volts) const {
    const double t = nodal_.seconds[at.nodal];
    const auto volts_of = [this](const double* row) {
      return std::vector<double>(row, row + nodes_.size());
    };
    std::vector<double> engine = volts_of(engine_.row(at.engine));
    engine[node] = engine_volts;
    if (has_resistor(node)) return HUGE_VAL;
    // What one of them may lag by is the time in which a stray's charge may differ.
    return current_between(network_at(timeline_, t), engine,
                           volts_of(nodal_.row(at.nodal)), node,
                           kWaveShift * timeline_.span) /
           kWaveAmps;
  }

  /// How far apart, against what is allowed there; and the engine's voltage.
  struct Apart {
    double volts = 0.0;
    double allowed = 0.0;
    double engine_volts = 0.0;
  };

  void keep(const Meeting& at, std::size_t node, const Apart& apart) {
    told_share_ = apart.volts / apart.allowed;
    told_.net = nodes_[node];
    told_.seconds = nodal_.seconds[at.nodal];
    told_.difference = apart.volts;
    told_.allowed = apart.allowed;
    told_.engine_volts = apart.engine_volts;
    told_.nodal_volts = nodal_.row(at.nodal)[node];
  }

  const Timeline& timeline_;
  const std::vector<std::string>& nodes_;
  std::size_t nets_;
  const Flips& flips_;
  Flanks flanks_;
  const Waveform& engine_;
  const Waveform& nodal_;
  double share_;
  std::vector<double> swings_;
  double worst_ = -1.0;
  double told_share_ = -1.0;
  RunAgreement told_;
};

/// What witnesses that did not finish have to say; empty if both did.
std::string failures(const Timeline& timeline, const Waveform& engine,
                     const Waveform& nodal) {
  std::string all;
  for (const auto& [witness, waveform] :
       {std::pair{"engine", &engine}, std::pair{"nodal", &nodal}}) {
    const std::string reason = failure(witness, timeline, *waveform);
    if (!reason.empty()) all += (all.empty() ? "" : "; ") + reason;
  }
  return all;
}

}  // namespace

double share_of(const RunAgreement& a) {
  return a.allowed > 0.0 ? a.difference / a.allowed : 0.0;
}

namespace {

/// The nodal witness's times between the engine's points about a moment: what it saw
/// there and the engine's steps went over. Nothing where these are too many.
std::vector<double> times_about(double moment, const Waveform& engine,
                                const Waveform& nodal) {
  const auto here =
      std::lower_bound(engine.seconds.begin(), engine.seconds.end(), moment);
  if (here == engine.seconds.end()) return {};
  const double before = here == engine.seconds.begin() ? *here : *std::prev(here);
  const double behind =
      std::next(here) == engine.seconds.end() ? *here : *std::next(here);
  std::vector<double> times;
  for (const double t : nodal.seconds)
    if (t > before && t < behind && t != *here) times.push_back(t);
  if (times.size() > kMostPassedOver) times.clear();
  return times;
}

/// Whether a net begins elsewhere: by a good part of what it swings by in the run.
bool begin_apart(const Timeline& timeline, const Waveform& engine,
                 const Waveform& nodal) {
  constexpr double kGoodPart = 0.2;
  const auto met =
      std::find(nodal.seconds.begin(), nodal.seconds.end(), engine.seconds.front());
  if (met == nodal.seconds.end()) return false;
  const double* here = nodal.row(static_cast<std::size_t>(met - nodal.seconds.begin()));
  const std::vector<double> swing =
      swings(nodal, static_cast<std::size_t>(timeline.network.structure->nets));
  for (std::size_t net = 1; net < swing.size(); ++net)
    if (std::abs(engine.row(0)[net] - here[net]) > kWaveVolts + kGoodPart * swing[net])
      return true;
  return false;
}

/// The voltages of both.
RunAgreement agree_with(const Flips& flips, const Timeline& timeline,
                        const Waveform& engine, const Waveform& nodal) {
  VoltageComparison comparison(timeline, engine, nodal, flips);
  std::size_t e = 0;
  std::size_t met = 0;
  for (std::size_t k = 0; k < nodal.seconds.size(); ++k) {
    const double t = nodal.seconds[k];
    while (e + 1 < engine.seconds.size() && engine.seconds[e] < t) ++e;
    const bool is_met = engine.seconds[e] == t;
    if (is_met) ++met;
    // Before the engine's first point there is nothing to compare with.
    if (is_met || (e > 0 && engine.seconds[e] > t)) comparison.compare({k, e, is_met});
  }
  const double worst = comparison.worst();
  RunAgreement a = comparison.take();
  if (met < engine.seconds.size()) {
    a.reason = fmt::format("the nodal witness told nothing at {} of the engine's times",
                           engine.seconds.size() - met);
  } else if (worst > 1.0) {
    a.reason =
        fmt::format("the witnesses differ at '{}' {} into the run: engine {}, nodal {}",
                    a.net, format_quantity(a.seconds, Unit::second, 5),
                    format_quantity(a.engine_volts, Unit::volt, 6),
                    format_quantity(a.nodal_volts, Unit::volt, 6));
    if (a.passed_over.empty()) a.passed_over = times_about(a.seconds, engine, nodal);
    if (begin_apart(timeline, engine, nodal))
      a.reason +=
          "; they begin apart: with these charges the circuit can begin in more than "
          "one way; give another capacitor its 'initial' voltage, or begin from a "
          "state";
    else if (!flips.is_none())
      a.reason +=
          "; the circuit flips by itself in this run: 1 nF from each base or gate to "
          "ground says how fast, and a shorter span leaves less to add up";
  }
  a.agrees = a.reason.empty();
  return a;
}

/// What is told of witnesses of which one did not finish; nothing if both did.
std::optional<RunAgreement> unfinished(const Timeline& timeline, const Waveform& engine,
                                       const Waveform& nodal) {
  RunAgreement told;
  told.reason = failures(timeline, engine, nodal);
  if (told.reason.empty()) return std::nullopt;
  return told;
}

}  // namespace

RunAgreement agree(const Timeline& timeline, const Waveform& engine,
                   const Waveform& nodal) {
  if (auto told = unfinished(timeline, engine, nodal)) return *std::move(told);
  return agree_with(Flips(timeline, nodal), timeline, engine, nodal);
}

namespace {

/// Compares what both said, voltages first, then the nodal witness's balance and the
/// currents.
void compare_all(const Circuit& circuit, const Timeline& timeline, Hearing& h) {
  if (auto told = unfinished(timeline, h.engine, h.nodal)) {
    h.agreement = *std::move(told);
    return;
  }
  const Flips flips(timeline, h.nodal);
  h.agreement = agree_with(flips, timeline, h.engine, h.nodal);
  if (!h.agreement.agrees) return;
  h.by_engine = std::make_shared<Record>(circuit, timeline, h.engine);
  h.by_nodal = std::make_shared<Record>(circuit, timeline, h.nodal);
  h.agreement.reason = unbalanced(timeline, h.by_nodal->imbalance());
  if (h.agreement.reason.empty())
    h.agreement.reason =
        differing_current(circuit, timeline, *h.by_engine, *h.by_nodal, &flips);
  h.agreement.agrees = h.agreement.reason.empty();
}

}  // namespace

Hearing hear(const Circuit& circuit, const Timeline& timeline,
             const SolveInTime& engine, const SolveInTime& nodal,
             const std::vector<double>& also_at) {
  constexpr int kRounds = 5;
  Hearing h;
  std::vector<double> asked;
  int closer = 0;
  std::size_t told = 0;
  std::string given_up;
  for (int round = 0; round < kRounds; ++round) {
    Waveform by_engine = engine(timeline, asked, closer);
    h.engine_last = by_engine.status;
    if (round > 0 && by_engine.status != SolveStatus::solved) {
      given_up = asked_again(failure("engine", timeline, by_engine));
      break;
    }
    Waveform by_nodal = nodal(timeline, together(by_engine.seconds, also_at), closer);
    h.nodal_last = by_nodal.status;
    if (round > 0 && by_nodal.status != SolveStatus::solved) {
      given_up = asked_again(failure("nodal", timeline, by_nodal));
      break;
    }
    h.engine = std::move(by_engine);
    h.nodal = std::move(by_nodal);
    compare_all(circuit, timeline, h);
    const bool is_silent =
        h.engine.status != SolveStatus::solved || h.nodal.status != SolveStatus::solved;
    if (is_silent || h.agreement.agrees || round + 1 == kRounds) break;
    const std::vector<double>& passed_over = h.agreement.passed_over;
    const std::size_t last = h.engine.rows.size() + h.nodal.rows.size();
    std::size_t next = last;
    if (round < kRounds / 2 && !passed_over.empty() &&
        asked.size() + passed_over.size() <= kMostPassedOver) {
      asked = together(asked, passed_over);
    } else {
      ++closer;
      next *= 2;
    }
    told += last;
    if (told + next > kMostTold) {
      given_up = fmt::format(
          "; they were not asked again, for that takes too long: they told {} and {} "
          "points",
          h.engine.seconds.size(), h.nodal.seconds.size());
      break;
    }
  }
  if (!h.agreement.agrees) h.agreement.reason += given_up;
  return h;
}

}  // namespace benchproof
