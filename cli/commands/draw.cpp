#include <algorithm>
#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "cli/commands/command_line/command.h"
#include "cli/commands/command_line/shared_options.h"
#include "cli/commands/files/reading.h"
#include "cli/commands/files/write_file.h"
#include "cli/commands/judging/progress.h"
#include "cli/commands/judging/witnesses.h"
#include "cli/commands/output.h"
#include "cli/render/diagram/diagram_picture.h"
#include "cli/render/diagram/diagram_svg.h"
#include "cli/render/verify/text.h"
#include "core/base/complaints.h"
#include "spice/session/engine_session.h"

namespace benchproof {
namespace {

struct DrawOptions {
  std::string file;
  std::string state;   ///< Empty: the circuit alone.
  std::string output;  ///< Empty: standard output.
  VersionChoice version;
  bool allow_unsealed = false;
};

/// The index of a state among those that were judged.
std::optional<std::size_t> index_of(const std::vector<StateWords>& states,
                                    const std::string& name) {
  const auto found =
      std::find_if(states.begin(), states.end(),
                   [&name](const StateWords& state) { return state.name == name; });
  if (name.empty() || found == states.end()) return std::nullopt;
  return static_cast<std::size_t>(found - states.begin());
}

/// Judges every steady state, for the layout follows the voltages of all, and writes
/// the diagram. Returns the exit status: that of the verdict.
int run_draw(const DrawOptions& options) {
  const Wishes asked = asked_version(options.version);
  EngineSession session(engine_options(options.allow_unsealed));
  session.start();  // It gets ready while we read.
  const Catalogue catalogue = built_in_catalogue();
  std::vector<std::string> states;
  if (!options.state.empty()) states.push_back(options.state);
  FileReport file = read_description(options.file, catalogue, asked, states);
  if (!file.circuit) return refuse(file, false);

  StillSolving progress;
  NodalWitness solvers;
  const Witnesses by = make_witnesses(session, solvers);
  file.verification = verify(*file.circuit, by.engine, by.nodal);
  session.finish();  // It ends while we draw.
  progress.end();
  write_error(failures_text(file) + seal_text(session));
  const DiagramPicture picture = picture_of(file);
  const std::string svg =
      diagram_file(file, picture, index_of(picture.states, options.state));
  const int status = exit_status(file.verification.verdict);
  if (options.output.empty()) return write_last(svg, status);
  if (const std::string failure = write_file(options.output, svg); !failure.empty()) {
    write_error("benchproof: " + benchproof::quoted(options.output) + ": " + failure +
                "\n");
    return std::max(status, kExitRefused);
  }
  return status;
}

}  // namespace

Command draw_command() {
  const auto given = std::make_shared<DrawOptions>();
  Options options;
  add_description(options, given->file);
  options
      .text("--state", "NAME", "with the voltages and currents of this state",
            given->state)
      .names(Meaning::state);
  options.text("-o", "OUT", "the file to write; else standard output", given->output)
      .names(Meaning::file);
  add_version_choice(options, given->version);
  add_unsealed(options, given->allow_unsealed);
  return {"draw", "draw the circuit diagram as SVG", std::move(options),
          [given] { return run_draw(*given); }};
}

}  // namespace benchproof
