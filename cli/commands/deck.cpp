#include "spice/deck/deck.h"

#include <fmt/format.h>

#include <algorithm>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "cli/commands/command.h"
#include "cli/commands/output.h"
#include "cli/commands/reading.h"
#include "cli/commands/shared_options.h"
#include "cli/render/text.h"
#include "core/network/lower.h"

namespace benchproof {
namespace {

struct DeckCommandOptions {
  std::string file;
  VersionChoice version;
  std::string state;   ///< Empty: the first that is judged at rest.
  bool plain = false;  ///< As the engine gets it, without explanations.
};

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

/// Writes the deck that the engine is sent for one state (on PWM: with all outputs on).
/// Returns the exit status.
int run_deck(const DeckCommandOptions& options) {
  const Wishes asked = asked_version(options.version);
  const Catalogue catalogue = built_in_catalogue();
  std::vector<std::string> states;
  if (!options.state.empty()) states.push_back(options.state);
  const FileReport report = read_description(options.file, catalogue, asked, states);
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
  return write_last(text, kExitGood);
}

}  // namespace

Command deck_command() {
  const auto given = std::make_shared<DeckCommandOptions>();
  Options options;
  add_description(options, given->file);
  options.text("--state", "NAME", "this state; the first one at rest if not given",
               given->state);
  add_version_choice(options, given->version);
  options.flag("--plain", "without explanations", given->plain);
  return {"deck", "show the deck that the engine is sent", std::move(options),
          [given] { return run_deck(*given); }};
}

}  // namespace benchproof
