#include "spice/deck/detail/deck_lines.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cassert>
#include <charconv>
#include <cmath>
#include <map>
#include <numeric>
#include <set>
#include <string_view>
#include <utility>

#include "core/base/quantity.h"
#include "core/device/constants.h"
#include "core/device/regulator.h"

namespace benchproof::deck_lines {
namespace {

/// The engine lifts a smaller saturation current of a diode model to this, without a
/// word (measured on ngspice 39). Ampere.
constexpr double kLeastEngineSaturation = 1e-28;

/// A diode as the engine takes it: one whose saturation current is too small for it is
/// that share, its `area`, of a larger one. A model's resistance is that of area 1; its
/// breakdown does not go with area.
struct EngineDiode {
  DiodeModel model;
  double area = 1.0;
};

EngineDiode engine_diode(const DiodeModel& m) {
  if (m.is >= kLeastEngineSaturation) return {m};
  EngineDiode d{m, m.is / kLeastEngineSaturation};
  d.model.is = kLeastEngineSaturation;
  d.model.rs = m.rs * d.area;
  return d;
}

std::string diode_model(const DiodeModel& m) {
  std::string line =
      fmt::format("d is={} n={} rs={} eg={} xti={} tnom={}", number(m.is), number(m.n),
                  number(m.rs), number(m.eg), number(m.xti), number(m.tnom));
  if (std::isfinite(m.bv)) {
    line +=
        fmt::format(" bv={} ibv={} nbv={}", number(m.bv), number(m.ibv), number(m.nbv));
  }
  return line;
}

std::string bipolar_model(const BipolarModel& m) {
  std::string line = fmt::format(
      "{} is={} bf={} br={} nf={} nr={} eg={} xti={} tnom={}", m.is_pnp ? "pnp" : "npn",
      number(m.is), number(m.bf), number(m.br), number(m.nf), number(m.nr),
      number(m.eg), number(m.xti), number(m.tnom));
  if (std::isfinite(m.vaf)) line += fmt::format(" vaf={}", number(m.vaf));
  return line;
}

/// The saturation currents move with temperature as the transistor's does: without n in
/// the exponent.
std::string half_model(const BipolarModel& m, double n, double gain) {
  DiodeModel half;
  half.is = m.is / gain;
  half.n = n;
  half.eg = m.eg * n;
  half.xti = m.xti * n;
  half.tnom = m.tnom;
  return diode_model(half);
}

void add_ideal_transistor(std::vector<std::string>& lines, std::size_t k,
                          const ThreeEnds& e, const BipolarModel& m) {
  const std::string id = std::to_string(k + 1);
  const std::string collector = node(e.ends[0]);
  const std::string base = node(e.ends[1]);
  const std::string emitter = node(e.ends[2]);
  lines.push_back(fmt::format(".model mf{} {}", id, half_model(m, m.nf, m.bf)));
  lines.push_back(fmt::format(".model mr{} {}", id, half_model(m, m.nr, m.br)));
  const auto junction = [&](char half, const std::string& end) {
    // From base to end for an NPN, the other way for a PNP; the source reads it.
    lines.push_back(m.is_pnp ? fmt::format("v{0}{1} {0}{1} {2} 0", half, id, base)
                             : fmt::format("v{0}{1} {2} {0}{1} 0", half, id, base));
    lines.push_back(m.is_pnp
                        ? fmt::format("d{0}{1} {2} {0}{1} m{0}{1}", half, id, end)
                        : fmt::format("d{0}{1} {0}{1} {2} m{0}{1}", half, id, end));
  };
  junction('f', emitter);
  junction('r', collector);
  const std::string& from = m.is_pnp ? emitter : collector;
  const std::string& to = m.is_pnp ? collector : emitter;
  lines.push_back(fmt::format("ff{0} {1} {2} vf{0} {3}", id, from, to, number(m.bf)));
  lines.push_back(fmt::format("fr{0} {2} {1} vr{0} {3}", id, from, to, number(m.br)));
}

std::string mos_model(const MosModel& m) {
  // is = 0 takes away the engine's own body junctions: a body diode is a diode element.
  return fmt::format("{} level=1 vto={} kp={} lambda={} gamma=0 is=0 tnom={}",
                     m.is_p_channel ? "pmos" : "nmos", number(m.vto), number(m.kp),
                     number(m.lambda), number(m.tnom));
}

/// The models of one kind of element that are in the deck, by the number of the first
/// element that has them. Parts of one type share one, which spares the engine most of
/// their reading.
class Models {
 public:
  explicit Models(std::string prefix) : prefix_(std::move(prefix)) {}

  /// The model's name; its line is added unless it is there.
  std::string name(std::vector<std::string>& lines, std::size_t k,
                   const std::string& model) {
    const auto [entry, is_new] = names_.try_emplace(model);
    if (is_new) {
      entry->second = fmt::format("{}{}", prefix_, k + 1);
      lines.push_back(fmt::format(".model {} {}", entry->second, model));
    }
    return entry->second;
  }

 private:
  std::string prefix_;
  std::map<std::string, std::string> names_;
};

/// up(x) of core/device/regulator.h as an expression; `x` must bind tighter than '*'.
std::string up(const std::string& x, double bend) {
  return fmt::format("0.5*({0}+sqrt({0}*{0}+{1}))", x, number(bend * bend));
}

/// How a regulator is written: the texts that stand for its voltages and currents.
struct RegulatorText {
  std::string id;
  std::string u;     ///< From common to in, of a negative one from in to common.
  std::string amps;  ///< From in to out, of a negative one the other way.
};

/// The target as an expression. In time, what it is before it is kept above 0 is the
/// voltage of a node of its own (m), which makes the expression a ninth as long. At
/// rest that node costs digits: one of 8,000 random networks disagreed.
std::string add_target(std::vector<std::string>& lines, const RegulatorText& t,
                       const RegulatorModel& m, Analysis analysis) {
  if (m.follows) return t.u;
  // head - set as one factor and one number: the engine reads every copy of an
  // expression anew.
  const double constant = m.dropout + m.output - m.line * m.line_reference;
  const std::string excess =
      fmt::format("({}*{}-({}))", number(1.0 - m.line), t.u, number(constant));
  const std::string lower = fmt::format("{}-({})-{}", t.u, number(m.dropout),
                                        up(excess, kRegulatorVoltageBend));
  if (analysis == Analysis::at_rest)
    return up("(" + lower + ")", kRegulatorVoltageBend);
  lines.push_back(fmt::format("bm{0} m{0} 0 v={1}", t.id, lower));
  return up(fmt::format("v(m{})", t.id), kRegulatorVoltageBend);
}

/// The steep part of the equation, volt.
///
/// In time, how far the current is beyond the limit is the voltage of a node of its own
/// (l), at kRegulatorStiff to the ampere, as it counts in the equation. The engine
/// takes a current for settled when it moves by no more than reltol of itself, which of
/// 140 mA is 14 nA and at kRegulatorStiff 14 mV: in short steps it would stop half a
/// milliampere beside the corner. Not so of what flows back: at a microampere abstol
/// does, and a voltage would have to settle beyond the rounding of currents. Nor at
/// rest, where whoever asks holds the answer against the equation.
std::string add_steep(std::vector<std::string>& lines, const RegulatorText& t,
                      const RegulatorModel& m, Analysis analysis) {
  const std::string stiff = number(kRegulatorStiff);
  const std::string beyond = fmt::format("({}-({}))", t.amps, number(m.limit));
  std::string over;
  if (analysis == Analysis::in_time) {
    lines.push_back(fmt::format("bl{0} l{0} 0 v={1}*{2}", t.id, stiff, beyond));
    over = up(fmt::format("v(l{})", t.id), kRegulatorStiff * kRegulatorCurrentBend);
  } else {
    over = stiff + "*" + up(beyond, kRegulatorCurrentBend);
  }
  if (m.follows) return over;
  const std::string back =
      up(fmt::format("(0-{}-{})", t.amps, number(kRegulatorBackAmps)),
         kRegulatorCurrentBend);
  return fmt::format("({}-{}*{})", over, stiff, back);
}

/// The pass element: a behavioural source from in to an inner node, whose voltage
/// follows the equation in core/device/regulator.h, a 0 V source to read its current,
/// and a current source with another 0 V source for the quiescent current.
void add_regulator(std::vector<std::string>& lines, std::size_t k, const ThreeEnds& e,
                   const RegulatorModel& m, Analysis analysis) {
  const std::string id = std::to_string(k + 1);
  const std::string in = node(e.ends[0]);
  const std::string common = node(e.ends[1]);
  const std::string out = node(e.ends[2]);
  const std::string above = e.ends[1] == 0 ? fmt::format("v({})", in)
                                           : fmt::format("(v({})-v({}))", in, common);
  // A negative regulator's equation is that of its mirror.
  const RegulatorText t{
      id, m.is_negative ? fmt::format("(0-{})", above) : above,
      m.is_negative ? fmt::format("(0-i(vp{}))", id) : fmt::format("i(vp{})", id)};
  const std::string target = add_target(lines, t, m, analysis);
  const std::string steep = add_steep(lines, t, m, analysis);
  const std::string slope = fmt::format("({})*{}", number(m.resistance), t.amps);
  const std::string fall =
      m.follows ? fmt::format("{}+{}", slope, steep)
                : fmt::format("{}-({}-{}-{})", t.u, target, slope, steep);
  lines.push_back(fmt::format("b{0} {1} p{0} v={2}", id, in,
                              m.is_negative ? "0-(" + fall + ")" : fall));
  lines.push_back(fmt::format("vp{0} p{0} {1} 0", id, out));
  if (m.quiescent > 0.0) {
    lines.push_back(fmt::format("bq{0} {1} q{0} i={2}*tanh({3}/{4})", id, in,
                                number(m.quiescent), above,
                                number(kRegulatorWakeVolts)));
  } else {
    lines.push_back(fmt::format("iq{0} {1} q{0} 0", id, in));
  }
  lines.push_back(fmt::format("vq{0} q{0} {1} 0", id, common));
}

/// The nodes whose voltages can be chosen: of those that voltage sources and inductors
/// tie together one, none of those tied to ground. A node held at its voltage by a
/// nodeset and by a source makes the engine order its matrix so that the source's own
/// equation is lost once the nodeset is let go.
std::vector<int> free_nodes(const Structure& s) {
  std::vector<int> first(s.nodes.size());  // of its group, by way of others
  std::iota(first.begin(), first.end(), 0);
  const auto find = [&first](int k) {
    while (first[k] != k) k = first[k];
    return k;
  };
  for (const auto* list : {&s.voltage_sources, &s.inductors}) {
    for (const TwoEnds& e : *list) {
      const auto [low, high] = std::minmax({find(e.a), find(e.b)});
      first[high] = low;
    }
  }
  std::vector<int> free;
  for (std::size_t k = 1; k < s.nodes.size(); ++k) {
    if (find(static_cast<int>(k)) == static_cast<int>(k))
      free.push_back(static_cast<int>(k));
  }
  return free;
}

}  // namespace

std::string node(int index) { return index == 0 ? "0" : fmt::format("n{}", index); }

std::string number(double value) { return shortest(value); }

std::string two_ends(std::string_view name, std::size_t k, const TwoEnds& e,
                     std::string_view rest) {
  return fmt::format("{}{} {} {} {}", name, k + 1, node(e.a), node(e.b), rest);
}

std::string current_source(std::size_t k, const TwoEnds& e, std::string_view rest) {
  return two_ends("i", k, {e.b, e.a, {}}, rest);
}

std::string options_line(double reltol, double vntol, double abstol, double celsius) {
  return fmt::format(
      ".options reltol={} vntol={} abstol={} gmin={} pivrel=0.3 itl1=200 temp={} "
      "tnom=27",
      number(reltol), number(vntol), number(abstol), number(kJunctionLeak),
      number(celsius));
}

void add_nodesets(std::vector<std::string>& lines, const Structure& s,
                  const std::vector<double>& volts) {
  for (const int k : free_nodes(s)) {
    lines.push_back(fmt::format(".nodeset v({})={}", node(k), number(volts[k])));
  }
}

/// An ideal transistor as two diodes and two current-controlled current sources: the
/// same equations, f/bf and r/br being the diodes' currents. The engine limits the
/// steps of a transistor's own junctions by kT/q whatever their emission coefficient,
/// and seldom settles with steep ones; a diode's it limits by n kT/q. The Early effect,
/// which has no place in these sources, is written as the engine's transistor after
/// all.
bool is_two_diodes(const BipolarModel& m) {
  return is_ideal(m) && !std::isfinite(m.vaf);
}

void add_devices(std::vector<std::string>& lines, const Network& network,
                 Analysis analysis) {
  const Structure& s = *network.structure;
  const Values& v = network.values;
  Models diode_models("md");
  for (std::size_t k = 0; k < s.diodes.size(); ++k) {
    const auto [model, area] = engine_diode(v.diodes[k]);
    std::string rest = diode_models.name(lines, k, diode_model(model));
    if (area != 1.0) rest += fmt::format(" area={}", number(area));
    lines.push_back(two_ends("d", k, s.diodes[k], rest));
  }
  Models bipolar_models("mq");
  for (std::size_t k = 0; k < s.bipolars.size(); ++k) {
    if (is_two_diodes(v.bipolars[k])) {
      add_ideal_transistor(lines, k, s.bipolars[k], v.bipolars[k]);
      continue;
    }
    const auto [collector, base, emitter] = s.bipolars[k].ends;
    const std::string model =
        bipolar_models.name(lines, k, bipolar_model(v.bipolars[k]));
    lines.push_back(fmt::format("q{} {} {} {} {}", k + 1, node(collector), node(base),
                                node(emitter), model));
  }
  Models mos_models("mm");
  for (std::size_t k = 0; k < s.mosfets.size(); ++k) {
    const auto [drain, gate, source] = s.mosfets[k].ends;
    const std::string model = mos_models.name(lines, k, mos_model(v.mosfets[k]));
    lines.push_back(fmt::format("m{0} {1} {2} {3} {3} {4} w=1 l=1", k + 1, node(drain),
                                node(gate), node(source), model));
  }
  for (std::size_t k = 0; k < s.regulators.size(); ++k) {
    add_regulator(lines, k, s.regulators[k], v.regulators[k], analysis);
  }
}

namespace {

/// A name that a deck gives: letters, which tell the kind, and a number.
struct GivenName {
  std::string_view letters;
  std::size_t number = 0;
};

GivenName given_name(std::string_view name) {
  GivenName given{name.substr(0, name.find_first_of("0123456789"))};
  std::from_chars(name.data() + given.letters.size(), name.data() + name.size(),
                  given.number);
  return given;
}

/// The names that a deck's lines of elements give.
struct GivenNames {
  std::vector<GivenName> elements;
  std::set<std::string_view> element_kinds;  ///< Letters.
  std::set<std::string_view> node_kinds;
};

GivenNames given_names(const Deck& deck) {
  GivenNames given;
  for (const std::string_view line : deck.lines) {
    if (line.front() < 'a' || line.front() > 'z') continue;
    // A transistor has three nodes, a MOSFET four, all else two; its name is before.
    std::size_t words = line.front() == 'q' ? 4 : line.front() == 'm' ? 5 : 3;
    std::string_view rest = line;
    for (bool is_element = true; words > 0; --words, is_element = false) {
      const GivenName name = given_name(rest.substr(0, rest.find(' ')));
      (is_element ? given.element_kinds : given.node_kinds).insert(name.letters);
      if (is_element) given.elements.push_back(name);
      rest.remove_prefix(std::min(rest.size(), rest.find(' ') + 1));
    }
  }
  return given;
}

template <auto list>
const Origin& origin_of(const Structure& s, std::size_t k) {
  return (s.*list).at(k).origin;
}

/// A kind of element as a deck names it.
struct ElementKind {
  std::string_view letters;
  /// Where the k-th stands for a part, it is told which.
  const Origin& (*origin)(const Structure&, std::size_t k) = nullptr;
  std::string_view says = {};  ///< Of all that have such a name.
};
constexpr std::array kElementKinds{
    ElementKind{"r", origin_of<&Structure::resistors>},
    ElementKind{"br", origin_of<&Structure::resistors>,
                "a resistance that moves: its conductance is exp() of v(k<k>)"},
    ElementKind{"vk", nullptr, "moves the node k<k>"},
    ElementKind{"vx", nullptr, "adds equal pulses to what vk<k> does"},
    ElementKind{"c", origin_of<&Structure::capacitors>},
    ElementKind{"cs", origin_of<&Structure::strays>,
                "the capacitance of a junction or a pin"},
    ElementKind{"l", origin_of<&Structure::inductors>},
    ElementKind{"rm", origin_of<&Structure::inductors>,
                "the resistance of a coil's winding"},
    ElementKind{"rl", nullptr, "what coil l<k> loses besides, as a resistance"},
    ElementKind{"v", origin_of<&Structure::voltage_sources>},
    ElementKind{"va", nullptr, "has corners where a step has to end"},
    ElementKind{"i", origin_of<&Structure::current_sources>},
    ElementKind{"d", origin_of<&Structure::diodes>},
    ElementKind{"q", origin_of<&Structure::bipolars>},
    ElementKind{"ff", origin_of<&Structure::bipolars>,
                "an ideal transistor: its gain times the current of df<k>"},
    ElementKind{"fr", nullptr, "the same the other way round, by dr<k>"},
    ElementKind{"df", nullptr, "an ideal transistor's junction to the emitter"},
    ElementKind{"dr", nullptr, "an ideal transistor's junction to the collector"},
    ElementKind{"vf", nullptr, "0 V, reads the current of df<k>"},
    ElementKind{"vr", nullptr, "0 V, reads the current of dr<k>"},
    ElementKind{"m", origin_of<&Structure::mosfets>},
    ElementKind{"b", origin_of<&Structure::regulators>,
                "what falls between the input and the output of a regulator"},
    ElementKind{"bl", nullptr, "sets the node l<k>"},
    ElementKind{"bm", nullptr, "sets the node m<k>"},
    ElementKind{"vp", nullptr, "0 V, reads the current of b<k>"},
    ElementKind{"bq", nullptr, "what a regulator needs for itself"},
    ElementKind{"iq", nullptr, "what a regulator needs for itself: nothing"},
    ElementKind{"vq", nullptr, "0 V, reads what a regulator needs for itself"},
};

/// A kind of node that the network does not have.
struct NodeKind {
  std::string_view letters;
  std::string_view says;
};
constexpr std::array kNodeKinds{
    NodeKind{"k", "its voltage is the logarithm of the conductance of br<k>"},
    NodeKind{"x", "between vk<k> and vx<k>"},
    NodeKind{"w", "inside coil l<k>, behind its winding"},
    NodeKind{"a", "at va<k>, which feeds nothing"},
    NodeKind{"f", "between df<k> and vf<k>"},
    NodeKind{"r", "between dr<k> and vr<k>"},
    NodeKind{"l", "how far the current of regulator b<k> is beyond its limit, in uA"},
    NodeKind{"m", "what regulator b<k> aims at, which may be below 0 V"},
    NodeKind{"p", "between b<k> and vp<k>"},
    NodeKind{"q", "between vq<k> and what regulator b<k> needs for itself"},
};

std::string explained(std::string_view name, std::string_view says) {
  return fmt::format("*   {:<6} {}\n", name, says);
}

/// A line for each of `kinds` that is among the letters and has something to say.
template <class Kinds>
std::string kinds_explained(const Kinds& kinds,
                            const std::set<std::string_view>& letters) {
  std::string text;
  for (const auto& kind : kinds) {
    if (kind.says.empty() || !letters.contains(kind.letters)) continue;
    text += explained(std::string(kind.letters) + "<k>", kind.says);
  }
  return text;
}

}  // namespace

std::string annotated(const Network& network, const Deck& deck,
                      const std::vector<std::string>& part_names) {
  const Structure& s = *network.structure;
  const GivenNames given = given_names(deck);
  std::string text = deck.lines.front() + "\n*\n* nodes\n";
  for (std::size_t k = 0; k < s.nodes.size(); ++k) {
    const bool is_net = static_cast<int>(k) < s.nets;
    text += explained(node(static_cast<int>(k)),
                      (is_net ? "net " : "inside ") + s.nodes[k]);
  }
  text += kinds_explained(kNodeKinds, given.node_kinds) + "*\n* elements\n";
  for (const GivenName& name : given.elements) {
    const auto* kind =
        std::find_if(kElementKinds.begin(), kElementKinds.end(),
                     [&](const auto& k) { return k.letters == name.letters; });
    assert(kind != kElementKinds.end() && "a kind of element without an explanation");
    if (kind->origin == nullptr) continue;
    const Origin& origin = kind->origin(s, name.number - 1);
    if (origin.part < 0) continue;
    text += explained(fmt::format("{}{}", name.letters, name.number),
                      "part " + part_names.at(origin.part));
  }
  text += kinds_explained(kElementKinds, given.element_kinds) + "*\n";
  for (std::size_t k = 1; k < deck.lines.size(); ++k) text += deck.lines[k] + "\n";
  return text;
}

}  // namespace benchproof::deck_lines
