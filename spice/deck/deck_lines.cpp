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
#include "spice/deck/detail/regulator_lines.h"

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
  if (std::isfinite(m.ikf) && !is_ideal(m))
    line += fmt::format(" ikf={}", number(m.ikf));
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
    const MosModel& m = v.mosfets[k];
    const std::string model = mos_models.name(lines, k, mos_model(m));
    // The engine's own rd and rs would take the leak of its drain junction, which is
    // the channel's here, past the source's.
    const auto behind = [&lines, k](double ohms, const char* what, int end) {
      if (ohms == 0.0) return node(end);
      const std::string inner = fmt::format("{}{}", what, k + 1);
      lines.push_back(
          fmt::format("r{} {} {} {}", inner, node(end), inner, number(ohms)));
      return inner;
    };
    const std::string inner_drain = behind(m.rd, "d", drain);
    const std::string inner_source = behind(m.rs, "s", source);
    lines.push_back(fmt::format("m{0} {1} {2} {3} {3} {4} w=1 l=1", k + 1, inner_drain,
                                node(gate), inner_source, model));
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
    ElementKind{"rd", origin_of<&Structure::mosfets>,
                "the resistance of a MOS transistor's drain"},
    ElementKind{"rs", origin_of<&Structure::mosfets>,
                "the resistance of a MOS transistor's source"},
    ElementKind{"b", origin_of<&Structure::regulators>,
                "what falls between the input and the output of a regulator"},
    ElementKind{"vp", nullptr, "0 V, reads the current of b<k>"},
    ElementKind{"e", origin_of<&Structure::regulators>,
                "a regulator's output, which follows the node t<k>"},
    ElementKind{"fi", nullptr, "takes the current of e<k> from the input"},
    ElementKind{"fl", nullptr, "brings the node l<k> down by the current"},
    ElementKind{"il", nullptr, "brings the node l<k> up by the limit of the current"},
    ElementKind{"rnl", nullptr, "1 Mohm at the node l<k>"},
    ElementKind{"ge", nullptr, "brings the node e<k> up by the input"},
    ElementKind{"ie", nullptr, "brings the node e<k> down by what the output needs"},
    ElementKind{"rne", nullptr, "1 ohm at the node e<k>"},
    ElementKind{"gm", nullptr, "brings the node m<k> up by the input"},
    ElementKind{"im", nullptr, "brings the node m<k> down by what has to fall"},
    ElementKind{"bm", nullptr,
                "brings the node m<k> down by e<k> where that is above 0"},
    ElementKind{"rnm", nullptr, "1 ohm at the node m<k>"},
    ElementKind{"bt", nullptr, "brings the node t<k> up by m<k> where that is above 0"},
    ElementKind{"bo", nullptr,
                "brings the node t<k> down by l<k> where that is below 0"},
    ElementKind{"bb", nullptr, "brings the node t<k> up by what flows back"},
    ElementKind{"ft", nullptr, "brings the node t<k> down by what the load costs"},
    ElementKind{"rnt", nullptr, "1 ohm at the node t<k>"},
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
    NodeKind{"d", "inside transistor m<k>, behind its drain's resistance"},
    NodeKind{"s", "inside transistor m<k>, behind its source's resistance"},
    NodeKind{"f", "between df<k> and vf<k>"},
    NodeKind{"r", "between dr<k> and vr<k>"},
    NodeKind{"l", "how far the current of a regulator is below its limit, in uA"},
    NodeKind{"e", "how far the input of regulator e<k> is above what it needs"},
    NodeKind{"m", "what regulator e<k> aims at, which may be below 0 V"},
    NodeKind{"t", "the output of regulator e<k> against its common pin"},
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
