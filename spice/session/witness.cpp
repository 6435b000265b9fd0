#include "spice/session/witness.h"

#include "spice/deck/deck.h"

namespace benchproof {

Solution solve_with_engine(EngineSession& session, const Network& network) {
  const Deck deck = make_deck(network);
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

}  // namespace benchproof
