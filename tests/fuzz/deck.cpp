// From a description to what both witnesses are given: any text that reads is lowered,
// its decks pass the guard, and the nodal solver's answer obeys the equations.

#include "spice/deck/deck.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "core/check/agree/agreement.h"
#include "core/network/equations.h"
#include "core/network/lower.h"
#include "core/network/timeline.h"
#include "core/nodal/nodal_solver.h"
#include "core/nodal/transient.h"
#include "spice/deck/transient_deck.h"
#include "spice/session/detail/deck_guard.h"
#include "tests/fuzz/bounded.h"
#include "tests/fuzz/described.h"
#include "tests/fuzz/target.h"

namespace benchproof::fuzz {
namespace {

/// A circuit of open pins has none; the engine is not asked about it.
bool has_elements(const Structure& s) {
  return !s.resistors.empty() || !s.capacitors.empty() || !s.inductors.empty() ||
         !s.voltage_sources.empty() || !s.current_sources.empty() ||
         !s.diodes.empty() || !s.bipolars.empty() || !s.mosfets.empty() ||
         !s.regulators.empty();
}

void check_deck(const Deck& deck, wire::Analysis analysis) {
  const GuardedDeck guarded = guard_deck(deck.lines, analysis);
  demand(guarded.complaint.empty(),
         "the guard accepts our decks: " + guarded.complaint);
  for (const std::string& name : deck.vectors)
    demand(vector_complaint(name).empty(), "the results asked for have names");
}

bool is_plain(const std::string& text) {
  return std::all_of(text.begin(), text.end(), [](unsigned char c) {
    return c == '\n' || (c >= ' ' && c < 0x7f);
  });
}

void check_annotated(const Circuit& circuit, const Network& network, const Deck& deck) {
  std::vector<std::string> names;
  for (const Part& part : circuit.parts) names.push_back(part.name);
  demand(is_plain(annotate(network, deck, names)), "an annotated deck is printable");
}

void check_rest(const Network& network) {
  const Solution solution = solve_nodal(network);
  if (solution.status != SolveStatus::solved) {
    demand(!solution.reason.empty(), "what is not solved has a reason");
    return;
  }
  demand(is_complete(network, solution), "a solution is complete");
  for (const double volts : solution.volts)
    demand(std::isfinite(volts), "a solved voltage is finite");
}

/// Coarse and short: that nothing breaks, not how exact it is.
void check_course(const Timeline& timeline) {
  TransientOptions coarse;
  coarse.relative = 1e-3;
  coarse.volts = 1e-3;
  coarse.points = 300;
  const Waveform waveform = solve_nodal(timeline, {}, coarse);
  demand(waveform.width == row_width(*timeline.network.structure) &&
             waveform.rows.size() == waveform.width * waveform.seconds.size(),
         "a waveform has whole rows");
  demand(std::is_sorted(waveform.seconds.begin(), waveform.seconds.end()),
         "time does not run back");
  demand((waveform.status == SolveStatus::solved) == waveform.reason.empty(),
         "what is not solved has a reason");
}

}  // namespace
}  // namespace benchproof::fuzz

int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  using namespace benchproof;
  const auto read = fuzz::read(fuzz::described(fuzz::text_of(bytes, size)));
  if (!read->result.circuit || !read->type_complaints.empty()) return 0;
  const Circuit& circuit = *read->result.circuit;
  if (!fuzz::is_small(circuit)) return 0;
  std::shared_ptr<const Structure> structure;
  for (const State& state : circuit.states) {
    for (const Phase& phase : phases(circuit, state)) {
      const Network network = lower(circuit, phase.state, structure);
      structure = network.structure;
      check_network(network);
      const Deck deck = make_deck(network);
      if (fuzz::has_elements(*structure)) {
        fuzz::check_deck(deck, wire::Analysis::operating_point);
        fuzz::check_annotated(circuit, network, deck);
      }
      fuzz::check_rest(network);
    }
  }
  for (const Run& run : circuit.runs) {
    const Timeline timeline = make_timeline(circuit, run);
    if (corners_of(timeline).size() > 300) continue;
    fuzz::check_deck(make_deck(timeline), wire::Analysis::transient);
    fuzz::check_course(timeline);
  }
  return 0;
}
