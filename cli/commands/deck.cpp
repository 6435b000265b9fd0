#include "cli/commands/deck.h"

#include <fmt/format.h>

#include <algorithm>

#include "cli/commands/output.h"
#include "cli/commands/reading.h"
#include "cli/render/text.h"
#include "core/network/lower.h"
#include "spice/deck/deck.h"

namespace benchproof {
namespace {

const State& wanted_state(const Circuit& circuit, const std::string& name) {
  return *std::find_if(circuit.states.begin(), circuit.states.end(),
                       [&name](const State& state) {
                         return name.empty() ? state.steady : state.name == name;
                       });
}

/// The comments that say what the deck is of.
std::string heading(const State& state, const Phase& phase, std::size_t phase_count) {
  std::string text = fmt::format("* state {}\n", state.name);
  if (phase_count > 1)
    text += fmt::format("* PWM: the phase '{}', {:.4g} % of the time; {} in all\n",
                        phase.name, phase.share * 100.0, phase_count);
  return text;
}

}  // namespace

int run_deck(const DeckCommandOptions& options) {
  const Catalogue catalogue = built_in_catalogue();
  std::vector<std::string> states;
  if (!options.state.empty()) states.push_back(options.state);
  const FileReport report =
      read_description(options.file, catalogue, options.asked, states);
  write_error(complaints_text(report, wraps_errors()));
  if (!report.circuit) return kExitRefused;

  const Circuit& circuit = *report.circuit;
  const State& state = wanted_state(circuit, options.state);
  const std::vector<Phase> all = phases(circuit, state);
  const Phase& phase = all.front();  // All PWM outputs begin with on.
  const Network network = lower(circuit, phase.state);
  const Deck deck = make_deck(network);

  std::string text;
  if (options.plain) {
    for (const std::string& line : deck.lines) text += line + "\n";
  } else {
    std::vector<std::string> names;
    for (const Part& part : circuit.parts) names.push_back(part.name);
    text = annotate(network, deck, names);
    text.insert(text.find('\n') + 1, heading(state, phase, all.size()));
  }
  return write_result(text) ? kExitGood : kExitRefused;
}

}  // namespace benchproof
