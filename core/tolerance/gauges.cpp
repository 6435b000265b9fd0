#include "core/tolerance/gauges.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/check/expect/expectations.h"
#include "core/check/finding/wording.h"
#include "core/check/rating/light.h"
#include "core/check/rest/limits.h"

namespace benchproof {
namespace {

constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();
constexpr double kDarkShare = 1e-3;

void add_expectations(const CheckInput& nominal, std::vector<Gauge>& gauges) {
  for (const Expectation& e : nominal.circuit.expectations) {
    if (e.run >= 0 || (!e.state.empty() && e.state != nominal.state.name)) continue;
    Gauge gauge;
    gauge.of = Gauge::Of::expectation;
    gauge.check = "expectation";
    gauge.part = e.part;
    gauge.pin = e.pin;
    gauge.net = e.net;
    const QuantityWords words = words_of(e.quantity);
    gauge.quantity = words.quantity;
    gauge.unit = words.unit;
    gauge.lower = e.least;
    gauge.upper = e.most;
    gauge.expectation = &e;
    gauges.push_back(std::move(gauge));
  }
}

void add_rating(const CheckInput& nominal, int part, const Rating& rating,
                std::vector<Gauge>& gauges) {
  const Part& p = nominal.parts[static_cast<std::size_t>(part)];
  const auto limit = limit_of(rating, p, nominal.circuit.ambient);
  const bool is_upper = rating.bound == Bound::upper;
  const double times = is_upper ? fault_times(rating, p) : 1.0;
  if (rating.rest.check.empty() || !limit || times == kNever) return;
  for (const int pin : pins_of(rating.measure, p)) {
    if (!measured(nominal, part, rating, pin)) continue;
    Gauge gauge;
    gauge.of = Gauge::Of::rating;
    gauge.check = rating.rest.check;
    gauge.part = part;
    gauge.pin = rating.measure.pins == Pins::named ? -1 : pin;
    gauge.quantity = rating.quantity;
    gauge.unit = limit->unit;
    (is_upper ? gauge.upper : gauge.lower) = times * limit->value;
    gauge.rating = &rating;
    gauges.push_back(std::move(gauge));
  }
}

/// The light of each lamp, and of those of one type how alike they are.
void add_lamps(const CheckInput& nominal, std::vector<Gauge>& gauges) {
  std::vector<Gauge> alike;
  for (std::size_t k = 0; k < nominal.parts.size(); ++k) {
    const Part& part = nominal.parts[k];
    if (!light_share(part, 0.0, 0.0)) continue;
    Gauge gauge;
    gauge.of = Gauge::Of::light;
    gauge.part = static_cast<int>(k);
    gauge.quantity = "light";
    gauge.unit = Unit::fraction;
    const bool is_lit = value_of(gauge, nominal) >= kDarkShare;
    gauges.push_back(std::move(gauge));
    if (part.type == nullptr || !is_lit) continue;
    const auto same = std::find_if(alike.begin(), alike.end(), [&](const Gauge& g) {
      return nominal.parts[static_cast<std::size_t>(g.parts.front())].type == part.type;
    });
    if (same != alike.end()) {
      same->parts.push_back(static_cast<int>(k));
      continue;
    }
    Gauge group;
    group.of = Gauge::Of::alike;
    group.parts = {static_cast<int>(k)};
    group.quantity = "ratio";
    alike.push_back(std::move(group));
  }
  for (Gauge& group : alike)
    if (group.parts.size() > 1) gauges.push_back(std::move(group));
}

double light_of(const CheckInput& input, int part) {
  const auto index = static_cast<std::size_t>(part);
  return light_share(input.parts[index], input.average.pin_amps[index][0],
                     input.average.part_watts[index])
      .value_or(kUnknown);
}

double ratio_of(const CheckInput& input, const std::vector<int>& parts) {
  double least = HUGE_VAL;
  double most = 0.0;
  for (const int part : parts) {
    const double light = light_of(input, part);
    least = std::min(least, light);
    most = std::max(most, light);
  }
  if (most < kDarkShare) return 1.0;
  return most / std::max(least, kDarkShare);
}

}  // namespace

std::string_view word_of(Gauge::Of of) {
  switch (of) {
    case Gauge::Of::expectation:
      return "expectation";
    case Gauge::Of::rating:
      return "rating";
    case Gauge::Of::light:
      return "light";
    case Gauge::Of::alike:
      return "alike";
    case Gauge::Of::net:
      return "net";
  }
  return "net";
}

bool fails(const Gauge& gauge, double value) {
  if (gauge.of == Gauge::Of::expectation)
    return (gauge.lower && value < *gauge.lower) ||
           (gauge.upper && value > *gauge.upper);
  return (gauge.upper && exceeds(value, *gauge.upper)) ||
         (gauge.lower && exceeds(*gauge.lower, value));
}

std::vector<Gauge> gauges_of(const CheckInput& nominal) {
  std::vector<Gauge> gauges;
  add_expectations(nominal, gauges);
  for (std::size_t part = 0; part < nominal.parts.size(); ++part)
    for (const Rating* rating : ratings_of(nominal.parts[part].kind))
      add_rating(nominal, static_cast<int>(part), *rating, gauges);
  add_lamps(nominal, gauges);
  for (std::size_t net = 1; net < nominal.circuit.nets.size(); ++net) {
    Gauge gauge;
    gauge.net = static_cast<int>(net);
    gauge.quantity = "voltage";
    gauge.unit = Unit::volt;
    gauges.push_back(std::move(gauge));
  }
  return gauges;
}

double value_of(const Gauge& gauge, const CheckInput& input) {
  switch (gauge.of) {
    case Gauge::Of::expectation:
      return quantity_of(input, *gauge.expectation);
    case Gauge::Of::rating: {
      const int pin = gauge.pin < 0 ? gauge.rating->measure.pin : gauge.pin;
      const auto found = measured(input, gauge.part, *gauge.rating, pin);
      return found ? found->value : kUnknown;
    }
    case Gauge::Of::light:
      return light_of(input, gauge.part);
    case Gauge::Of::alike:
      return ratio_of(input, gauge.parts);
    case Gauge::Of::net:
      return input.average.net_volts[static_cast<std::size_t>(gauge.net)];
  }
  return kUnknown;
}

}  // namespace benchproof
