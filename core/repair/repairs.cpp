#include "core/repair/repairs.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <utility>

#include "core/check/finding/wording.h"
#include "core/circuit/rewire.h"
#include "core/circuit/topology.h"
#include "core/fault/mix_ups.h"

namespace benchproof {
namespace {

/// Values that are tried of a resistor that was forgotten. Ohm.
constexpr std::array kBeforeLed = {100.0, 150.0, 220.0, 330.0, 470.0, 680.0, 1e3};
constexpr std::array kBeforeBase = {1e3, 4.7e3, 10e3};
/// How a value is misread or mistyped: a decade off, or a prefix.
constexpr std::array kTimes = {10.0, 0.1, 100.0, 0.01, 1e3, 1e-3};
/// What is nobody's slip, but a value that was chosen too small or too large.
constexpr double kMilder = 3.0;
/// What adapters are sold for (V), and how far apart two are that people mistake for
/// each other. Common practice, no source.
constexpr std::array kAdapters = {3.0, 4.5, 5.0, 6.0, 9.0, 12.0, 15.0, 24.0};
constexpr double kOtherAdapter = 1.3;
/// What a joint that was forgotten has. Ohm.
constexpr double kJoint = 1e-3;

/// The leads of a part that people take for each other.
std::vector<std::pair<int, int>> leads_exchanged(KindId kind) {
  switch (kind) {
    case KindId::transistor:
      return {{1, 2}, {0, 1}};
    case KindId::mosfet:
      return {{1, 2}};
    case KindId::regulator:
      return {{0, 2}, {0, 1}, {1, 2}};
    default:
      return {};
  }
}

/// Makes the list, sort by sort.
class Repairs {
 public:
  explicit Repairs(const Circuit& circuit) : circuit_(circuit) {}

  std::vector<Repair> list() {
    each_part(circuit_, [this](int k, const Part& part) {
      if (!is_source(part.kind)) turn_round(k, part);
    });
    each_part(circuit_, [this](int k, const Part& part) {
      if (is_source(part.kind)) turn_round(k, part);
    });
    each_part(circuit_, [this](int k, const Part& part) { exchange_leads(k, part); });
    each_part(circuit_, [this](int k, const Part& part) { part_leads(k, part); });
    each_part(circuit_, [this](int k, const Part& part) { put_resistor(k, part); });
    each_part(circuit_, [this](int k, const Part& part) { join_ground(k, part); });
    each_part(circuit_, [this](int k, const Part& part) { exchange_values(k, part); });
    each_part(circuit_, [this](int k, const Part& part) { change_value(k, part); });
    each_part(circuit_, [this](int k, const Part& part) { exchange_outputs(k, part); });
    each_part(circuit_, [this](int k, const Part& part) { change_supply(k, part); });
    return std::move(list_);
  }

 private:
  void add(int part, std::string mistake, std::string remedy,
           std::function<void(Circuit&)> undo) {
    list_.push_back({std::move(mistake), std::move(remedy), {part}, std::move(undo)});
  }

  void turn_round(int k, const Part& part) {
    const auto poles = poles_of(part);
    if (!poles) return;
    const bool is_chip = part.kind == KindId::controller;
    add_exchange(k, *poles,
                 is_chip
                     ? fmt::format("'vdd' and 'vss' of '{}' are exchanged", part.name)
                     : fmt::format("'{}' is the wrong way round", part.name),
                 is_chip ? "exchange them" : "turn it round");
  }

  /// Two pins of a part in each other's place.
  void add_exchange(int k, std::pair<int, int> pins, std::string mistake,
                    std::string remedy = "exchange them") {
    add(k, std::move(mistake), std::move(remedy), [k, pins](Circuit& c) {
      exchange(c, {k, pins.first}, {k, pins.second});
    });
  }

  void exchange_leads(int k, const Part& part) {
    for (const auto& [a, b] : leads_exchanged(part.kind))
      if (part.nets[a] != part.nets[b])
        add_exchange(k, {a, b},
                     fmt::format("{} and {} of '{}' are exchanged", part.pins[a],
                                 part.pins[b], part.name));
  }

  void put_resistor(int k, const Part& part) {
    const bool is_led = part.kind == KindId::led;
    if (!is_led && part.kind != KindId::transistor) return;
    if (part.nets[0] < 0 || has_own_resistor(part)) return;
    const auto try_one = [&](double ohms) {
      const std::string value = short_text(ohms, Unit::ohm);
      add(k,
          is_led ? fmt::format("'{}' has no resistor of its own", part.name)
                 : fmt::format("the base of '{}' has no resistor", part.name),
          fmt::format("put one of {} in series with {}", value,
                      is_led ? "it" : "the base"),
          [k, ohms](Circuit& c) {
            put_in_series(c, {k, 0}, ohms, "(resistor)");
          });
    };
    if (is_led)
      for (const double ohms : kBeforeLed) try_one(ohms);
    else
      for (const double ohms : kBeforeBase) try_one(ohms);
  }

  /// Whether a resistor stands on a net of an LED, or of a base, and nothing else does.
  [[nodiscard]] bool has_own_resistor(const Part& part) const {
    const int last = part.kind == KindId::led ? 1 : 0;
    for (int pin = 0; pin <= last; ++pin) {
      const std::vector<PinRef>& pins = circuit_.nets[part.nets[pin]].pins;
      const bool is_own =
          pins.size() == 2 &&
          std::any_of(pins.begin(), pins.end(), [this](const PinRef& other) {
            return circuit_.parts[other.part].kind == KindId::resistor;
          });
      if (is_own) return true;
    }
    return false;
  }

  /// The pin that belongs on ground as a rule, -1 of a kind without one.
  static int ground_pin(const Part& part) {
    switch (part.kind) {
      case KindId::dc_supply:
      case KindId::battery:
      case KindId::controller:
      case KindId::regulator:
        return 1;
      case KindId::transistor:
      case KindId::mosfet:
        return polarity(part) > 0.0 ? 2 : -1;
      default:
        return -1;
    }
  }

  void join_ground(int k, const Part& part) {
    const int pin = ground_pin(part);
    if (pin < 0 || part.nets[pin] == 0) return;
    const int net = part.nets[pin];
    add(k, fmt::format("'{}.{}' is not joined to ground", part.name, part.pins[pin]),
        "join it", [k, pin, net](Circuit& c) {
          if (net < 0)
            rejoin(c, {k, pin}, 0);
          else
            put_between(c, net, 0, kJoint, "(joint)");
        });
  }

  /// Two resistors that meet, each with the other's value.
  void exchange_values(int k, const Part& part) {
    if (part.kind != KindId::resistor) return;
    for (int other = k + 1; other < static_cast<int>(circuit_.parts.size()); ++other) {
      const Part& second = circuit_.parts[other];
      const auto a = number_of(part, "value");
      const auto b = number_of(second, "value");
      const bool meets =
          std::any_of(part.nets.begin(), part.nets.end(), [&second](int net) {
            return net > 0 && std::find(second.nets.begin(), second.nets.end(), net) !=
                                  second.nets.end();
          });
      if (second.kind != KindId::resistor || !meets || !a || !b || *a == *b) continue;
      list_.push_back({fmt::format("'{}' and '{}' are in each other's place", part.name,
                                   second.name),
                       "exchange them",
                       {k, other},
                       [k, other](Circuit& c) {
                         std::swap(c.parts[k].settings, c.parts[other].settings);
                       }});
    }
  }

  void change_value(int k, const Part& part) {
    const bool is_told =
        part.kind == KindId::resistor || part.kind == KindId::capacitor;
    const auto value = number_of(part, "value");
    if (!is_told || !value) return;
    const Unit unit = part.kind == KindId::resistor ? Unit::ohm : Unit::farad;
    const auto set_to = [k](double ohms) {
      return [k, ohms](Circuit& c) {
        c.parts[k].settings["value"] = {ohms, c.parts[k].span};
      };
    };
    for (const double times : kTimes) {
      const std::string text = short_text(*value * times, unit);
      add(k,
          fmt::format("'{}' is {} where {} was meant", part.name,
                      short_text(*value, unit), text),
          fmt::format("take {}", text), set_to(*value * times));
      list_.back().milder = set_to(*value * (times > 1.0 ? kMilder : 1.0 / kMilder));
    }
  }

  void exchange_outputs(int k, const Part& part) {
    for (const auto& [a, b] : output_pairs(part))
      add_exchange(k, {a, b},
                   fmt::format("'{}' and '{}' of '{}' are exchanged", part.pins[a],
                               part.pins[b], part.name));
  }

  /// A resistor with both leads on one net: one of them belongs before a lamp or a base
  /// there, which has none otherwise.
  void part_leads(int k, const Part& part) {
    const auto ohms = number_of(part, "value");
    if (part.kind != KindId::resistor || part.nets[0] != part.nets[1] ||
        part.nets[0] < 0 || !ohms)
      return;
    for (const PinRef& pin : circuit_.nets[part.nets[0]].pins) {
      const Part& other = circuit_.parts[pin.part];
      const bool wants_one = other.kind == KindId::led ||
                             (other.kind == KindId::transistor && pin.pin == 0);
      if (!wants_one) continue;
      list_.push_back({fmt::format("both leads of '{}' are on '{}'", part.name,
                                   circuit_.nets[part.nets[0]].name),
                       fmt::format("join one of them to '{}.{}' alone", other.name,
                                   other.pins[pin.pin]),
                       {k, pin.part},
                       [pin, ohms = *ohms](Circuit& c) {
                         put_in_series(c, pin, ohms, "(resistor)");
                       }});
    }
  }

  /// An adapter of another voltage, the nearest first.
  void change_supply(int k, const Part& part) {
    const auto volts = number_of(part, "voltage");
    if (part.kind != KindId::dc_supply || !volts || !(*volts > 0.0)) return;
    std::vector<double> others;
    for (const double other : kAdapters)
      if (std::max(other / *volts, *volts / other) >= kOtherAdapter)
        others.push_back(other);
    std::stable_sort(others.begin(), others.end(), [&volts](double a, double b) {
      return std::abs(std::log(a / *volts)) < std::abs(std::log(b / *volts));
    });
    for (const double other : others) {
      const std::string text = short_text(other, Unit::volt);
      add(k,
          fmt::format("'{}' has {} where {} was meant", part.name,
                      short_text(*volts, Unit::volt), text),
          fmt::format("take one of {}", text), [k, other](Circuit& c) {
            c.parts[k].settings["voltage"] = {other, c.parts[k].span};
          });
      list_.back().is_last_resort = true;
    }
  }

  const Circuit& circuit_;
  std::vector<Repair> list_;
};

}  // namespace

std::vector<Repair> repairs_of(const Circuit& circuit) {
  return Repairs(circuit).list();
}

}  // namespace benchproof
