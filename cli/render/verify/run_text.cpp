#include "cli/render/verify/run_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "cli/render/layout.h"
#include "cli/render/verify/findings_text.h"
#include "cli/render/verify/hand_text.h"
#include "core/check/expect/expectations.h"
#include "core/check/expect/run_expectations.h"

namespace benchproof {
namespace {

/// "unpowered to night, then dip at 20 ms": what happens.
std::string course_text(const Circuit& circuit, const Run& run) {
  const auto name = [&circuit](int state) {
    if (state == kUnpowered) return std::string("unpowered");
    if (state == kFromInitial) return std::string("the initial charges");
    return circuit.states[static_cast<std::size_t>(state)].name;
  };
  std::string text = "from " + name(run.from);
  constexpr std::size_t kMost = 4;
  for (std::size_t k = 0; k < run.steps.size() && k < kMost; ++k) {
    const RunStep& step = run.steps[k];
    text += fmt::format("{} {}", k == 0 ? " to" : ", then", name(step.state));
    if (step.at > 0.0) text += " at " + figure_text(step.at, Unit::second);
  }
  if (run.steps.size() > kMost)
    text += fmt::format(" and {} more steps", run.steps.size() - kMost);
  return fmt::format("{}; over {}", text, figure_text(run.seconds, Unit::second));
}

std::string agreement_text(const RunResult& run) {
  const RunAgreement& a = run.agreement;
  if (share_of(a) < kLittleShare)
    return "both witnesses agree throughout, within 1 % of what is allowed";
  return fmt::format(
      "both witnesses agree: {} of what is allowed ({} of {} at {}, {} into the run)",
      at_most_text(share_of(a)), figure_text(a.difference, Unit::volt, 2),
      figure_text(a.allowed, Unit::volt, 2), a.net,
      figure_text(a.seconds, Unit::second));
}

std::string expectations_text(const Circuit& circuit, const RunResult& run) {
  std::string text;
  for (const RunExpectationResult& r : run.expectations) {
    const Expectation& e = *r.expectation;
    const std::string_view mark = r.holds ? "holds" : "fails";
    const std::string found = plain_text(measure_text(e, r.nodal));
    text +=
        wrapped(fmt::format("{}  {} {}: {}; it {}", mark, words_of(e.quantity).quantity,
                            subject_of(circuit, e), plain_text(demand_text(e)),
                            found == "never" ? "never does" : "is " + found),
                4, 11);
  }
  return text.empty() ? text : "  expectations\n" + text;
}

/// The nets that move, as the nodal witness saw them: for a run that asks nothing.
std::string course_table(const Circuit& circuit, const RunResult& run) {
  constexpr double kMoves = 1e-3;  // volt
  constexpr std::size_t kMost = 12;
  // Beside the nets that move, a rest of leakage says nothing.
  const auto volts = [](double value) {
    return figure_text(std::abs(value) < kMoves ? 0.0 : value, Unit::volt);
  };
  std::vector<TableRow> rows = {{{"net", "start", "least", "most", "end"}}};
  std::size_t left_out = 0;
  for (std::size_t net = 1; net < circuit.nets.size(); ++net) {
    const NetCourse& course = run.courses.at(net);
    if (course.most - course.least < kMoves) continue;
    if (rows.size() > kMost) {
      ++left_out;
      continue;
    }
    rows.push_back({{circuit.nets[net].name, volts(course.first), volts(course.least),
                     volts(course.most), volts(course.last)}});
  }
  if (rows.size() == 1) return "  no net moves\n";
  std::string text = table(rows, "lrrrr", 4);
  if (left_out > 0)
    text += fmt::format("    {} more {}: see 'benchproof wave'\n", left_out,
                        left_out == 1 ? "net moves" : "nets move");
  return "  nets that move\n" + text;
}

/// What helps a run whose outputs modulate: each of their periods is looked at. Nothing
/// where there are few.
std::string fewer_periods(const Circuit& circuit, const Run& run) {
  constexpr double kMany = 20.0;
  double most = 0.0;
  std::string name;
  for (std::size_t k = 0; k < run.steps.size(); ++k) {
    if (run.steps[k].state < 0) continue;
    const double from = std::max(run.steps[k].at, 0.0);
    const double to = k + 1 < run.steps.size() ? run.steps[k + 1].at : run.seconds;
    const State& state = circuit.states[static_cast<std::size_t>(run.steps[k].state)];
    for (const auto& [pin, setting] : state.outputs) {
      const double periods = setting.hertz * (to - from);
      if (setting.level != OutputSetting::Level::pwm || !(periods > most)) continue;
      most = periods;
      const Part& part = circuit.parts[static_cast<std::size_t>(pin.part)];
      name = part.name + "." + part.pins[static_cast<std::size_t>(pin.pin)];
    }
  }
  if (most < kMany) return {};
  return wrapped(
      fmt::format(
          "each of the {:.0f} periods of '{}' is looked at: shorten the span, or "
          "let the run pass through states without PWM ('low', 'high')",
          most, name),
      4, 6);
}

/// Why a run cannot be judged.
std::string failure_text(const Circuit& circuit, const RunResult& run) {
  if (run.engine.status == SolveStatus::not_asked) return {};
  std::string text;
  bool is_told = false;
  for (const auto& [witness, waveform] :
       {std::pair{"engine", &run.engine}, std::pair{"nodal", &run.nodal}}) {
    if (waveform->status == SolveStatus::solved) continue;
    is_told = true;
    text += wrapped(fmt::format("the {} witness has no answer: {}", witness,
                                complaint_text(waveform->reason)),
                    4, 6);
  }
  if (run.engine.status == SolveStatus::engine_lost ||
      run.nodal.status == SolveStatus::no_convergence)
    text += fewer_periods(circuit, *run.run);
  return is_told ? text : wrapped(plain_text(run.agreement.reason), 4, 6);
}

}  // namespace

std::string run_section(const FileReport& report, const RunResult& run, bool colour,
                        bool by_hand) {
  std::string text = "\n" + inked("run " + run.name, Ink::strong, colour) + "\n";
  text += wrapped(course_text(*report.circuit, *run.run), 2, 4);
  if (!run.agreement.agrees) {
    text += "  nothing can be judged here\n" + failure_text(*report.circuit, run);
    if (!run.findings.empty())
      text += findings_section(run.findings, report.file, colour);
    return text;
  }
  text += wrapped(agreement_text(run), 2, 4);
  if (run.expectations.empty()) text += course_table(*report.circuit, run);
  text += expectations_text(*report.circuit, run);
  text += findings_section(run.findings, report.file, colour);
  if (!by_hand || run.by_hand.empty()) return text;
  return text + "  by hand\n" + hand_texts(run.by_hand);
}

}  // namespace benchproof
