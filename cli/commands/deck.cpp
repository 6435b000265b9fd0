#include "spice/deck/deck.h"

#include <fmt/format.h>

#include <algorithm>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "cli/commands/command_line/command.h"
#include "cli/commands/command_line/shared_options.h"
#include "cli/commands/files/reading.h"
#include "cli/commands/output.h"
#include "cli/render/verify/text.h"
#include "core/check/finding/wording.h"
#include "core/network/lower.h"
#include "core/network/timeline.h"
#include "spice/deck/transient_deck.h"

namespace benchproof {
namespace {

struct DeckCommandOptions {
  std::string file;
  VersionChoice version;
  std::string state;   ///< Empty: the first that is judged at rest.
  std::string run;     ///< Empty: a state's deck is meant.
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

std::string heading(const Run& run, const Timeline& timeline) {
  std::string text = fmt::format("* run {}, {} long\n", run.name,
                                 short_text(run.seconds, Unit::second));
  if (timeline.from_rest)
    text +=
        "* It begins at rest. The engine is asked for that first, as of a state, and\n"
        "* then given the voltages that it found to start from (.nodeset).\n";
  return text;
}

/// A deck, and the same with its names explained.
struct DeckTexts {
  Deck deck;
  std::string explained;
};

/// Puts a heading below the title of an explained deck.
DeckTexts with_heading(Deck deck, std::string explained, const std::string& heading) {
  explained.insert(explained.find('\n') + 1, heading);
  return {std::move(deck), std::move(explained)};
}

/// What the engine is sent for one state (on PWM: with all outputs on).
DeckTexts deck_of(const Circuit& circuit, const State& state,
                  const std::vector<std::string>& names) {
  const std::vector<Phase> all = phases(circuit, state);
  const Phase& phase = all.front();  // All PWM outputs begin with on.
  const Network network = lower(circuit, phase.state);
  Deck deck = make_deck(network);
  std::string explained = annotate(network, deck, names);
  return with_heading(std::move(deck), std::move(explained),
                      heading(state, phase, all.size()));
}

/// What the engine is sent for the whole of a run.
DeckTexts deck_of(const Circuit& circuit, const Run& run,
                  const std::vector<std::string>& names) {
  const Timeline timeline = make_timeline(circuit, run);
  Deck deck = make_deck(timeline, options_for(*timeline.network.structure));
  std::string explained = annotate(timeline, deck, names);
  return with_heading(std::move(deck), std::move(explained), heading(run, timeline));
}

DeckTexts wanted_deck(const Circuit& circuit, const DeckCommandOptions& options) {
  std::vector<std::string> names;
  for (const Part& part : circuit.parts) names.push_back(part.name);
  if (options.run.empty())
    return deck_of(circuit, wanted_state(circuit, options.state), names);
  const auto run =
      std::find_if(circuit.runs.begin(), circuit.runs.end(),
                   [&](const Run& known) { return known.name == options.run; });
  return deck_of(circuit, *run, names);
}

/// Writes the deck that the engine is sent for a state or a run. Returns the exit
/// status.
int run_deck(const DeckCommandOptions& options) {
  const Wishes asked = asked_version(options.version);
  const Catalogue catalogue = built_in_catalogue();
  std::vector<std::string> states;
  if (!options.state.empty()) states.push_back(options.state);
  std::vector<std::string> runs;
  if (!options.run.empty()) runs.push_back(options.run);
  const FileReport report =
      read_description(options.file, catalogue, asked, states, runs);
  write_error(complaints_text(report, wraps_errors()));
  if (!report.circuit) return kExitRefused;

  const DeckTexts texts = wanted_deck(*report.circuit, options);
  if (!options.plain) return write_last(texts.explained, kExitGood);
  std::string text;
  for (const std::string& line : texts.deck.lines) text += line + "\n";
  return write_last(text, kExitGood);
}

}  // namespace

Command deck_command() {
  const auto given = std::make_shared<DeckCommandOptions>();
  Options options;
  add_description(options, given->file);
  options
      .text("--state", "NAME", "this state; the first one at rest if not given",
            given->state)
      .names(Meaning::state);
  options.text("--run", "NAME", "this run, where the description has some", given->run)
      .names(Meaning::run)
      .excludes = "--state";
  add_version_choice(options, given->version);
  options.flag("--plain", "without explanations", given->plain);
  return {"deck", "show the deck that the engine is sent", std::move(options),
          [given] { return run_deck(*given); }};
}

}  // namespace benchproof
