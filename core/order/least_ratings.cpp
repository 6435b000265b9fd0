#include "core/order/least_ratings.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <span>

#include "core/check/rest/usual.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

// The ratings that parts are sold with. Common practice, no source, but for fuses: the
// values of IEC 60127 as remembered (R10 series).
constexpr std::array kTrackPowers = {0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 3.0, 5.0};
constexpr std::array kElectrolyticVolts = {6.3,  10.0, 16.0, 25.0,
                                           35.0, 50.0, 63.0, 100.0};
constexpr std::array kFoilVolts = {16.0, 25.0, 50.0, 63.0, 100.0, 250.0, 400.0, 630.0};
constexpr std::array kSupplyAmps = {0.1, 0.2, 0.3, 0.5, 1.0, 1.5,
                                    2.0, 3.0, 4.0, 5.0, 6.0, 10.0};
constexpr std::array kFuseAmps = {
    0.032, 0.04, 0.05, 0.063, 0.08, 0.1, 0.125, 0.16, 0.2, 0.25, 0.315, 0.4, 0.5,
    0.63,  0.8,  1.0,  1.25,  1.6,  2.0, 2.5,   3.15, 4.0, 5.0,  6.3,   8.0, 10.0};

/// What a rating is asked for.
struct Asked {
  std::string_view key;
  std::string_view quantity;
  std::string_view check;
  Unit unit = Unit::none;
  double share = 1.0;   ///< Of the rating that may be used.
  double cooled = 1.0;  ///< Share of the rating that the surroundings leave.
  std::span<const double> grades = {};  ///< In rising order; empty: not sold by rating.
};

LeastRating rate(const CheckInput& input, int part, const Asked& asked,
                 const Peak& load) {
  const double usable = asked.share * asked.cooled;
  LeastRating r;
  r.key = asked.key;
  r.quantity = asked.quantity;
  r.check = asked.check;
  r.unit = asked.unit;
  r.load = std::max(load.value, 0.0);
  r.part = part;
  r.state = input.state.name;
  r.phase = load.phase;
  r.share = asked.share;
  if (usable > 0.0) {
    r.least = r.load / usable;
  } else {
    r.least = r.load > 0.0 ? std::numeric_limits<double>::infinity() : 0.0;
  }
  r.is_graded = !asked.grades.empty();
  const auto passes = [&](double rating) { return !exceeds(r.load, rating * usable); };
  const auto sold = std::find_if(asked.grades.begin(), asked.grades.end(), passes);
  if (sold != asked.grades.end()) r.sold = *sold;
  r.has = figure(input.parts[part], asked.key);
  r.is_enough = r.has && passes(r.has->value);
  return r;
}

/// The rows for one part: what each of its ratings has to bear, as its check sees it.
class Rows {
 public:
  Rows(const CheckInput& input, int part) : input_(input), part_(part) {}

  void add(const Asked& asked, const Peak& load) {
    list_.push_back(rate(input_, part_, asked, load));
  }
  /// The highest value over the phases; the phase is not named where they hardly
  /// differ.
  template <typename Function>
  [[nodiscard]] Peak most(Function&& value) const {
    constexpr double kMoves = 0.01;  // Share of the value.
    Peak peak = highest(input_, value);
    const double least =
        -highest(input_, [&](const Observation& seen) { return -value(seen); }).value;
    if (peak.value - least <= kMoves * std::abs(peak.value)) peak.phase.clear();
    return peak;
  }
  [[nodiscard]] Peak amps(int pin) const {
    return most(
        [&](const Observation& seen) { return std::abs(pin_amps(seen, part_, pin)); });
  }
  [[nodiscard]] Peak mean_amps(int pin) const {
    return {std::abs(pin_amps(input_.average, part_, pin)), ""};
  }
  /// Into the part at a pin (`sign` 1), or out of it (-1).
  [[nodiscard]] Peak directed_amps(int pin, double sign) const {
    return most(
        [&](const Observation& seen) { return sign * pin_amps(seen, part_, pin); });
  }
  [[nodiscard]] Peak volts(int pin, int other) const {
    return most([&](const Observation& seen) {
      return volts_between(input_, seen, part_, pin, other);
    });
  }
  [[nodiscard]] Peak volts_either_way(int pin, int other) const {
    return most([&](const Observation& seen) {
      return std::abs(volts_between(input_, seen, part_, pin, other));
    });
  }
  [[nodiscard]] bool has(std::string_view key) const {
    return figure(input_.parts[part_], key).has_value();
  }
  [[nodiscard]] std::vector<LeastRating> take() { return std::move(list_); }

 private:
  const CheckInput& input_;
  int part_;
  std::vector<LeastRating> list_;
};

void rate_resistor(Rows& rows, const CheckInput& input, int index,
                   const Derating& derating) {
  const Part& part = input.parts[index];
  Asked asked{"power", "power", "resistor-power", Unit::watt};
  const auto usual = figure(part, "usual_share");
  asked.share = derating.power ? *derating.power : usual ? usual->value : 1.0;
  asked.cooled = power_share_at(part, input.circuit.ambient);
  asked.grades = kTrackPowers;
  if (part.kind == KindId::resistor) asked.grades = kResistorPowers;
  rows.add(asked, resistor_watts(input, index));
}

void rate_capacitor(Rows& rows, const Part& part, const Derating& derating) {
  const bool is_polarised = flag(part, "polarised", false);
  Asked asked{"rated", "voltage", "capacitor-voltage", Unit::volt};
  asked.share = derating.voltage.value_or(kUsualCapacitorShare);
  asked.grades = kFoilVolts;
  if (is_polarised) asked.grades = kElectrolyticVolts;
  rows.add(asked, is_polarised ? rows.volts(0, 1) : rows.volts_either_way(0, 1));
}

void rate_mosfet(Rows& rows) {
  constexpr int kGate = 0, kDrain = 1, kSource = 2;
  rows.add({"current", "drain current", "mosfet-current", Unit::ampere},
           rows.has("pulse") ? rows.mean_amps(kDrain) : rows.amps(kDrain));
  rows.add({"voltage", "drain voltage", "mosfet-voltage", Unit::volt},
           rows.volts_either_way(kDrain, kSource));
  rows.add({"gate", "gate voltage", "mosfet-gate", Unit::volt},
           rows.volts_either_way(kGate, kSource));
}

/// The outputs of a controller: the one with most current, and what all source together
/// or sink together, whichever is more.
void rate_controller(Rows& rows, const CheckInput& input, int index) {
  const Part& chip = input.parts[index];
  const int pins = static_cast<int>(chip.pins.size());
  const Peak pin = rows.most([&](const Observation& seen) {
    double most = 0.0;
    for (int k = kFirstPin; k < pins; ++k)
      if (is_output_pin(chip, k))
        most = std::max(most, std::abs(pin_amps(seen, index, k)));
    return most;
  });
  rows.add(
      {"pin_limit", "current of a pin", "controller-pin", Unit::ampere, kUsualPinShare},
      pin);
  const Peak total = rows.most([&](const Observation& seen) {
    double sourced = 0.0;
    double sunk = 0.0;
    for (int k = kFirstPin; k < pins; ++k) {
      const double amps = pin_amps(seen, index, k);
      (amps < 0.0 ? sourced : sunk) += std::abs(amps);
    }
    return std::max(sourced, sunk);
  });
  rows.add({"total_limit", "current of all pins", "controller-total", Unit::ampere},
           total);
  rows.add({"supply_max", "supply voltage", "controller-supply", Unit::volt},
           rows.volts(kVdd, kVss));
}

}  // namespace

std::vector<LeastRating> least_ratings(const CheckInput& input, int part,
                                       const Derating& derating) {
  Rows rows(input, part);
  const Part& p = input.parts[part];
  switch (p.kind) {
    case KindId::resistor:
    case KindId::trimmer:
    case KindId::light_resistor:
    case KindId::heat_resistor:
      rate_resistor(rows, input, part, derating);
      break;
    case KindId::capacitor:
      rate_capacitor(rows, p, derating);
      break;
    case KindId::inductor:
      rows.add({"rated", "current", "inductor-current", Unit::ampere}, rows.amps(0));
      break;
    case KindId::switch_:
      rows.add({"rated", "current", "switch-current", Unit::ampere}, rows.amps(0));
      break;
    case KindId::diode:
      rows.add({"current", "current", "diode-current", Unit::ampere},
               {pin_amps(input.average, part, 0), ""});
      rows.add({"reverse", "reverse voltage", "diode-reverse", Unit::volt},
               rows.volts(1, 0));
      break;
    case KindId::zener:
      rows.add({"power", "power", "zener-power", Unit::watt},
               heating_watts(input, part));
      break;
    case KindId::led:
      rows.add({"current", "current", "led-current", Unit::ampere},
               rows.directed_amps(0, 1.0));
      rows.add({"reverse", "reverse voltage", "led-reverse", Unit::volt},
               rows.volts(1, 0));
      break;
    case KindId::transistor: {
      constexpr int kCollector = 1, kEmitter = 2;
      rows.add({"current", "collector current", "transistor-current", Unit::ampere},
               rows.amps(kCollector));
      rows.add({"voltage", "collector voltage", "transistor-voltage", Unit::volt},
               rows.volts_either_way(kCollector, kEmitter));
      rows.add({"power", "power", "transistor-power", Unit::watt},
               heating_watts(input, part));
      break;
    }
    case KindId::mosfet:
      rate_mosfet(rows);
      rows.add({"power", "power", "mosfet-power", Unit::watt},
               heating_watts(input, part));
      break;
    case KindId::regulator: {
      constexpr int kIn = 0, kCommon = 1, kOut = 2;
      rows.add({"current", "output current", "regulator-current", Unit::ampere},
               rows.directed_amps(kOut, -1.0));
      if (!rows.has("difference_max"))
        rows.add({"input_max", "input voltage", "regulator-input", Unit::volt},
                 rows.volts(kIn, kCommon));
      break;
    }
    case KindId::dc_supply:
      rows.add({"current", "current", "supply-current", Unit::ampere, kUsualSupplyShare,
                1.0, kSupplyAmps},
               rows.directed_amps(0, -1.0));
      break;
    case KindId::fuse:
      rows.add({"rated", "current", "fuse-current", Unit::ampere, kUsualFuseShare, 1.0,
                kFuseAmps},
               {heating_amps(input, part), ""});
      break;
    case KindId::controller:
      rate_controller(rows, input, part);
      break;
    case KindId::battery:
    case KindId::lamp:
    case KindId::motor:
    case KindId::relay_coil:
    case KindId::buzzer:
    case KindId::wire:
    case KindId::voltage_source:
    case KindId::current_source:
      break;
  }
  return rows.take();
}

}  // namespace benchproof
