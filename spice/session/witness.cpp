#include "spice/session/witness.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <map>
#include <optional>
#include <string>
#include <utility>

#include "core/base/quantity.h"
#include "core/network/edits.h"
#include "core/network/equations.h"
#include "spice/deck/deck.h"
#include "spice/deck/transient_deck.h"

namespace benchproof {
namespace {

SolveStatus status_of(const EngineReply& reply) {
  switch (reply.status) {
    case EngineStatus::solved:
      return SolveStatus::solved;
    case EngineStatus::not_solved:
    case EngineStatus::too_large:
      return SolveStatus::engine_failed;
    case EngineStatus::timed_out:
    case EngineStatus::worker_lost:
    case EngineStatus::unsealed:
    case EngineStatus::unavailable:
      break;
  }
  return SolveStatus::engine_lost;
}

using Clock = std::chrono::steady_clock;

/// Has the engine answer, and takes the time that takes from `left`; nothing where that
/// is used up.
std::optional<EngineReply> run_within(EngineSession& session, EngineRequest request,
                                      Clock::duration& left) {
  request.at_most = std::chrono::duration_cast<std::chrono::milliseconds>(left);
  if (request.at_most <= std::chrono::milliseconds::zero()) return std::nullopt;
  const auto begin = Clock::now();
  EngineReply reply = session.run(request);
  left -= Clock::now() - begin;
  return reply;
}

std::string used_up(const EngineSession& session, const char* what) {
  return "its time for one " + std::string(what) + ", " +
         std::to_string(session.deadline().count()) + " ms, is used up";
}

/// Asks for an operating point, and takes the time that takes from `left`.
Solution ask(EngineSession& session, const Network& network, const DeckOptions& options,
             Clock::duration& left) {
  const Deck deck = make_deck(network, options);
  const auto reply = run_within(session, {deck.lines, deck.vectors}, left);
  if (!reply)
    return no_answer<Solution>(SolveStatus::engine_lost,
                               used_up(session, "operating point"));
  if (reply->status == EngineStatus::solved)
    return from_vectors(network, deck, reply->values);
  // What the engine prints meanwhile speaks of its own affairs, in names of the deck.
  return no_answer<Solution>(status_of(*reply),
                             reply->status == EngineStatus::not_solved
                                 ? "it did not settle on an operating point"
                                 : reply->message);
}

/// Whether an answer obeys the network's equations; the engine may say "solved" of one
/// that does not, when its last resort runs out of steps.
bool stands(const Network& network, const Solution& solution) {
  return solution.status == SolveStatus::solved && obeys(residual(network, solution));
}

/// An answer that leaves less than this share of what is allowed needs no second look.
constexpr double kCloseShare = 1e-3;

/// Whether an answer obeys the network's equations so closely that the engine, begun
/// again there, would move nothing that matters: what is left over at nodes and
/// sources, and between the devices' currents as told and as their voltages demand (the
/// engine tells them as of the step before its last, so that they show how far that one
/// went).
bool is_close(const Network& network, const Solution& solution) {
  if (!obeys(residual(network, solution), kCloseShare)) return false;
  const Currents& told = solution.currents;
  const Currents found = currents_at(network, solution.volts, told);
  const auto is_same = [](double a, double b) {
    const double allowed = kResidualAmps + kResidualShare * std::abs(b);
    return std::abs(a - b) <= kCloseShare * allowed;
  };
  const auto are_same = [&is_same](const auto& a, const auto& b) {
    return std::equal(a.begin(), a.end(), b.begin(), b.end(), is_same);
  };
  return are_same(told.diodes, found.diodes) &&
         std::equal(told.bipolars.begin(), told.bipolars.end(), found.bipolars.begin(),
                    found.bipolars.end(), are_same) &&
         std::equal(told.mosfets.begin(), told.mosfets.end(), found.mosfets.begin(),
                    found.mosfets.end(), are_same);
}

bool has_ideal_diodes(const Network& network) {
  const auto& diodes = network.values.diodes;
  return std::any_of(diodes.begin(), diodes.end(),
                     [](const DiodeModel& m) { return m.n < kLeastRealEmission; });
}

/// A way to the answer through softer diodes, each solution the start of the next: an
/// ideal one moves by microvolts a step, which is too short among several of them.
Solution by_softening(EngineSession& session, const Network& network,
                      Clock::duration& left) {
  Solution last;
  DeckOptions options = kLooseDeck;
  for (const double emission :
       {1.0, 0.3, 0.1, 0.03, 1e-2, 3e-3, 1e-3, 3e-4, 1e-4, 3e-5}) {
    Solution next = ask(session, softened(network, emission), options, left);
    if (next.status != SolveStatus::solved) return next;
    options.start = next.volts;
  }
  for (DeckOptions closer : {kClosestDeck, kTightDeck, kLooseDeck, kLooseDeck}) {
    closer.start = options.start;
    last = ask(session, network, closer, left);
    if (stands(network, last)) return last;
    if (last.status == SolveStatus::solved) options.start = last.volts;
  }
  return last;
}

/// Why there is no waveform, in words that need no knowledge of the deck.
std::string reason_of(const EngineReply& reply) {
  if (reply.status != EngineStatus::not_solved) return reply.message;
  if (reply.reached <= 0.0) return "it found no way into the run";
  return "it found no way past " + format_quantity(reply.reached, Unit::second) +
         " of the run";
}

/// Follows a timeline, and takes the time that takes from `left`.
Waveform follow(EngineSession& session, const Timeline& timeline,
                const TransientDeckOptions& options, Clock::duration& left) {
  const Deck deck = make_deck(timeline, options);
  auto reply = run_within(
      session, {deck.lines, deck.vectors, wire::Analysis::transient, timeline.span},
      left);
  if (!reply)
    return no_answer<Waveform>(SolveStatus::engine_lost, used_up(session, "run"));
  if (reply->status != EngineStatus::solved)
    return no_answer<Waveform>(status_of(*reply), reason_of(*reply));
  Waveform w = waveform_from(timeline, deck, reply->values);
  w.least_emission = options.least_emission;
  return w;
}

/// The voltages of nodes that a timeline's transient is to begin at: those of its rest,
/// or where there are strays what its charges make of the network. None where the
/// engine needs no such start, or has none: charges that cannot be (a capacitor
/// straight across a source). Without its rest there is no transient: then it is not
/// solved, and `reason` tells.
Solution beginning(EngineSession& session, const Timeline& timeline) {
  Solution start;
  start.status = SolveStatus::solved;
  if (timeline.from_rest) {
    start = solve_with_engine(session, network_at(timeline, 0.0));
    if (start.status != SolveStatus::solved)
      start.reason = "at rest, before the run: " + start.reason;
  } else if (!timeline.network.structure->strays.empty()) {
    Solution charged = solve_with_engine(session, charged_at_start(timeline));
    if (charged.status == SolveStatus::solved) start = std::move(charged);
  }
  return start;
}

/// The engine's testimony about a timeline in the time that is `left`. Its own start is
/// in the options.
Waveform testify(EngineSession& session, const Timeline& timeline,
                 TransientDeckOptions wanted, Clock::duration& left) {
  Waveform first = follow(session, timeline, wanted, left);
  for (int looser = 0; looser < 2; ++looser) {
    if (first.status != SolveStatus::engine_failed || left <= left.zero()) break;
    // Newton's method less exact, the steps as exact as before but for the first.
    wanted.reltol *= 10.0;
    wanted.vntol *= 10.0;
    wanted.abstol *= 10.0;
    wanted.trtol /= 10.0;
    wanted.first_charged *= 100.0;
    Waveform again = follow(session, timeline, wanted, left);
    if (again.status != SolveStatus::engine_failed) return again;
  }
  return first;
}

}  // namespace

Solution solve_with_engine(EngineSession& session, const Network& network) {
  Solution answer;
  Clock::duration left = session.deadline();  // For all tries together.
  for (const DeckOptions& options : {kTightDeck, kLooseDeck, kUsualDeck}) {
    Solution first = ask(session, network, options, left);
    if (first.status == SolveStatus::engine_lost) return first;
    if (first.status != SolveStatus::solved) {
      if (answer.status != SolveStatus::solved) answer = std::move(first);
      continue;
    }
    if (is_close(network, first)) return first;
    // The engine stops when its voltages move less than their tolerance, whatever the
    // currents of steep elements do. Begun again at its own answer it goes on to where
    // nothing moves any more, with its matrix ordered for the conductances found there.
    for (DeckOptions closer : {kClosestDeck, kTightDeck}) {
      closer.start = first.volts;
      Solution second = ask(session, network, closer, left);
      if (stands(network, second)) return second;
    }
    const bool first_stands = stands(network, first);
    // It may circle below those tolerances; one step from near the answer is enough.
    DeckOptions near = kLooseDeck;
    near.start = first.volts;
    Solution step = ask(session, network, near, left);
    if (stands(network, step) && (!first_stands || residual(network, step).worst <
                                                       residual(network, first).worst))
      return step;
    if (first_stands) return first;
    answer = std::move(first);
  }
  if (has_ideal_diodes(network)) {
    Solution soft = by_softening(session, network, left);
    if (stands(network, soft)) return soft;
  }
  // Nothing stands: the failure is told, or a false solution goes on as it is, for the
  // agreement to withhold the verdict.
  return answer;
}

Waveform solve_with_engine(EngineSession& session, const Timeline& timeline,
                           const TransientDeckOptions& options) {
  Clock::duration left = session.deadline();
  TransientDeckOptions wanted = options;
  if (wanted.start.empty()) {
    Solution start = beginning(session, timeline);
    if (start.status != SolveStatus::solved)
      return no_answer<Waveform>(start.status, std::move(start.reason));
    wanted.start = std::move(start.volts);
  }
  return testify(session, timeline, std::move(wanted), left);
}

namespace {

/// See engine_in_time.
class EngineInTime {
 public:
  explicit EngineInTime(EngineSession& session) : session_(&session) {}

  Waveform operator()(const Timeline& timeline, const std::vector<double>& also_at,
                      int closer) {
    Clock::duration& left = deadlines_[&timeline];
    if (also_at.empty() && closer == 0) {
      left = session_->deadline();
      begun_ = nullptr;
    }
    if (begun_ != &timeline) {
      begun_ = nullptr;
      start_ = beginning(*session_, timeline);
      if (start_.status != SolveStatus::solved)
        return no_answer<Waveform>(start_.status, start_.reason);
      begun_ = &timeline;
    }
    const Structure& s = *timeline.network.structure;
    TransientDeckOptions options = options_for(s);
    options.start = start_.volts;
    options.also_at = also_at;
    options.reltol *= std::pow(0.1, closer);
    options.least_amps *= std::pow(0.1, closer);
    if (closer % 2 != 0 && !rings(s))
      options.method = TransientDeckOptions::Method::gear;
    return testify(*session_, timeline, std::move(options), left);
  }

 private:
  EngineSession* session_;
  /// Questions about several timelines may come in turn.
  std::map<const Timeline*, Clock::duration> deadlines_;
  const Timeline* begun_ = nullptr;  ///< That of the last question, if `start_` is its.
  Solution start_;
};

}  // namespace

SolveInTime engine_in_time(EngineSession& session) { return EngineInTime(session); }

}  // namespace benchproof
