#include "cli/render/verify/state_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "cli/render/layout.h"
#include "cli/render/verify/findings_text.h"
#include "cli/render/verify/hand_text.h"
#include "core/base/quantity.h"
#include "core/catalogue/kind.h"

namespace benchproof {
namespace {

/// Below this the witnesses testify to nothing (agreement: 1 uV), and a current is what
/// insulation lets through.
constexpr double kNoVolts = 1e-6;
constexpr double kNoWatts = 1e-12;
constexpr double kNoAmps = 1e-6;
/// Share of a value by which it must move under PWM to be shown as moving.
constexpr double kMoves = 0.01;

std::string volts_text(double volts) {
  if (std::abs(volts) < kNoVolts) return "0 V";
  return format_quantity(volts, Unit::volt, 4);
}

std::string amps_text(double amps) {
  if (std::abs(amps) < kNoAmps) return "0 A";
  return format_quantity(amps, Unit::ampere, 3);
}

std::string watts_text(double watts) {
  if (std::abs(watts) < kNoWatts) return "0 W";
  return format_quantity(watts, Unit::watt, 3);
}

/// "12.5 %": shares in one form, rounded to a tenth.
std::string percent_text(double share) {
  std::string text = fmt::format("{:.1f}", share * 100.0);
  if (text.ends_with(".0")) text.resize(text.size() - 2);
  return text + " %";
}

/// A two-pin part's current: into its first pin, or what a supply delivers at plus.
double through(const Part& part, const std::vector<double>& pin_amps) {
  return is_source(part.kind) ? -pin_amps.at(0) : pin_amps.at(0);
}

std::string phases_line(const StateResult& state) {
  std::vector<std::string> list;
  for (const PhaseResult& phase : state.phases)
    list.push_back(
        fmt::format("{} {}", phase.phase.name, percent_text(phase.phase.share)));
  return fmt::format("{} of the time", fmt::join(list, "; "));
}

/// How far the witnesses are apart at most, over all phases.
std::string agreement_line(const StateResult& state) {
  const Agreement* volts = nullptr;
  const Agreement* amps = nullptr;
  double most_volts = 0.0;
  double most_amps = 0.0;
  for (const PhaseResult& phase : state.phases) {
    const Agreement& a = phase.agreement;
    if (volts == nullptr || volts_share(a) > volts_share(*volts)) volts = &a;
    if (amps == nullptr || amps_share(a) > amps_share(*amps)) amps = &a;
    most_volts = std::max(most_volts, a.difference);
    most_amps = std::max(most_amps, std::abs(a.engine_amps - a.nodal_amps));
  }
  // Below these it is rounding, which no two machines share.
  constexpr double kSameVolts = 1e-12;
  constexpr double kSameAmps = 1e-12;
  if (most_volts < kSameVolts && most_amps < kSameAmps)
    return "both witnesses agree within 1 pV and 1 pA";
  const double share = std::max(volts_share(*volts), amps_share(*amps));
  if (share < kLittleShare) return "both witnesses agree within 1 % of what is allowed";
  const bool is_voltage = volts_share(*volts) >= amps_share(*amps);
  const Agreement& a = is_voltage ? *volts : *amps;
  const auto of = [](double difference, double allowed, Unit unit) {
    return format_quantity(difference, unit, 2) + " of " +
           format_quantity(allowed, unit, 2);
  };
  return fmt::format(
      "both witnesses agree: {} of what is allowed ({} at {})", at_most_text(share),
      is_voltage
          ? of(a.difference, a.allowed, Unit::volt)
          : of(std::abs(a.engine_amps - a.nodal_amps), a.allowed_amps, Unit::ampere),
      is_voltage ? "net " + a.net : a.part + (a.pin.empty() ? "" : "." + a.pin));
}

std::string nets_section(const Circuit& circuit, const StateResult& state) {
  std::size_t widest = 0;
  for (const Net& net : circuit.nets) widest = std::max(widest, columns_of(net.name));
  const bool is_narrow = widest <= kWidestName;
  std::vector<std::string> cells;
  std::vector<TableRow> rows;
  for (std::size_t k = 0; k < circuit.nets.size(); ++k) {
    const std::string& name = circuit.nets[k].name;
    const std::string volts =
        floats(state, k) ? "floating" : volts_text(state.nodal.net_volts.at(k));
    if (is_narrow)
      cells.push_back(padded(name, widest) + "  " + right_aligned(volts, 8));
    else
      rows.push_back({{name, volts}});
  }
  return "  nets against ground\n" +
         (is_narrow ? in_columns(cells, 4) : table(rows, "lr", 4));
}

/// The pins of a part that carry a current, "in 53.1 mA".
std::vector<std::string> pin_fields(const Part& part,
                                    const std::vector<double>& pin_amps) {
  std::vector<std::string> fields;
  for (std::size_t pin = 0; pin < part.pins.size(); ++pin)
    if (std::abs(pin_amps.at(pin)) >= kNoAmps)
      fields.push_back(fmt::format("{} {}", part.pins[pin], amps_text(pin_amps[pin])));
  return fields;
}

std::string parts_section(const StateResult& state) {
  std::vector<TableRow> two_pins;
  std::vector<TableRow> more_pins;
  std::vector<std::string> idle;
  for (std::size_t k = 0; k < state.parts.size(); ++k) {
    const Part& part = state.parts[k];
    const std::vector<double>& amps = state.nodal.pin_amps.at(k);
    const double watts = state.nodal.part_watts.at(k);
    // A supply says what it delivers, or takes up when it is being charged.
    const bool is_delivered = is_source(part.kind) && watts < 0.0;
    const std::string power = watts_text(is_delivered ? -watts : watts);
    const std::string kind_name(kind(part.kind).name);
    const std::vector<std::string> pins = pin_fields(part, amps);
    if (pins.empty()) {
      idle.push_back(part.name);
    } else if (part.pins.size() == 2) {
      const std::string_view remark = is_delivered ? "delivered" : "";
      two_pins.push_back({{part.name, kind_name, amps_text(through(part, amps)), power},
                          {std::string(remark)}});
    } else {
      more_pins.push_back({{part.name, kind_name, power}, pins});
    }
  }
  std::string text;
  if (!two_pins.empty()) {
    two_pins.insert(two_pins.begin(), TableRow{{"", "", "current", "power"}});
    text += "  parts of two pins\n" + table(two_pins, "llrr", 4);
  }
  if (!more_pins.empty()) {
    more_pins.insert(more_pins.begin(), TableRow{{"", "", "power"}, {"into its pins"}});
    text += "  parts of more pins\n" + table(more_pins, "llr", 4);
  }
  if (!idle.empty()) {
    for (std::size_t k = 0; k + 1 < idle.size(); ++k) idle[k] += ",";
    idle.insert(idle.begin(), "without current:");
    text += joined(idle, 1, 2, 4);
  }
  return text;
}

/// A figure that PWM moves: its average and its value in each phase.
struct Moving {
  std::string name;
  Unit unit = Unit::volt;
  double average = 0.0;
  std::vector<double> phases;
};

bool moves(const Moving& figure) {
  const auto [least, most] =
      std::minmax_element(figure.phases.begin(), figure.phases.end());
  const double largest = std::max(std::abs(*least), std::abs(*most));
  const double nothing = figure.unit == Unit::volt ? kNoVolts : kNoAmps;
  return largest >= nothing && *most - *least > kMoves * largest;
}

std::vector<Moving> moving_figures(const Circuit& circuit, const StateResult& state) {
  std::vector<Moving> list;
  const auto add_moving = [&](std::string name, Unit unit, double average,
                              const auto& see) {
    Moving figure{std::move(name), unit, average, {}};
    for (const PhaseResult& phase : state.phases)
      figure.phases.push_back(see(phase.nodal_seen));
    if (moves(figure)) list.push_back(std::move(figure));
  };
  for (std::size_t k = 0; k < circuit.nets.size(); ++k) {
    if (floats(state, k)) continue;
    add_moving("net " + circuit.nets[k].name, Unit::volt, state.nodal.net_volts.at(k),
               [k](const Observation& seen) { return seen.net_volts.at(k); });
  }
  for (std::size_t k = 0; k < state.parts.size(); ++k) {
    const Part& part = state.parts[k];
    if (part.pins.size() == 2) {
      add_moving(part.name, Unit::ampere, through(part, state.nodal.pin_amps.at(k)),
                 [&](const Observation& s) { return through(part, s.pin_amps.at(k)); });
      continue;
    }
    for (std::size_t pin = 0; pin < part.pins.size(); ++pin)
      add_moving(part.name + "." + part.pins[pin], Unit::ampere,
                 state.nodal.pin_amps.at(k).at(pin),
                 [k, pin](const Observation& s) { return s.pin_amps.at(k).at(pin); });
  }
  return list;
}

std::string pwm_section(const Circuit& circuit, const StateResult& state) {
  if (state.phases.size() < 2) return {};
  const bool is_on_off = state.phases.size() == 2;
  const auto text_of = [](const Moving& figure, double value) {
    return figure.unit == Unit::volt ? volts_text(value) : amps_text(value);
  };
  std::vector<TableRow> rows;
  if (is_on_off)
    rows.push_back(
        {{"", "average", state.phases[0].phase.name, state.phases[1].phase.name}});
  else
    rows.push_back({{"", "average", "least", "most"}});
  for (const Moving& figure : moving_figures(circuit, state)) {
    const auto [least, most] =
        std::minmax_element(figure.phases.begin(), figure.phases.end());
    rows.push_back({{figure.name, text_of(figure, figure.average),
                     text_of(figure, is_on_off ? figure.phases[0] : *least),
                     text_of(figure, is_on_off ? figure.phases[1] : *most)}});
  }
  return wrapped("under PWM (all figures above are averages): " + phases_line(state), 2,
                 4) +
         table(rows, "lrrr", 4);
}

std::string expectations_section(const StateResult& state) {
  if (state.expectations.empty()) return {};
  const auto held = std::count_if(state.expectations.begin(), state.expectations.end(),
                                  [](const ExpectationResult& e) { return e.holds; });
  const std::size_t total = state.expectations.size();
  return fmt::format(
      "  expectations: {} of {} hold{}\n", held, total,
      static_cast<std::size_t>(held) == total ? "" : "; the others are faults above");
}

std::string by_hand_section(const StateResult& state, bool in_full) {
  if (state.by_hand.empty()) return {};
  const std::size_t count = state.by_hand.size();
  if (!in_full)
    return fmt::format("  by hand: {} here (--by-hand shows {})\n",
                       count == 1 ? "1 rule fits" : fmt::format("{} rules fit", count),
                       count == 1 ? "it" : "them");
  const bool is_pwm = state.phases.size() > 1;
  return fmt::format("  by hand{}\n", is_pwm ? ", while every PWM output is on" : "") +
         hand_texts(state.by_hand);
}

/// Why a phase cannot be judged, with both testimonies.
std::string phase_failure(const PhaseResult& phase) {
  std::string text;
  const std::string in_phase =
      phase.phase.name.empty() ? "" : fmt::format("while {}: ", phase.phase.name);
  const auto silent = [&](std::string_view witness, const Solution& solution) {
    if (solution.status == SolveStatus::solved) return false;
    if (solution.status == SolveStatus::not_asked) return true;
    text += wrapped(fmt::format("{}the {} witness has no answer: {}", in_phase, witness,
                                complaint_text(solution.reason)),
                    4, 6);
    return true;
  };
  const bool engine_silent = silent("engine", phase.engine);
  const bool nodal_silent = silent("nodal", phase.nodal);
  const Agreement& a = phase.agreement;
  if (engine_silent || nodal_silent || a.agrees) return text;
  text += wrapped(in_phase + plain_text(a.reason), 4, 6);
  std::vector<TableRow> rows = {{{"", "engine", "nodal"}}};
  rows.push_back({{"net " + a.net, format_quantity(a.engine_volts, Unit::volt, 8),
                   format_quantity(a.nodal_volts, Unit::volt, 8)}});
  if (!a.part.empty())
    rows.push_back({{a.part + (a.pin.empty() ? "" : "." + a.pin),
                     format_quantity(a.engine_amps, Unit::ampere, 8),
                     format_quantity(a.nodal_amps, Unit::ampere, 8)}});
  rows.push_back({{"residual", format_quantity(a.engine_residual, Unit::ampere, 2),
                   format_quantity(a.nodal_residual, Unit::ampere, 2)}});
  return text + table(rows, "lrr", 4);
}

}  // namespace

bool floats(const StateResult& state, std::size_t net) {
  return net < state.floating.size() && state.floating[net];
}

std::string state_section(const FileReport& report, const StateResult& state,
                          bool colour, bool by_hand) {
  std::string text = "\n" + inked("state " + state.name, Ink::strong, colour) + "\n";
  if (!state.agrees) {
    text += "  nothing can be judged here\n";
    for (const PhaseResult& phase : state.phases) text += phase_failure(phase);
    if (!state.findings.empty())
      text += findings_section(state.findings, report.file, colour);
    return text;
  }
  text += wrapped(agreement_line(state), 2, 4);
  text += nets_section(*report.circuit, state);
  text += parts_section(state);
  text += pwm_section(*report.circuit, state);
  text += findings_section(state.findings, report.file, colour);
  text += expectations_section(state);
  text += by_hand_section(state, by_hand);
  return text;
}

}  // namespace benchproof
