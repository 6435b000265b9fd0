#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <optional>
#include <set>
#include <utility>

#include "core/base/preferred.h"
#include "core/check/finding/wording.h"
#include "core/circuit/rewire.h"
#include "core/circuit/topology.h"
#include "core/fault/fault.h"
#include "core/fault/mix_ups.h"
#include "core/fault/pinouts.h"
#include "core/fault/weights.h"

namespace benchproof {
namespace {

using Order = std::vector<int>;  ///< Of each pin whose place it is in.

/// A supply that is too low has so much of its voltage: the next one that shops have
/// below it (9 V for 12 V). Common practice, no source.
constexpr double kLowShare = 0.75;
/// What an unregulated supply gives without load, of its label: 17 V for 12 V (memory).
constexpr double kUnregulatedShare = 1.4;

/// What a type of these is taken for: another curve, the other polarity, another
/// output.
constexpr std::array<std::string_view, 3> kDiodes = {"1N4148", "1N4007", "1N5819"};
constexpr std::array<std::string_view, 2> kBipolars = {"BC547", "BC557"};
constexpr std::array<std::string_view, 2> kMosfets = {"2N7000", "BS250"};
constexpr std::array<std::string_view, 2> kRegulators = {"7805", "7812"};
constexpr std::array<std::string_view, 5> kColours = {"red", "yellow", "green", "blue",
                                                      "white"};

bool is_ordered(KindId kind) {
  return kind == KindId::transistor || kind == KindId::mosfet ||
         kind == KindId::regulator || kind == KindId::trimmer;
}

/// The pin of each lead, as indices into the part's pins; empty where one is missing.
std::vector<int> pins_of(const Part& part, const std::vector<std::string>& leads) {
  std::vector<int> pins;
  for (const std::string& lead : leads) pins.push_back(pin_index(part, lead));
  if (std::find(pins.begin(), pins.end(), -1) != pins.end()) pins.clear();
  return pins;
}

/// Makes the list, mode by mode.
class Listing {
 public:
  Listing(const Circuit& circuit, const Catalogue& catalogue)
      : circuit_(circuit),
        catalogue_(catalogue),
        pinouts_(built_in_pinouts(catalogue)),
        weights_(built_in_weights()) {}

  std::vector<Fault> list(const std::vector<std::pair<int, int>>& neighbours) && {
    each_part(circuit_, [this](int k, const Part& part) { open(k, part); });
    each_part(circuit_, [this](int k, const Part& part) { short_pins(k, part); });
    each_part(circuit_, [this](int k, const Part& part) { reverse(k, part); });
    each_part(circuit_, [this](int k, const Part& part) { change_value(k, part); });
    each_part(circuit_, [this](int k, const Part& part) { change_type(k, part); });
    each_part(circuit_, [this](int k, const Part& part) { lift_pins(k, part); });
    bridge(neighbours);
    each_part(circuit_, [this](int k, const Part& part) { exchange_leads(k, part); });
    each_part(circuit_, [this](int k, const Part& part) { exchange_outputs(k, part); });
    each_part(circuit_, [this](int k, const Part& part) { shift_wires(k, part); });
    each_part(circuit_, [this](int k, const Part& part) { stick(k, part); });
    each_part(circuit_, [this](int k, const Part& part) { blank(k, part); });
    each_part(circuit_, [this](int k, const Part& part) { fail_supply(k, part); });
    each_part(circuit_, [this](int k, const Part& part) { unground(k, part); });
    return std::move(list_);
  }

 private:
  [[nodiscard]] std::string pin_name(PinRef pin) const {
    const Part& part = circuit_.parts[pin.part];
    return fmt::format("{}.{}", part.name, part.pins[pin.pin]);
  }
  [[nodiscard]] const std::string& net_name(int net) const {
    return circuit_.nets[net].name;
  }
  [[nodiscard]] static int pins_joined(const Part& part) {
    return static_cast<int>(std::count_if(part.nets.begin(), part.nets.end(),
                                          [](int net) { return net >= 0; }));
  }

  Fault& add(FaultMode mode, const std::optional<Weight>& weight,
             const std::vector<std::string>& subjects, std::string words,
             std::string remedy) {
    Fault fault;
    fault.mode = mode;
    fault.id = fmt::format("{} {}", word_of(mode), fmt::join(subjects, " "));
    fault.words = std::move(words);
    fault.remedy = std::move(remedy);
    const Weight told =
        weight.value_or(Weight{0.02, Mark::practice, "seldom; no figure was found"});
    fault.weight = told.value;
    fault.weight_mark = told.mark;
    fault.weight_source = told.source;
    return list_.emplace_back(std::move(fault));
  }

  void name_part(Fault& fault, int k) const {
    fault.parts.push_back(circuit_.parts[k].name);
  }
  void name_pin(Fault& fault, PinRef pin) const {
    const std::string& part = circuit_.parts[pin.part].name;
    if (std::find(fault.parts.begin(), fault.parts.end(), part) == fault.parts.end())
      fault.parts.push_back(part);
    fault.pins.push_back(pin_name(pin));
  }

  static Edit on_pin(Edit::What what, PinRef a, PinRef b = {}) {
    Edit edit;
    edit.what = what;
    edit.a = a;
    edit.b = b;
    return edit;
  }
  static Edit joined(int a, int b) {
    Edit edit;
    edit.what = Edit::What::join;
    edit.net = a;
    edit.to = b;
    return edit;
  }

  // --- parts that fail or are missing ---------------------------------------------

  static std::string open_words(const Part& part) {
    switch (part.kind) {
      case KindId::fuse:
        return fmt::format("'{}' has blown, or is missing", part.name);
      case KindId::switch_:
        return fmt::format("'{}' does not close", part.name);
      case KindId::wire:
        return fmt::format("'{}' is broken", part.name);
      case KindId::controller:
        return fmt::format("'{}' is not in its socket, or dead", part.name);
      default:
        return fmt::format("'{}' is open, or missing", part.name);
    }
  }

  void open(int k, const Part& part) {
    if (is_source(part.kind) || pins_joined(part) < 2) return;
    Fault& fault = add(
        FaultMode::open,
        sum_of(weights_.of(FaultMode::open), weights_.of(FaultMode::open, part)),
        {part.name}, open_words(part),
        fmt::format("look whether '{}' is there, measure it, and put in another one",
                    part.name));
    name_part(fault, k);
    for (int pin = 0; pin < static_cast<int>(part.pins.size()); ++pin)
      if (part.nets[pin] >= 0)
        fault.edits.push_back(on_pin(Edit::What::lift, {k, pin}));
  }

  void short_two(int k, int a, int b, const Weight& weight) {
    const Part& part = circuit_.parts[k];
    if (part.nets[a] < 0 || part.nets[b] < 0 || part.nets[a] == part.nets[b]) return;
    const bool has_two = part.pins.size() == 2;
    const PinRef first{k, a};
    const PinRef second{k, b};
    Fault& fault = add(
        FaultMode::short_, weight,
        has_two ? std::vector{part.name}
                : std::vector{pin_name(first), pin_name(second)},
        part.kind == KindId::switch_ ? fmt::format("'{}' does not open", part.name)
        : has_two                    ? fmt::format("'{}' is shorted", part.name)
                  : fmt::format("'{}' is shorted from {} to {}", part.name,
                                part.pins[a], part.pins[b]),
        fmt::format("take '{}' out, measure it, and put in another one", part.name));
    name_part(fault, k);
    if (!has_two) fault.pins = {pin_name(first), pin_name(second)};
    fault.edits.push_back(on_pin(Edit::What::short_, first, second));
  }

  void short_pins(int k, const Part& part) {
    auto weight = weights_.of(FaultMode::short_, part);
    if (!weight || is_source(part.kind)) return;
    if (part.kind == KindId::controller) return short_two(k, kVdd, kVss, *weight);
    const int count = static_cast<int>(part.pins.size());
    if (count == 3) weight->value /= 3.0;
    for (int a = 0; a < count; ++a)
      for (int b = a + 1; b < count; ++b) short_two(k, a, b, *weight);
  }

  // --- parts put in wrongly ---------------------------------------------------------

  void reverse(int k, const Part& part) {
    const auto poles = poles_of(part);
    if (!poles || is_source(part.kind)) return;
    const bool is_chip = part.kind == KindId::controller;
    Fault& fault =
        add(FaultMode::reversed, weights_.of(FaultMode::reversed), {part.name},
            is_chip ? fmt::format("'{}' with its vdd and vss exchanged", part.name)
                    : fmt::format("'{}' is the wrong way round", part.name),
            is_chip ? fmt::format("exchange them; '{}' may be broken", part.name)
            : part.kind == KindId::capacitor
                ? "turn it round, and do not stand over it when it was powered: it may "
                  "burst"
                : "turn it round");
    name_part(fault, k);
    fault.edits.push_back(
        on_pin(Edit::What::exchange, {k, poles->first}, {k, poles->second}));
  }

  void add_scaled(int k, std::string_view key, Unit unit, double times,
                  const std::string& subject, std::string_view detail) {
    const Part& part = circuit_.parts[k];
    const double meant = number_of(part, key).value_or(0.0);
    Fault& fault = add(
        FaultMode::value, weights_.of(FaultMode::value, detail), {part.name, subject},
        fmt::format("'{}' of {} where {} is meant", part.name,
                    short_text(meant * times, unit), short_text(meant, unit)),
        fmt::format("put in one of {}", short_text(meant, unit)));
    name_part(fault, k);
    Edit edit = on_pin(Edit::What::scale, {k, 0});
    edit.key = key;
    edit.times = times;
    fault.edits.push_back(std::move(edit));
  }

  void change_value(int k, const Part& part) {
    const bool has_value =
        part.kind == KindId::resistor || part.kind == KindId::trimmer ||
        part.kind == KindId::capacitor || part.kind == KindId::inductor ||
        part.kind == KindId::light_resistor || part.kind == KindId::heat_resistor;
    const auto value = number_of(part, "value");
    if (!has_value || !value || pins_joined(part) < 2) return;
    const Unit unit = find_key(kind(part.kind), "value")->unit;
    const auto scaled = [&](double times, const std::string& subject,
                            std::string_view detail) {
      add_scaled(k, "value", unit, times, subject, detail);
    };
    scaled(10.0, "10", "tenfold");
    scaled(0.1, "0.1", "tenth");
    // Far enough from the value for it not to be that.
    constexpr double kApart = 1.05;
    if (*value < 1e-17 || *value > 1e17) return;
    scaled(preferred_at_least(Series::e12, *value * kApart) / *value, "next",
           "neighbour");
    scaled(preferred_at_most(Series::e12, *value / kApart) / *value, "last",
           "neighbour");
  }

  void add_type(int k, const Type* type) {
    const Part& part = circuit_.parts[k];
    if (type == nullptr || type == part.type || type->model == part.type->model) return;
    Fault& fault = add(FaultMode::value, weights_.of(FaultMode::value, "type"),
                       {part.name, type->name},
                       fmt::format("'{}' is a {} where a {} is meant", part.name,
                                   type->name, part.type->name),
                       fmt::format("put in a {}", part.type->name));
    std::replace(fault.id.begin() +
                     static_cast<std::ptrdiff_t>(word_of(FaultMode::value).size() + 1 +
                                                 part.name.size() + 1),
                 fault.id.end(), ' ', '-');
    name_part(fault, k);
    Edit edit = on_pin(Edit::What::retype, {k, 0});
    edit.type = type;
    fault.edits.push_back(std::move(edit));
  }

  template <std::size_t N>
  void add_types(int k, const std::array<std::string_view, N>& names) {
    for (const std::string_view name : names)
      add_type(k, catalogue_.find(circuit_.parts[k].kind, name));
  }

  void change_type(int k, const Part& part) {
    if (part.kind == KindId::zener && number_of(part, "voltage"))
      return change_zener(k, part);
    if (part.type == nullptr) return;
    switch (part.kind) {
      case KindId::led: {
        const auto size = part.type->words.find("size");
        for (const std::string_view colour : kColours) {
          std::map<std::string, std::string, std::less<>> words{
              {"colour", std::string(colour)}};
          if (size != part.type->words.end()) words["size"] = size->second;
          add_type(k, catalogue_.find_by_words(KindId::led, words));
        }
        return;
      }
      case KindId::diode:
        return add_types(k, kDiodes);
      case KindId::transistor:
        for (const std::string_view name : kBipolars) add_other_polarity(k, name);
        return;
      case KindId::mosfet:
        for (const std::string_view name : kMosfets) add_other_polarity(k, name);
        return;
      case KindId::regulator:
        return change_regulator(k, part);
      default:
        return;
    }
  }

  void add_other_polarity(int k, std::string_view name) {
    Part other = circuit_.parts[k];
    const Type* type = catalogue_.find(other.kind, name);
    if (type == nullptr) return;
    other.type = type;
    if (polarity(other) != polarity(circuit_.parts[k])) add_type(k, type);
  }

  void change_zener(int k, const Part& part) {
    // Types have a step of 10 % or so between them, as E24.
    const double volts = number_of(part, "voltage").value_or(1.0);
    constexpr double kApart = 1.02;
    const auto scaled = [&](double to, const std::string& subject) {
      if (part.type == nullptr)
        return add_scaled(k, "voltage", Unit::volt, to / volts, subject, "neighbour");
      const Type* nearest = nullptr;
      double best = 0.0;
      for (const Type& type : catalogue_.types()) {
        const auto own = type.figures.find("voltage");
        if (type.kind != KindId::zener || own == type.figures.end()) continue;
        const bool is_beyond = to > volts ? own->second.value > volts * kApart
                                          : own->second.value < volts / kApart;
        const double off = std::abs(own->second.value - to);
        if (!is_beyond || (nearest != nullptr && off >= best)) continue;
        nearest = &type;
        best = off;
      }
      add_type(k, nearest);
    };
    scaled(preferred_at_least(Series::e24, volts * kApart), "next");
    scaled(preferred_at_most(Series::e24, volts / kApart), "last");
  }

  void change_regulator(int k, const Part& part) {
    const auto output = number_of(part, "output");
    if (!output || polarity(part) < 0.0 || part.pins[1] == "adjust") return;
    for (const std::string_view name : kRegulators) {
      const Type* type = catalogue_.find(KindId::regulator, name);
      if (type == nullptr) continue;
      const auto other = type->figures.find("output");
      if (other == type->figures.end() || other->second.value == *output) continue;
      Fault& fault = add(FaultMode::value, weights_.of(FaultMode::value, "type"),
                         {part.name, type->name},
                         fmt::format("'{}' is a {} where a {} is meant", part.name,
                                     type->name, part.type->name),
                         fmt::format("put in a {}", part.type->name));
      name_part(fault, k);
      Edit edit = on_pin(Edit::What::retype, {k, 0});
      edit.type = type;
      fault.edits.push_back(std::move(edit));
    }
  }

  // --- joints
  // -------------------------------------------------------------------------

  void lift_pins(int k, const Part& part) {
    for (int pin = 0; pin < static_cast<int>(part.pins.size()); ++pin) {
      const bool is_ground = is_source(part.kind) && pin == 1 && part.nets[pin] == 0;
      if (part.nets[pin] < 0 || is_ground) continue;
      const PinRef here{k, pin};
      Fault& fault =
          add(FaultMode::joint, weights_.of(FaultMode::joint), {pin_name(here)},
              fmt::format("cold joint at {}", pin_name(here)),
              "heat the joint again with a little fresh solder; look for a "
              "lead or wire that is not in");
      name_pin(fault, here);
      fault.nets.push_back(net_name(part.nets[pin]));
      fault.edits.push_back(on_pin(Edit::What::lift, here));
    }
  }

  void unground(int k, const Part& part) {
    if (!is_source(part.kind) || part.nets[1] != 0) return;
    const PinRef here{k, 1};
    Fault& fault = add(FaultMode::ground, weights_.of(FaultMode::ground), {part.name},
                       fmt::format("{} is not joined to ground", pin_name(here)),
                       "join it to ground");
    name_pin(fault, here);
    fault.nets.push_back(net_name(0));
    fault.edits.push_back(on_pin(Edit::What::lift, here));
  }

  /// The pins beside each other, in the order of the leads where that is known.
  [[nodiscard]] std::vector<std::pair<int, int>> neighbours_of(const Part& part) const {
    std::vector<int> row;
    if (part.type != nullptr) {
      const auto orders = pinouts_of(pinouts_, part.type->name);
      if (!orders.empty()) row = pins_of(part, orders.front()->leads);
    }
    if (row.empty())
      for (int pin = 0; pin < static_cast<int>(part.pins.size()); ++pin)
        row.push_back(pin);
    std::vector<std::pair<int, int>> pairs;
    for (std::size_t k = 1; k < row.size(); ++k) pairs.emplace_back(row[k - 1], row[k]);
    return pairs;
  }

  void bridge(const std::vector<std::pair<int, int>>& neighbours) {
    std::set<std::pair<int, int>> pairs;
    const auto put = [&pairs](int a, int b) {
      if (a >= 0 && b >= 0 && a != b) pairs.insert(std::minmax(a, b));
    };
    for (const auto& [a, b] : neighbours) put(a, b);
    for (const Part& part : circuit_.parts) {
      if (!neighbours.empty()) break;
      if (part.pins.size() <= 3) {
        for (const int a : part.nets)
          for (const int b : part.nets) put(a, b);
      } else {
        for (const auto& [a, b] : neighbours_of(part)) put(part.nets[a], part.nets[b]);
      }
    }
    for (const auto& [a, b] : pairs) {
      // Ground comes last: "from the rail to ground".
      const auto [first, second] = a == 0 ? std::pair(b, a) : std::pair(a, b);
      Fault& fault = add(FaultMode::bridge, weights_.of(FaultMode::bridge),
                         {net_name(first), net_name(second)},
                         fmt::format("solder bridge between '{}' and '{}'",
                                     net_name(first), net_name(second)),
                         "look for solder, a whisker of wire or a lead that touches, "
                         "and take it away");
      fault.nets = {net_name(first), net_name(second)};
      fault.edits.push_back(joined(first, second));
    }
  }

  // --- what stands in another's place
  // ---------------------------------------------------

  /// What to do for each pin to stand where another one belongs.
  static std::vector<Edit> edits_of(int k, const Order& order) {
    std::vector<Edit> edits;
    Order now(order.size());
    for (std::size_t pin = 0; pin < now.size(); ++pin) now[pin] = static_cast<int>(pin);
    for (std::size_t pin = 0; pin < now.size(); ++pin) {
      if (now[pin] == order[pin]) continue;
      const auto other = std::find(now.begin(), now.end(), order[pin]);
      const int second = static_cast<int>(other - now.begin());
      edits.push_back(
          on_pin(Edit::What::exchange, {k, static_cast<int>(pin)}, {k, second}));
      std::swap(now[pin], *other);
    }
    return edits;
  }

  void add_order(int k, const Order& order, std::string_view detail,
                 const std::string& whose) {
    const Part& part = circuit_.parts[k];
    std::vector<int> moved;
    for (std::size_t pin = 0; pin < order.size(); ++pin)
      if (part.nets[pin] != part.nets[order[pin]])
        moved.push_back(static_cast<int>(pin));
    if (moved.empty() || !orders_.insert({k, order}).second) return;
    std::vector<std::string> subjects;
    std::vector<std::string> leads;
    for (const int pin : moved) {
      subjects.push_back(pin_name({k, pin}));
      leads.push_back(part.pins[pin]);
    }
    // Two rotations have the same leads.
    if (moved.size() > 2 && order[0] == 2) subjects.emplace_back("back");
    Fault& fault =
        add(FaultMode::exchanged, weights_.of(FaultMode::exchanged, detail), subjects,
            moved.size() == 2
                ? fmt::format("'{}' with {} and {} exchanged", part.name, leads[0],
                              leads[1])
                : fmt::format("'{}' with all its leads in another's place", part.name),
            "look up which lead is which, and put it in anew");
    if (!whose.empty()) fault.words += fmt::format(" ({})", whose);
    for (const int pin : moved) name_pin(fault, {k, pin});
    fault.edits = edits_of(k, order);
  }

  /// Where each pin stands if a part with these leads is put in where `right` belongs.
  static Order order_of(const std::vector<int>& right, const std::vector<int>& wrong) {
    Order order(right.size());
    for (std::size_t lead = 0; lead < right.size(); ++lead)
      order[wrong[lead]] = right[lead];
    return order;
  }

  void exchange_leads(int k, const Part& part) {
    if (!is_ordered(part.kind)) return;
    const auto orders = part.type == nullptr ? std::vector<const Pinout*>{}
                                             : pinouts_of(pinouts_, part.type->name);
    std::vector<int> right{0, 1, 2};
    bool is_known = false;
    if (!orders.empty()) {
      const std::vector<int> told = pins_of(part, orders.front()->leads);
      is_known = told.size() == 3;
      if (is_known) right = told;
    }
    if (is_known) {
      std::vector<int> turned(right.rbegin(), right.rend());
      add_order(k, order_of(right, turned), "turned", "turned round");
      for (const Pinout* other : orders)
        add_known(k, right, *other, "of another maker");
      for (const Pinout& other : pinouts_) {
        if (other.kind != part.kind || other.package != orders.front()->package)
          continue;
        add_known(k, right, other,
                  other.types.empty()
                      ? std::string("the order of other types")
                      : fmt::format("the order of a {}", other.types.front()));
      }
    }
    for (const auto& [a, b] : {std::pair(0, 1), std::pair(1, 2), std::pair(0, 2)}) {
      std::vector<int> swapped = right;
      std::swap(swapped[a], swapped[b]);
      add_order(k, order_of(right, swapped), is_known ? "neighbours" : "known", "");
    }
  }

  void add_known(int k, const std::vector<int>& right, const Pinout& other,
                 const std::string& whose) {
    const std::vector<int> leads = pins_of(circuit_.parts[k], other.leads);
    if (leads.size() == right.size())
      add_order(k, order_of(right, leads), "known", whose);
  }

  void exchange_outputs(int k, const Part& part) {
    for (const auto& [a, b] : output_pairs(part)) {
      const PinRef first{k, a};
      const PinRef second{k, b};
      Fault& fault =
          add(FaultMode::exchanged, weights_.of(FaultMode::exchanged, "outputs"),
              {pin_name(first), pin_name(second)},
              fmt::format("outputs {} and {} of '{}' exchanged", part.pins[a],
                          part.pins[b], part.name),
              "exchange the wires, or the two in the program");
      name_pin(fault, first);
      name_pin(fault, second);
      fault.edits.push_back(on_pin(Edit::What::exchange, first, second));
    }
  }

  void shift_wire(PinRef from, PinRef onto) {
    const Part& part = circuit_.parts[from.part];
    const int net = part.nets[from.pin];
    const int other = part.nets[onto.pin];
    if (net < 0 || net == other) return;
    Fault& fault =
        add(FaultMode::shifted, weights_.of(FaultMode::shifted),
            {pin_name(from), pin_name(onto)},
            fmt::format("the wire of {} is on {}", pin_name(from), part.pins[onto.pin]),
            fmt::format("put it on {}", part.pins[from.pin]));
    name_pin(fault, from);
    name_pin(fault, onto);
    fault.edits.push_back(on_pin(Edit::What::lift, from));
    if (other >= 0) {
      fault.edits.push_back(joined(net, other));
    } else {
      Edit edit = on_pin(Edit::What::move, onto);
      edit.net = net;
      fault.edits.push_back(std::move(edit));
    }
  }

  void shift_wires(int k, const Part& part) {
    if (part.pins.size() < 3) return;
    for (const auto& [a, b] : neighbours_of(part)) {
      shift_wire({k, a}, {k, b});
      shift_wire({k, b}, {k, a});
    }
  }

  // --- chips and supplies
  // -----------------------------------------------------------------

  static Edit held(PinRef pin, OutputSetting::Level level) {
    Edit edit = on_pin(Edit::What::hold, pin);
    edit.level = level;
    return edit;
  }

  void stick(int k, const Part& part) {
    if (part.kind != KindId::controller) return;
    using Level = OutputSetting::Level;
    constexpr std::array kLevels = {std::pair(Level::high, "high"),
                                    std::pair(Level::low, "low"),
                                    std::pair(Level::open, "open")};
    for (int pin = kFirstPin; pin < static_cast<int>(part.pins.size()); ++pin) {
      if (!is_output_pin(part, pin) || part.nets[pin] < 0) continue;
      const PinRef here{k, pin};
      for (const auto& [level, word] : kLevels) {
        Fault& fault = add(
            FaultMode::stuck,
            sum_of(weights_.of(FaultMode::stuck), weights_.of(FaultMode::stuck, part)),
            {pin_name(here), word},
            fmt::format("output {} is always {}", pin_name(here), word),
            "look at the program first; if it is right, the pin is "
            "broken: use another one");
        name_pin(fault, here);
        fault.edits.push_back(held(here, level));
      }
    }
  }

  void blank(int k, const Part& part) {
    if (part.kind != KindId::controller) return;
    std::vector<Edit> edits;
    for (int pin = kFirstPin; pin < static_cast<int>(part.pins.size()); ++pin)
      if (is_output_pin(part, pin))
        edits.push_back(held({k, pin}, OutputSetting::Level::open));
    if (edits.empty()) return;
    Fault& fault =
        add(FaultMode::blank, weights_.of(FaultMode::blank), {part.name},
            fmt::format("'{}' has no program: all its outputs are open", part.name),
            "program it");
    name_part(fault, k);
    fault.edits = std::move(edits);
  }

  Fault& add_supply(int k, const std::string& detail, std::string words,
                    std::string remedy) {
    Fault& fault =
        add(FaultMode::supply, weights_.of(FaultMode::supply, detail),
            {circuit_.parts[k].name, detail}, std::move(words), std::move(remedy));
    name_part(fault, k);
    return fault;
  }

  void fail_supply(int k, const Part& part) {
    if (!is_source(part.kind)) return;
    const std::string& name = part.name;
    Fault& absent =
        add_supply(k, "absent", fmt::format("'{}' delivers nothing", name),
                   "look whether it is plugged in, and measure what it gives");
    absent.edits.push_back(on_pin(Edit::What::lift, {k, 0}));
    absent.edits.push_back(on_pin(Edit::What::lift, {k, 1}));
    lower_supply(k, part);
    Fault& reversed =
        add_supply(k, "reversed", fmt::format("'{}' is the wrong way round", name),
                   "exchange its wires, and then look which parts have suffered");
    reversed.edits.push_back(on_pin(Edit::What::exchange, {k, 0}, {k, 1}));
    if (part.kind != KindId::dc_supply || !flag(part, "regulated", true)) return;
    if (!number_of(part, "current")) return;
    Fault& loose = add_supply(k, "unregulated",
                              fmt::format("'{}' is not a regulated supply", name),
                              "measure it without load, and take a regulated one");
    Edit edit = on_pin(Edit::What::loosen, {k, 0});
    edit.times = kUnregulatedShare;
    loose.edits.push_back(std::move(edit));
  }

  void lower_supply(int k, const Part& part) {
    Edit edit = on_pin(Edit::What::scale, {k, 0});
    edit.key = part.kind == KindId::current_source ? "current" : "voltage";
    edit.times = kLowShare;
    std::string words = fmt::format("'{}' gives too little", part.name);
    if (part.kind == KindId::battery) {
      const auto types = circuit_.charges.find(k);
      if (types == circuit_.charges.end()) return;
      const auto spent = types->second.find("spent");
      if (spent == types->second.end() || spent->second == part.type) return;
      edit.what = Edit::What::retype;
      edit.type = spent->second;
      words = fmt::format("'{}' is spent", part.name);
    }
    Fault& low = add_supply(k, "low", std::move(words),
                            "measure it under load, and replace it or set it higher");
    low.edits.push_back(std::move(edit));
  }

  const Circuit& circuit_;
  const Catalogue& catalogue_;
  std::vector<Pinout> pinouts_;
  Weights weights_;
  std::set<std::pair<int, Order>> orders_;  ///< That are in the list.
  std::vector<Fault> list_;
};

}  // namespace

std::vector<Fault> faults_of(const Circuit& circuit, const Catalogue& catalogue,
                             const std::vector<std::pair<int, int>>& neighbours) {
  return Listing(circuit, catalogue).list(neighbours);
}

}  // namespace benchproof
