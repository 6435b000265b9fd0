#include "spice/session/witness.h"

#include <utility>

#include "core/network/equations.h"
#include "spice/deck/deck.h"

namespace benchproof {
namespace {

Solution ask(EngineSession& session, const Network& network,
             const DeckOptions& options) {
  const Deck deck = make_deck(network, options);
  const EngineReply reply = session.run({deck.lines, deck.vectors});
  if (reply.status == EngineStatus::solved) {
    return from_vectors(network, deck, reply.values);
  }
  Solution failed;
  failed.status = reply.status == EngineStatus::not_solved ? SolveStatus::engine_failed
                                                           : SolveStatus::engine_lost;
  failed.reason = reply.message;
  return failed;
}

/// Whether an answer obeys the network's equations; the engine may say "solved" of one
/// that does not, when its last resort runs out of steps.
bool stands(const Network& network, const Solution& solution) {
  if (solution.status != SolveStatus::solved) return false;
  const Residual r = residual(network, solution);
  return r.worst <= 1.0 && r.volts <= kResidualVolts;
}

}  // namespace

Solution solve_with_engine(EngineSession& session, const Network& network) {
  Solution tight = ask(session, network, {});
  if (stands(network, tight) || tight.status == SolveStatus::engine_lost) return tight;
  // Loosely first, then tightly from there: the engine's own way, in two steps.
  Solution loose = ask(session, network, {1e-6, 1e-9, 1e-12, {}});
  if (stands(network, loose) || loose.status == SolveStatus::engine_lost) return loose;
  DeckOptions from_loose;
  from_loose.start = loose.volts;
  Solution second = ask(session, network, from_loose);
  if (stands(network, second)) return second;
  // Nothing stands. A false solution goes on as it is: the agreement will not pass it.
  for (Solution* s : {&second, &tight, &loose}) {
    if (s->status == SolveStatus::solved) return std::move(*s);
  }
  return tight;
}

}  // namespace benchproof
