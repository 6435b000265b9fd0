#include "core/diagnose/foreseen/detail/pieces.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cstddef>
#include <memory>
#include <numeric>
#include <optional>
#include <utility>

#include "core/circuit/rewire.h"
#include "core/circuit/topology.h"
#include "core/network/edits.h"

namespace benchproof {
namespace {

/// What stands for every joint's place.
constexpr int kJoint = -2;

void add(Name& name, const Structure& s) {
  name.add(static_cast<int>(s.nodes.size()));
  for (const auto& list : kTwoEnded) {
    name.add(static_cast<int>((s.*list.elements).size()));
    for (const TwoEnds& e : s.*list.elements) {
      name.add(e.a);
      name.add(e.b);
      name.add(e.origin.pins[0]);
      name.add(e.origin.pins[1]);
    }
  }
  for (const auto& list : kThreeEnded) {
    name.add(static_cast<int>((s.*list.elements).size()));
    for (const ThreeEnds& e : s.*list.elements) {
      for (const int end : e.ends) name.add(end);
      for (const int pin : e.origin.pins) name.add(pin);
    }
  }
}

void add(Name& name, const Values& v) {
  for_slots(v, v, [&name](const Slot&, double value, double) { name.add(value); });
  for (const BipolarModel& m : v.bipolars) name.add(m.is_pnp ? 1 : 0);
  for (const MosModel& m : v.mosfets) name.add(m.is_p_channel ? 1 : 0);
  for (const RegulatorModel& m : v.regulators)
    name.add((m.is_negative ? 1 : 0) + (m.follows ? 2 : 0));
}

std::uint64_t name_of(const Values& values) {
  Name name;
  add(name, values);
  return name.value();
}

/// Takes all pins of a part off their nets.
void take_out(Circuit& circuit, int part) {
  const auto pins = static_cast<int>(circuit.parts[part].pins.size());
  for (int pin = 0; pin < pins; ++pin)
    if (circuit.parts[part].nets[pin] >= 0) rejoin(circuit, {part, pin}, -1);
}

/// The circuit with parts out of their sockets, and with the power off without its
/// sources and regulators, and with cold filaments.
Circuit stripped(const Circuit& circuit, const Condition& condition) {
  Circuit there = circuit;
  for (const int part : condition.out) take_out(there, part);
  if (condition.powered) return there;
  for (std::size_t k = 0; k < there.parts.size(); ++k) {
    Part& part = there.parts[k];
    if (is_source(part.kind) || part.kind == KindId::regulator)
      take_out(there, static_cast<int>(k));
    const auto amps = number_of(part, "current");
    if (part.kind == KindId::lamp && amps)
      part.settings["current"] = {*amps / kColdFilament, part.span};
  }
  return there;
}

/// The state of a condition; with the power off all outputs are open.
State state_of(const Circuit& circuit, const Condition& condition) {
  State state;
  if (condition.state >= 0)
    state = circuit.states[static_cast<std::size_t>(condition.state)];
  if (condition.powered) return state;
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    const Part& part = circuit.parts[k];
    if (part.kind != KindId::controller) continue;
    for (int pin = kFirstPin; pin < static_cast<int>(part.pins.size()); ++pin)
      if (is_output_pin(part, pin))
        state.outputs[{static_cast<int>(k), pin}] = {
            OutputSetting::Level::open, 0.0, 0.0, {}};
  }
  return state;
}

/// What chips and regulators have inside no sheet says of when they are not powered: at
/// a fifth of a volt from nothing that conducts down to some kilohms (common practice,
/// no source). So everything is measured with both, and what they make of a reading is
/// its uncertainty.
constexpr double kDeadLeastOhms = 5e3;
/// The same at an output or input of a chip. Ohm.
constexpr double kDeadPinOhms = 500e3;

/// Those of a part, each pin's own, with the power off.
std::vector<Leak> leaks_of(const Part& part) {
  std::vector<Leak> leaks;
  const bool is_chip = part.kind == KindId::controller;
  if (!is_chip && part.kind != KindId::regulator) return leaks;
  if (part.nets[1] < 0) return leaks;
  for (int pin = 0; pin < static_cast<int>(part.pins.size()); ++pin)
    if (pin != 1 && part.nets[pin] > 0)
      leaks.push_back({part.nets[pin],
                       is_chip && pin >= kFirstPin ? kDeadPinOhms : kDeadLeastOhms});
  return leaks;
}

bool is_electrolytic(const Part& part) {
  return part.kind == KindId::capacitor && flag(part, "polarised", false);
}

bool has_electrolytic(const Circuit& circuit, const Net& net) {
  return std::any_of(net.pins.begin(), net.pins.end(), [&circuit](PinRef pin) {
    return is_electrolytic(circuit.parts[static_cast<std::size_t>(pin.part)]);
  });
}

bool has_common(const std::vector<int>& a, const std::vector<int>& b) {
  auto one = a.begin();
  auto other = b.begin();
  while (one != a.end() && other != b.end()) {
    if (*one == *other) return true;
    *one < *other ? ++one : ++other;
  }
  return false;
}

/// The name of what stands among changes: they are added up, so it is never 0 but by
/// chance.
std::uint64_t stirred(std::uint64_t name) {
  Name n;
  n.add(name);
  return n.value();
}

bool hangs_on_phases(const BuildChange& change) {
  return std::any_of(change.pieces.begin(), change.pieces.end(),
                     [](const Piece& piece) { return piece.hangs_on_phases(); });
}

}  // namespace

void Name::add(std::uint64_t word) {
  word = (word ^ (word >> 30)) * 0xBF58476D1CE4E5B9ULL;
  word = (word ^ (word >> 27)) * 0x94D049BB133111EBULL;
  name_ = (name_ ^ (word ^ (word >> 31))) * 0x100000001B3ULL;
  name_ ^= name_ >> 29;
}

void Name::add(int value) {
  add(static_cast<std::uint64_t>(static_cast<std::uint32_t>(value)));
}

void Name::add(double value) { add(std::bit_cast<std::uint64_t>(value)); }

Builder::Builder(const Circuit& meant, const std::vector<Condition>& conditions)
    : meant_(meant),
      conditions_(conditions),
      has_electrolytics_(
          std::any_of(meant.parts.begin(), meant.parts.end(), is_electrolytic)) {
  std::vector<int> all(meant.parts.size());
  std::iota(all.begin(), all.end(), 0);
  for (std::size_t c = 0; c < conditions.size(); ++c) {
    std::vector<char>& asked = is_asked_.emplace_back(meant.parts.size(), 0);
    for (const Asked& each : conditions[c].asked)
      if (each.part >= 0) asked[static_cast<std::size_t>(each.part)] = 1;
    stages_.emplace_back();
    // All of it is otherwise than nothing.
    BuildChange whole = change_of(c, meant, all);
    stages_.back() = {std::move(whole.pieces), std::move(whole.shares),
                      whole.structure};
  }
}

Piece Builder::piece_of(std::size_t condition, const Circuit& built,
                        const Circuit& there, const State& state,
                        std::span<const State> phases, int index) const {
  const Condition& c = conditions_[condition];
  const auto k = static_cast<std::size_t>(index);
  const bool is_joint = k >= meant_.parts.size();
  Piece piece;
  piece.place = is_joint ? kJoint : index;
  piece.part = part_in(there, state, index);
  piece.elements = elements_of(there, piece.part, index, phases, Purpose::run);
  Structure& structure = piece.elements.structure;
  structure.capacitors.clear();
  structure.strays.clear();
  // A joint has no direction.
  if (is_joint)
    for (TwoEnds& e : structure.resistors)
      if (e.a > e.b) std::swap(e.a, e.b);
  std::vector<std::uint64_t> names;
  for (Values& values : piece.elements.values) {
    values.farads.clear();
    values.stray_farads.clear();
    names.push_back(name_of(values));
  }
  if (std::all_of(names.begin(), names.end(),
                  [&names](std::uint64_t name) { return name == names.front(); })) {
    names.resize(1);
    piece.elements.values.resize(1);
  }
  const bool is_out = std::find(c.out.begin(), c.out.end(), index) != c.out.end();
  if (!c.powered && !is_out) piece.leaks = leaks_of(built.parts[k]);

  Name name;
  name.add(piece.place);
  add(name, structure);
  piece.structure = name.value();
  for (const std::uint64_t each : names) name.add(each);
  for (const Leak& leak : piece.leaks) {
    name.add(leak.node);
    name.add(leak.ohms);
  }
  if (!is_joint && is_asked_[condition][k] != 0) {
    const std::vector<int>& nets = piece.part.nets;
    const bool is_joined = nets.size() == 2 && nets[0] >= 0 && nets[1] >= 0;
    name.add(is_joined ? nets[0] : -1);
    name.add(is_joined ? nets[1] : -1);
    name.add(std::bit_cast<std::uint64_t>(piece.part.type));
  }
  piece.name = name.value();
  return piece;
}

BuildChange Builder::change_of(std::size_t condition, const Circuit& built,
                               const std::vector<int>& touched) const {
  const Condition& c = conditions_[condition];
  const Stage& stage = stages_[condition];
  const bool is_meant = stage.pieces.empty();
  std::optional<Circuit> other;
  if (!c.powered || !c.out.empty()) other = stripped(built, c);
  const Circuit& there = other ? *other : built;
  const State state = state_of(there, c);
  BuildChange change;
  std::vector<State> states;
  for (Phase& phase : phases(there, state)) {
    change.shares.push_back(phase.share);
    states.push_back(std::move(phase.state));
  }
  const bool has_phases = change.shares != stage.shares;
  std::size_t next = 0;
  for (std::size_t k = 0; k < built.parts.size(); ++k) {
    const auto index = static_cast<int>(k);
    while (next < touched.size() && touched[next] < index) ++next;
    const bool is_touched = next < touched.size() && touched[next] == index;
    const bool is_joint = k >= meant_.parts.size();
    const bool is_beside =
        has_electrolytics_ && !is_joint && meant_.parts[k].kind == KindId::capacitor;
    if (!has_phases && !is_touched && !is_joint && !is_beside) continue;
    Piece piece = piece_of(condition, built, there, state, states, index);
    const Piece* as_meant = is_meant || is_joint ? nullptr : &stage.pieces[k];
    const bool is_same = as_meant != nullptr && piece.name == as_meant->name &&
                         !(has_phases && piece.hangs_on_phases());
    if (is_same) continue;
    change.name += stirred(piece.name);
    if (as_meant == nullptr || piece.structure != as_meant->structure)
      change.structure += stirred(piece.structure);
    change.pieces.push_back(std::move(piece));
  }
  if (is_meant) return change;
  if (has_phases) {
    Name name;
    for (const double share : change.shares) name.add(share);
    change.name += name.value();
  } else {
    change.shares.clear();
  }
  return change;
}

Build Builder::build(std::span<const Fault* const> faults) const {
  Circuit built = meant_;
  Build result;
  for (const Fault* fault : faults) {
    build_in(built, *fault);
    for (const Edit& edit : fault->edits) {
      if (edit.what == Edit::What::join) continue;
      result.parts.push_back(edit.a.part);
      if (edit.what == Edit::What::exchange) result.parts.push_back(edit.b.part);
    }
  }
  std::sort(result.parts.begin(), result.parts.end());
  result.parts.erase(std::unique(result.parts.begin(), result.parts.end()),
                     result.parts.end());
  for (std::size_t net = 0; has_electrolytics_ && net < meant_.nets.size(); ++net)
    if (built.nets[net].pins != meant_.nets[net].pins &&
        (has_electrolytic(meant_, meant_.nets[net]) ||
         has_electrolytic(built, built.nets[net])) &&
        net > 0)
      result.nets.push_back(static_cast<int>(net));
  for (std::size_t c = 0; c < conditions_.size(); ++c)
    result.changes.push_back(change_of(c, built, result.parts));
  return result;
}

bool Builder::are_apart(const Build& a, const Build& b, std::size_t condition) {
  if (has_common(a.parts, b.parts) || has_common(a.nets, b.nets)) return false;
  const BuildChange& one = a.changes[condition];
  const BuildChange& other = b.changes[condition];
  return (one.shares.empty() || (other.shares.empty() && !hangs_on_phases(other))) &&
         (other.shares.empty() || !hangs_on_phases(one));
}

void put_together(const Stage& stage, std::initializer_list<const BuildChange*> changes,
                  std::vector<const Piece*>& pieces) {
  pieces.clear();
  for (const Piece& piece : stage.pieces) pieces.push_back(&piece);
  for (const BuildChange* change : changes) {
    if (change == nullptr) continue;
    for (const Piece& piece : change->pieces)
      if (piece.place >= 0)
        pieces[static_cast<std::size_t>(piece.place)] = &piece;
      else
        pieces.push_back(&piece);
  }
  std::sort(pieces.begin() + static_cast<std::ptrdiff_t>(stage.pieces.size()),
            pieces.end(),
            [](const Piece* a, const Piece* b) { return a->name < b->name; });
}

PiecePlan plan_of(const std::vector<Net>& nets,
                  const std::vector<const Piece*>& pieces) {
  auto whole = std::make_shared<Structure>();
  const auto count = static_cast<int>(nets.size());
  for (const Net& net : nets) whole->nodes.push_back(net.name);
  whole->nets = count;
  PiecePlan result;
  Plan& plan = result.plan;
  plan.purpose = Purpose::run;
  std::array<std::size_t, kValueLists> first{};
  for (const Piece* piece : pieces) {
    const Structure& own = piece->elements.structure;
    const int shift = static_cast<int>(whole->nodes.size()) - count;
    const auto moved = [count, shift](int node) {
      return node < count ? node : node + shift;
    };
    for (const auto& list : kTwoEnded)
      for (TwoEnds e : own.*list.elements) {
        e.a = moved(e.a);
        e.b = moved(e.b);
        ((*whole).*list.elements).push_back(e);
      }
    for (const auto& list : kThreeEnded)
      for (ThreeEnds e : own.*list.elements) {
        for (int& end : e.ends) end = moved(end);
        ((*whole).*list.elements).push_back(e);
      }
    const auto inner = static_cast<int>(whole->nodes.size());
    whole->nodes.insert(whole->nodes.end(), own.nodes.begin(), own.nodes.end());
    result.inner.emplace_back(inner, static_cast<int>(whole->nodes.size()));
    PartPlan part{first, {}, piece->elements.shape};
    const Values& values = piece->values(0);
    for_lists(values, values, [&](ValueList list, const auto& these, const auto&) {
      part.count[static_cast<std::size_t>(list)] = these.size();
      first[static_cast<std::size_t>(list)] += these.size();
    });
    plan.parts.push_back(part);
  }
  plan.structure = std::move(whole);
  return result;
}

void put_values(const std::vector<const Piece*>& pieces, std::size_t phase,
                Values& values) {
  for_lists(values, values, [](ValueList, auto& list, auto&) { list.clear(); });
  for (const Piece* piece : pieces)
    for_lists(piece->values(phase), values, [](ValueList, const auto& from, auto& to) {
      to.insert(to.end(), from.begin(), from.end());
    });
}

}  // namespace benchproof
