#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "core/check/hand/wiring.h"

namespace benchproof {
namespace {

constexpr int kCathode = 1;
/// A feed counts as gone below this share of what is drawn.
constexpr double kGoneShare = 1e-2;
/// A smaller fall says nothing. Volt.
constexpr double kLeastFall = 0.1;

/// A net that diodes feed and capacitors to ground hold up.
struct Store {
  std::vector<PinRef> feeds;
  std::vector<PinRef> loads;
  std::vector<double> farads;
  int first = -1;  ///< The first of the capacitors.
};

std::optional<Store> store_at(const HandRunInput& input, int net) {
  Store store;
  for (const PinRef pin : input.circuit.nets[net].pins) {
    const Part& part = input.parts[pin.part];
    if (part.kind == KindId::capacitor) {
      if (part.nets[1 - pin.pin] != 0) return std::nullopt;
      if (store.first < 0) store.first = pin.part;
      store.farads.push_back(figure(part, "value")->value);
    } else if (part.kind == KindId::diode) {
      if (pin.pin != kCathode) return std::nullopt;
      store.feeds.push_back(pin);
    } else if (part.kind == KindId::voltage_source || part.kind == KindId::dc_supply ||
               part.kind == KindId::battery) {
      return std::nullopt;
    } else {
      store.loads.push_back(pin);
    }
  }
  if (store.farads.empty() || store.feeds.empty() || store.loads.empty())
    return std::nullopt;
  return store;
}

/// Currents into parts at pins, together.
Trace sum_of(const Record& seen, const std::vector<PinRef>& pins) {
  Trace sum = seen.amps(pins.front().part, pins.front().pin);
  for (auto pin = pins.begin() + 1; pin != pins.end(); ++pin) {
    const Trace more = seen.amps(pin->part, pin->pin);
    for (std::size_t k = 0; k < sum.values.size(); ++k) sum.values[k] += more.values[k];
  }
  return sum;
}

/// The stretch without feed in which the net falls farthest.
std::optional<Stretch> unfed(const Record& seen, const Store& store,
                             const Trace& volts) {
  Trace missing = sum_of(seen, store.loads);
  const Trace feed = sum_of(seen, store.feeds);
  for (std::size_t k = 0; k < missing.values.size(); ++k)
    missing.values[k] = kGoneShare * missing.values[k] + feed.values[k];
  std::optional<Stretch> best;
  double farthest = kLeastFall;
  for (const Stretch& stretch : beyond(missing, 0.0, true, seen.whole())) {
    const double fall = value_at(volts, stretch.from) - value_at(volts, stretch.to);
    if (fall <= farthest) continue;
    farthest = fall;
    best = stretch;
  }
  return best;
}

/// When the net has fallen to a level within a stretch; nothing where it has not.
std::optional<double> falls_to(const Record& seen, int net, double level,
                               const Stretch& within) {
  for (const double time : crossings(seen.volts(net), level, false))
    if (time >= within.from) return time - within.from;
  return std::nullopt;
}

}  // namespace

/// t = C (V1 - V2) / I: how long a capacitor carries a load when the feed is gone.
std::vector<HandResult> hand_hold_up(const HandRunInput& input) {
  std::vector<HandResult> results;
  for (std::size_t n = 1; n < input.circuit.nets.size(); ++n) {
    const int net = static_cast<int>(n);
    const auto store = store_at(input, net);
    if (!store) continue;
    const Trace volts = input.nodal.volts(net);
    const auto stretch = unfed(input.nodal, *store, volts);
    if (!stretch) continue;
    const double high = value_at(volts, stretch->from);
    // A tenth short of its end, where the feed may come back on a slope.
    const double low = high - 0.9 * (high - value_at(volts, stretch->to));
    const auto nodal = falls_to(input.nodal, net, low, *stretch);
    const auto engine = falls_to(input.engine, net, low, *stretch);
    if (!nodal || !engine || *nodal <= 0.0) continue;
    const double amps = extremes(sum_of(input.nodal, store->loads),
                                 {stretch->from, stretch->from + *nodal})
                            .mean;
    if (amps <= 0.0) continue;
    double farads = 0.0;
    for (const double value : store->farads) farads += value;
    HandResult result;
    result.rule = "hold-up";
    result.title = "how long a capacitor carries a load without feed";
    result.part = input.parts[store->first].name;
    result.net = input.circuit.nets[n].name;
    result.quantity = "time";
    result.unit = Unit::second;
    result.formula = "t = C (V1 - V2) / I";
    result.hand = farads * (high - low) / amps;
    result.numbers = fmt::format(
        "{} ({} - {}) / {} = {}", bracketed(store->farads, Unit::farad),
        hand_text(high, Unit::volt), hand_text(low, Unit::volt),
        hand_text(amps, Unit::ampere), hand_text(result.hand, Unit::second));
    result.engine = engine;
    result.nodal = nodal;
    result.neglects =
        "what the diode still feeds as it closes, and the capacitor's own resistance; "
        "V1 "
        "and V2 are nine tenths of the fall, I is what is drawn on average, both as "
        "solved";
    result.source = "common practice, no source (Q = C V = I t)";
    result.mark = Mark::practice;
    results.push_back(std::move(result));
  }
  return results;
}

}  // namespace benchproof
