#include "spice/deck/detail/regulator_lines.h"

#include <fmt/format.h>

#include <string_view>

#include "core/device/regulator.h"

namespace benchproof::deck_lines {
namespace {

/// In time, from so many bends on a smooth corner is taken for the straight line that
/// it nears: an eight-thousandth of a bend off, 0.13 uV for voltages.
constexpr double kFarBends = 2000.0;
/// And tanh(x) for 1: 8e-11 off.
constexpr double kFarWake = 12.0;

/// What the lines of one regulator are made of. A negative one's equation is that of
/// its mirror, in which voltages and currents are turned round.
struct RegulatorText {
  std::string id;
  std::string in;
  std::string common;
  std::string out;
  std::string above;   ///< The voltage from common to in.
  std::string u;       ///< The same in the mirror, if there is one.
  std::string passed;  ///< The current from in to out.
  std::string amps;    ///< The same in the mirror, if there is one.
};

std::string turned(const std::string& text, const RegulatorModel& m) {
  return m.is_negative ? fmt::format("(0-{})", text) : text;
}

/// `carrier`: the source whose current is what is passed.
RegulatorText text_of(std::size_t k, const ThreeEnds& e, const RegulatorModel& m,
                      std::string_view carrier) {
  RegulatorText t;
  t.id = std::to_string(k + 1);
  t.in = node(e.ends[0]);
  t.common = node(e.ends[1]);
  t.out = node(e.ends[2]);
  t.above = e.ends[1] == 0 ? fmt::format("v({})", t.in)
                           : fmt::format("(v({})-v({}))", t.in, t.common);
  t.u = turned(t.above, m);
  t.passed = fmt::format("i({}{})", carrier, t.id);
  t.amps = turned(t.passed, m);
  return t;
}

/// up(x) of core/device/regulator.h as an expression; `x` must bind tighter than '*'.
std::string up(std::string_view x, double bend) {
  return fmt::format("0.5*({0}+sqrt({0}*{0}+{1}))", x, number(bend * bend));
}

/// What flows back, as the voltage that it costs.
std::string back(const RegulatorText& t) {
  return fmt::format("{}*{}", number(kRegulatorStiff),
                     up(fmt::format("(0-{}-{})", t.amps, number(kRegulatorBackAmps)),
                        kRegulatorCurrentBend));
}

std::string quiescent(const RegulatorText& t, const RegulatorModel& m) {
  return fmt::format("{}*tanh({}/{})", number(m.quiescent), t.above,
                     number(kRegulatorWakeVolts));
}

/// head - set is u times this, less `set_constant`: one factor and one number, for the
/// engine reads every copy of an expression anew.
double set_factor(const RegulatorModel& m) { return 1.0 - m.line; }
double set_constant(const RegulatorModel& m) {
  return m.dropout + m.output - m.line * m.line_reference;
}

/// Adds nodes e and m: see add_regulator. `excess`: up(v(e)).
void add_aim(std::vector<std::string>& lines, const RegulatorText& t,
             const RegulatorModel& m, std::string_view excess) {
  using fmt::format;
  const std::string& id = t.id;
  const double sign = m.is_negative ? -1.0 : 1.0;
  lines.insert(
      lines.end(),
      {format("ge{0} 0 e{0} {1} {2} {3}", id, t.in, t.common,
              number(sign * set_factor(m))),
       format("ie{0} e{0} 0 {1}", id, number(set_constant(m))),
       format("rne{0} e{0} 0 1", id),
       format("gm{0} 0 m{0} {1} {2} {3}", id, t.in, t.common, number(sign)),
       format("im{0} m{0} 0 {1}", id, number(m.dropout)),
       format("bm{0} m{0} 0 i={1}", id, excess), format("rnm{0} m{0} 0 1", id)});
}

/// The steep part of the equation at rest. Volt.
std::string steep(const RegulatorText& t, const RegulatorModel& m) {
  const std::string over = fmt::format(
      "{}*{}", number(kRegulatorStiff),
      up(fmt::format("({}-({}))", t.amps, number(m.limit)), kRegulatorCurrentBend));
  return m.follows ? over : fmt::format("({}-{})", over, back(t));
}

void add_at_rest(std::vector<std::string>& lines, const RegulatorText& t,
                 const RegulatorModel& m) {
  const auto up_node = [&t](std::string_view node) {
    return up(fmt::format("v({}{})", node, t.id), kRegulatorVoltageBend);
  };
  if (!m.follows) add_aim(lines, t, m, up_node("e"));
  const std::string slope = fmt::format("({})*{}", number(m.resistance), t.amps);
  const std::string fall =
      m.follows ? fmt::format("{}+{}", slope, steep(t, m))
                : fmt::format("{}-({}-{}-{})", t.u, up_node("m"), slope, steep(t, m));
  lines.push_back(fmt::format("b{0} {1} p{0} v={2}", t.id, t.in,
                              m.is_negative ? "0-(" + fall + ")" : fall));
  lines.push_back(fmt::format("vp{0} p{0} {1} 0", t.id, t.out));
  if (m.quiescent > 0.0) {
    lines.push_back(fmt::format("bq{0} {1} q{0} i={2}", t.id, t.in, quiescent(t, m)));
  } else {
    lines.push_back(fmt::format("iq{0} {1} q{0} 0", t.id, t.in));
  }
  lines.push_back(fmt::format("vq{0} q{0} {1} 0", t.id, t.common));
}

/// up(x) of a voltage that is mostly well above 0.
std::string up_mostly(std::string_view x, double bend) {
  return fmt::format("({0}>{1})?({0}):({2})", x, number(kFarBends * bend), up(x, bend));
}

/// Node l: by how much the current is below its limit, at kRegulatorStiff to the
/// ampere, as it counts in the equation. The engine takes a current for settled when it
/// moves by no more than reltol of itself, which of 140 mA is 14 nA and at
/// kRegulatorStiff 14 mV: in short steps it would stop half a milliampere beside the
/// corner. Not so of what flows back: at a microampere abstol does, and a voltage would
/// have to settle beyond the rounding of currents.
/// @return what is beyond the limit, as the voltage that it costs: up(-l), mostly 0.
std::string add_limit(std::vector<std::string>& lines, const RegulatorText& t,
                      const RegulatorModel& m, std::string_view carrier) {
  lines.push_back(
      fmt::format("fl{0} l{0} 0 {1}{0} {2}", t.id, carrier, m.is_negative ? -1 : 1));
  lines.push_back(fmt::format("il{0} 0 l{0} {1}", t.id, number(m.limit)));
  lines.push_back(fmt::format("rnl{0} l{0} 0 {1}", t.id, number(kRegulatorStiff)));
  const double bend = kRegulatorStiff * kRegulatorCurrentBend;
  return fmt::format("(v(l{0})>{1})?(0):(0.5*(sqrt(v(l{0})*v(l{0})+{2})-v(l{0})))",
                     t.id, number(kFarBends * bend), number(bend * bend));
}

/// Nodes e, m, t and l: see add_regulator.
void add_regulation(std::vector<std::string>& lines, const RegulatorText& t,
                    const RegulatorModel& m) {
  using fmt::format;
  const double sign = m.is_negative ? -1.0 : 1.0;
  const std::string& id = t.id;
  const std::string aim = up_mostly(format("v(m{})", id), kRegulatorVoltageBend);
  const std::string excess = up_mostly(format("v(e{})", id), kRegulatorVoltageBend);
  const std::string over = add_limit(lines, t, m, "e");
  add_aim(lines, t, m, excess);
  lines.insert(
      lines.end(),
      {format("bt{0} 0 t{0} i={1}", id, aim), format("bo{0} t{0} 0 i={1}", id, over),
       format("bb{0} 0 t{0} i=({1}>0)?(0):({2})", id, t.amps, back(t)),
       format("rnt{0} t{0} 0 1", id),
       format("e{0} {1} {2} 0 t{0} {3}", id, t.common, t.out, number(sign)),
       format("fi{0} {1} {2} e{0} 1", id, t.in, t.common)});
  if (m.resistance > 0.0)
    lines.push_back(format("ft{0} t{0} 0 e{0} {1}", id, number(sign * m.resistance)));
}

void add_in_time(std::vector<std::string>& lines, const RegulatorText& t,
                 const RegulatorModel& m) {
  if (m.follows) {
    const std::string over = turned("(" + add_limit(lines, t, m, "b") + ")", m);
    const std::string slope =
        m.resistance > 0.0 ? fmt::format("+{}*{}", number(m.resistance), t.passed) : "";
    lines.push_back(fmt::format("b{} {} {} v={}{}", t.id, t.in, t.out, over, slope));
  } else {
    add_regulation(lines, t, m);
  }
  if (m.quiescent <= 0.0) return;
  lines.push_back(fmt::format("bq{} {} {} i=({}>{})?({}):({})", t.id, t.in, t.common,
                              t.u, number(kFarWake * kRegulatorWakeVolts),
                              number(m.is_negative ? -m.quiescent : m.quiescent),
                              quiescent(t, m)));
}

std::string_view carrier_in_time(const RegulatorModel& m) {
  return m.follows ? "b" : "e";
}

}  // namespace

void add_regulator(std::vector<std::string>& lines, std::size_t k, const ThreeEnds& e,
                   const RegulatorModel& m, Analysis analysis) {
  if (analysis == Analysis::at_rest)
    return add_at_rest(lines, text_of(k, e, m, "vp"), m);
  add_in_time(lines, text_of(k, e, m, carrier_in_time(m)), m);
}

std::string passed_in_time(std::size_t k, const RegulatorModel& m) {
  return fmt::format("{}{}#branch", carrier_in_time(m), k + 1);
}

}  // namespace benchproof::deck_lines
