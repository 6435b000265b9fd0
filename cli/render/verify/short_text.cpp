#include "cli/render/verify/short_text.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <span>
#include <vector>

#include "cli/render/layout.h"
#include "cli/render/verify/findings_text.h"
#include "cli/render/verify/run_text.h"
#include "cli/render/verify/state_text.h"
#include "cli/render/verify/verdict_text.h"
#include "core/check/finding/told.h"
#include "core/check/finding/wording.h"
#include "core/check/rating/light.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

/// "a", "a and b", "a, b and 3 more".
std::string listed(const std::vector<std::string>& names) {
  constexpr std::size_t kMost = 6;
  if (names.size() == 1) return names.front();
  if (names.size() > kMost)
    return fmt::format("{} and {} more",
                       fmt::join(std::span(names).first(kMost - 1), ", "),
                       names.size() - kMost + 1);
  return fmt::format("{} and {}",
                     fmt::join(std::span(names).first(names.size() - 1), ", "),
                     names.back());
}

/// "'quay2' 24.1 mA": another one of which the same is said.
std::string other_text(const ToldSubject& subject) {
  const Finding& f = *subject.worst;
  const std::string name =
      subject.name.empty() ? "the circuit" : fmt::format("'{}'", subject.name);
  return f.value && f.limit ? fmt::format("{} ({})", name, cell_text(*f.value, f.unit))
                            : name;
}

/// What follows from a cause: "voltage of 'rail' [expectation]".
std::string result_text(const Told& result) {
  std::vector<std::string> names;
  for (const ToldSubject& subject : result.subjects)
    names.push_back(fmt::format("'{}'", subject.name));
  return fmt::format("{} of {} [{}]", worst(result).quantity, listed(names),
                     worst(result).check);
}

/// One thing to be read: what it is, of what else it is true, where, what follows.
std::string told_text(const Told& told, bool is_alone, bool colour) {
  const Finding& first = worst(told);
  std::string text = plain_text(first.message);
  if (!first.phase.empty()) text += fmt::format(" (while {})", first.phase);
  if (told.subjects.size() > 1) {
    std::vector<std::string> others;
    for (std::size_t k = 1; k < told.subjects.size(); ++k)
      others.push_back(other_text(told.subjects[k]));
    text += "; the same of " + listed(others);
  }
  std::vector<std::string> tags;
  if (!is_alone) tags.push_back(listed({told.places.begin(), told.places.end()}));
  if (first.span.begin.line > 0)
    tags.push_back(fmt::format("line {}", first.span.begin.line));
  const std::string severity(severity_word(first.severity));
  if (first.is_expected) tags.emplace_back("expected");
  if (!tags.empty()) text += fmt::format(" ({})", fmt::join(tags, ", "));
  std::string lines =
      wrapped(fmt::format("{}: {} [{}]", severity, text, first.check), 2, 4);
  lines.replace(2, severity.size(), inked(severity, ink_of(first.severity), colour));
  if (told.results.empty()) return lines;
  std::vector<std::string> results;
  for (const Told& result : told.results) results.push_back(result_text(result));
  return lines + wrapped("from it follow: " + listed(results), 4, 6);
}

/// The resistor that alone stands at a pin of an LED; empty: none.
std::string resistor_of(const Circuit& circuit, int led) {
  for (const int net : circuit.parts.at(led).nets) {
    const auto pins = net < 0 ? std::vector<PinRef>() : resting_pins(circuit, net);
    if (pins.size() != 2) continue;
    const int other = pins[0].part == led ? pins[1].part : pins[0].part;
    if (circuit.parts.at(other).kind == KindId::resistor)
      return circuit.parts.at(other).name;
  }
  return {};
}

/// How to ask which resistor gives an LED the current that is expected of it; empty
/// where that is no question.
std::string size_pointer(const FileReport& report) {
  const Circuit& circuit = *report.circuit;
  if (report.one_mistake) return {};
  for (const StateResult& state : report.verification.states) {
    for (const ExpectationResult& result : state.expectations) {
      const Expectation& e = *result.expectation;
      const bool is_of_led = e.part >= 0 && e.quantity == Quantity::current &&
                             circuit.parts.at(e.part).kind == KindId::led &&
                             e.phase == Expectation::Phase::average;
      if (result.holds || !is_of_led || report.file == "-") continue;
      const std::string resistor = resistor_of(circuit, e.part);
      if (resistor.empty()) continue;
      const double wanted = e.nominal           ? *e.nominal
                            : e.least && e.most ? std::sqrt(*e.least * *e.most)
                                                : e.least.value_or(e.most.value_or(0));
      // What is meant to be dark, or has no current at all, is no question of a
      // resistor.
      constexpr double kLit = 0.5e-3, kNothing = 10e-6;
      if (wanted < kLit || std::abs(state.nodal.pin_amps.at(e.part).at(0)) < kNothing)
        continue;
      return fmt::format(
          "  which resistor gives what is expected:\n    benchproof size {} --part {} "
          "--want \"{} current = {}\"\n",
          report.file, resistor, circuit.parts.at(e.part).name,
          short_text(wanted, Unit::ampere));
    }
  }
  return {};
}

std::string expectations_text(const FileReport& report, const std::vector<Told>& all,
                              bool is_alone, bool colour) {
  std::size_t held = 0;
  std::size_t asked = 0;
  for (const StateResult& state : report.verification.states)
    for (const ExpectationResult& e : state.expectations) ++asked, held += e.holds;
  for (const RunResult& run : report.runs)
    for (const RunExpectationResult& e : run.expectations) ++asked, held += e.holds;
  if (asked == 0) return {};
  std::string text = fmt::format("\nexpectations: {} of {} hold\n", held, asked);
  for (const Told& told : all)
    if (is_expectation(worst(told))) text += told_text(told, is_alone, colour);
  return text + size_pointer(report);
}

/// As a meter shows it: to a millivolt.
std::string meter_text(double volts) {
  constexpr double kLeast = 0.5e-3;
  return std::abs(volts) < kLeast ? "0 V" : figure_text(volts, Unit::volt, 4);
}

std::string meter_text(const StateResult& state, std::size_t net) {
  if (!state.agrees) return "?";
  return floats(state, net) ? "floating" : meter_text(state.nodal.net_volts.at(net));
}

/// The nets of a few states side by side.
std::string nets_table(const Circuit& circuit, std::span<const StateResult> states) {
  std::vector<TableRow> rows = {{{"net"}}};
  for (const StateResult& state : states) rows[0].cells.push_back(state.name);
  for (std::size_t net = 1; net < circuit.nets.size(); ++net) {
    TableRow row{{circuit.nets[net].name}};
    for (const StateResult& state : states) row.cells.push_back(meter_text(state, net));
    rows.push_back(std::move(row));
  }
  return table(rows, "l" + std::string(states.size(), 'r'), 2);
}

/// The nets of one state, several in a line.
std::string nets_cells(const Circuit& circuit, const StateResult& state) {
  std::size_t widest = 0;
  for (const Net& net : circuit.nets) widest = std::max(widest, columns_of(net.name));
  if (widest > kWidestName) return nets_table(circuit, {&state, 1});
  std::vector<std::string> cells;
  for (std::size_t net = 1; net < circuit.nets.size(); ++net)
    cells.push_back(padded(circuit.nets[net].name, widest) + "  " +
                    right_aligned(meter_text(state, net), 8));
  return in_columns(cells, 2);
}

std::string nets_text(const FileReport& report) {
  const Circuit& circuit = *report.circuit;
  const std::span<const StateResult> states(report.verification.states);
  const bool is_pwm =
      std::any_of(states.begin(), states.end(),
                  [](const StateResult& s) { return s.phases.size() > 1; });
  std::string text = fmt::format("\nvoltages against ground{}\n",
                                 is_pwm ? ", under PWM on average" : "");
  if (states.size() == 1) return text + nets_cells(circuit, states.front());
  constexpr std::size_t kMostBesides = 5;
  for (std::size_t k = 0; k < states.size(); k += kMostBesides)
    text += nets_table(circuit,
                       states.subspan(k, std::min(kMostBesides, states.size() - k)));
  return text;
}

/// "quay1 17 %": how bright.
std::string light_text(const std::string& name, double share) {
  constexpr double kTooBright = 1.05;
  constexpr double kFaint = 0.01;
  if (share > kTooBright) return name + " too bright";
  if (share < kFaint) return name + " below 1 %";
  return fmt::format("{} {:.0f} %", name, share * 100.0);
}

/// How bright each lamp is in a state; empty where the circuit has none.
std::string lamps_line(const StateResult& state) {
  constexpr double kDark = 1e-4;
  std::vector<std::string> lit;
  std::vector<std::string> dark;
  for (std::size_t k = 0; k < state.parts.size(); ++k) {
    const Part& part = state.parts[k];
    const auto share = light_share(part, state.nodal.pin_amps.at(k).at(0),
                                   state.nodal.part_watts.at(k));
    if (!share) continue;
    if (*share < kDark)
      dark.push_back(part.name);
    else
      lit.push_back(light_text(part.name, *share));
  }
  if (lit.empty() && dark.empty()) return {};
  if (lit.empty()) return dark.size() == 1 ? dark.front() + " dark" : "all dark";
  std::string line = fmt::format("{}", fmt::join(lit, ", "));
  if (!dark.empty()) line += fmt::format("; dark: {}", fmt::join(dark, ", "));
  return line;
}

std::string lamps_text(const FileReport& report) {
  std::string text;
  const std::vector<StateResult>& states = report.verification.states;
  for (const StateResult& state : states) {
    if (!state.agrees) continue;
    const std::string line = lamps_line(state);
    if (line.empty()) continue;
    text += wrapped(states.size() == 1 ? line : state.name + ": " + line, 2, 4);
  }
  return text.empty() ? text : "\nlight, of what the rated current gives\n" + text;
}

/// What cannot be judged, in full.
std::string unjudged_text(const FileReport& report, bool colour) {
  std::string text;
  for (const StateResult& state : report.verification.states)
    if (!state.agrees) text += state_section(report, state, colour, false);
  for (const RunResult& run : report.runs)
    if (!run.agreement.agrees) text += run_section(report, run, colour, false);
  return text;
}

/// The findings of each state and run that could be judged; what could not has its own
/// section.
std::vector<FindingsAt> judged_findings(const FileReport& report) {
  std::vector<FindingsAt> all;
  for (const StateResult& state : report.verification.states)
    if (state.agrees) all.push_back({fmt::format("'{}'", state.name), state.findings});
  for (const RunResult& run : report.runs)
    if (run.agreement.agrees)
      all.push_back({fmt::format("run '{}'", run.name), run.findings});
  return all;
}

/// Of what is told together, and of what could not be judged.
Counts counts_of(const FileReport& report, const std::vector<Told>& all) {
  Counts counts;
  for (const StateResult& state : report.verification.states)
    for (const Finding& finding : state.findings)
      counts.faults += !state.agrees && counts_as(finding, Severity::fault) ? 1 : 0;
  for (const Told& told : all) {
    counts.faults += counts_as(worst(told), Severity::fault) ? 1 : 0;
    counts.cautions += counts_as(worst(told), Severity::caution) ? 1 : 0;
  }
  return counts;
}

}  // namespace

std::string more_text() {
  return "More: --full shows currents, powers and sources, --explain ID a finding's "
         "id.\n";
}

std::string short_text(const FileReport& report, bool colour) {
  if (!report.circuit) return {};
  const Circuit& circuit = *report.circuit;
  const std::size_t states = report.verification.states.size();
  const bool is_alone = states == 1 && report.runs.empty();
  const std::vector<FindingsAt> found = judged_findings(report);
  const std::vector<Told> all = told_together(found);
  std::string text = title_lines(circuit.title, colour);
  text += wrapped(
      fmt::format("{}: {}, {}, {}{} at {}", version_name(report),
                  counted(circuit.parts.size(), "part"),
                  counted(circuit.nets.size(), "net"), counted(states, "state"),
                  report.runs.empty() ? "" : ", " + counted(report.runs.size(), "run"),
                  figure_text(circuit.ambient, Unit::celsius)),
      0, 2);
  std::string verdict =
      wrapped("verdict: " + verdict_line(report, counts_of(report, all)), 0, 9);
  verdict.pop_back();
  text += inked(verdict, verdict_ink(verdict_of(report)), colour) + "\n";
  if (report.one_mistake) text += "\n" + one_mistake_text(*report.one_mistake, colour);
  text += unjudged_text(report, colour);
  std::string findings;
  for (const Told& told : all)
    if (!is_expectation(worst(told))) findings += told_text(told, is_alone, colour);
  if (!findings.empty()) text += "\n" + findings;
  text += expectations_text(report, all, is_alone, colour);
  text += nets_text(report);
  text += lamps_text(report);
  return text;
}

}  // namespace benchproof
