#include "judged.h"

#include "core/circuit/read/reader.h"
#include "core/nodal/nodal_solver.h"
#include "core/verify/hand_rules.h"

namespace benchproof {

const std::string_view kFaded = R"(
title = "Faded"
[parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "1 A", regulated = true }
chip = { kind = "controller", type = "cmos-5v", outputs = ["fade"] }
r    = { kind = "resistor", value = "220R", power = "0.25 W" }
lamp = { kind = "led", colour = "red" }
near = { kind = "capacitor", value = "100nF", rated = "50 V" }
[nets]
ground = ["jack.minus", "chip.vss", "lamp.cathode", "near.b"]
rail   = ["jack.plus", "chip.vdd", "near.a"]
out    = ["chip.fade", "r.a"]
anode  = ["r.b", "lamp.anode"]
[states.night]
"chip.fade" = { pwm = "25%", frequency = "500 Hz" }
[[expect]]
part = "lamp"
phase = "on"
current = { min = "1 mA", max = "20 mA" }
why = "to be seen"
)";

FileReport judged(std::string_view text,
                  const std::function<void(Solution&)>& distort) {
  static const Catalogue catalogue = built_in_catalogue();
  FileReport report;
  report.file = "harbour/test.toml";
  report.source = text;
  ReadResult read = read_circuit(text, report.file, catalogue);
  report.complaints = std::move(read.diagnostics);
  report.circuit = std::move(read.circuit);
  if (!report.circuit) return report;
  const Solve nodal = solve_nodal;
  const Solve engine = [&](const Network& network) {
    Solution solution = solve_nodal(network);
    distort(solution);
    return solution;
  };
  report.verification = verify(*report.circuit, engine, nodal);
  put_by_hand(*report.circuit, report.verification);
  return report;
}

}  // namespace benchproof
