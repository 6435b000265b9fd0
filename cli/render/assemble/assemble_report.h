#pragma once

#include <string>
#include <vector>

#include "cli/render/verify/report.h"
#include "core/assemble/assembly.h"

namespace benchproof {

/// The order of the work and the description that it was made for.
struct AssembleReport {
  FileReport file;  ///< Read, and every steady state judged.
  Assembly assembly;
  std::vector<Finding> board_findings = {};  ///< Of the board's proof; sorted.
};

struct AssembleTextOptions {
  bool colour = false;  ///< With the terminal's colours.
  bool boxes = false;   ///< A box to tick before each step and reading.
};

/// The work step by step, for people: at most kLineWidth columns, ASCII but for the
/// description's own words. What stands against building the circuit comes first.
[[nodiscard]] std::string assemble_text(const AssembleReport& report,
                                        const AssembleTextOptions& options);

/// The same as a JSON object, layout 1; without a final line feed. Numbers are in SI
/// units and never rounded; what is not known, or not bounded, is null.
[[nodiscard]] std::string assemble_json(const AssembleReport& report);

/// What is joined to what, as CSV (RFC 4180): a header, then one row for each pin, in
/// the order of the work.
[[nodiscard]] std::string assemble_csv(const AssembleReport& report);

/// The net of what stands in the copper at a join's end; -1 where nothing does.
[[nodiscard]] int net_of_join(const AssembleReport& report, const Join& join);

/// The colour of a wire on the board: as described, else by its net; empty of solder
/// and bare wire.
[[nodiscard]] std::string colour_of_join(const AssembleReport& report,
                                         const Join& join);

/// What a stage is about: "output 'quay' of 'chip'".
[[nodiscard]] std::string stage_name(const Circuit& circuit, const BuildStage& stage);

}  // namespace benchproof
