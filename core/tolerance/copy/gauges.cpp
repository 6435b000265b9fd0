#include "core/tolerance/copy/gauges.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/check/expect/expectations.h"
#include "core/check/finding/wording.h"
#include "core/check/rating/derived.h"
#include "core/check/rest/limits.h"

namespace benchproof {
namespace {

constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();
constexpr double kDarkShare = 1e-3;

void add_expectations(const CheckInput& nominal, std::vector<Gauge>& gauges) {
  for (const Expectation& e : nominal.circuit.expectations) {
    if (e.run >= 0 || (!e.state.empty() && e.state != nominal.state.name)) continue;
    Gauge gauge = expectation_gauge(e);
    gauge.lower = e.least;
    gauge.upper = e.most;
    gauges.push_back(std::move(gauge));
  }
}

void add_rating(const CheckInput& nominal, int part, const Rating& rating,
                std::vector<Gauge>& gauges) {
  const Part& p = nominal.parts[static_cast<std::size_t>(part)];
  const auto limit = limit_number_of(rating, p, nominal.circuit.ambient);
  const bool is_upper = rating.bound == Bound::upper;
  const double times = is_upper ? fault_times(rating, p) : 1.0;
  if (rating.rest.check.empty() || !limit || times == kNever) return;
  for (const int pin : pins_of(rating.measure, p)) {
    if (!measured(nominal, part, rating, pin)) continue;
    Gauge gauge = rating_gauge(rating, part, pin);
    gauge.check = rating.rest.check;
    gauge.unit = unit_of(rating);
    (is_upper ? gauge.upper : gauge.lower) = times * *limit;
    gauges.push_back(std::move(gauge));
  }
}

/// The light of each lamp, and of those of one type how alike they are.
void add_lamps(const CheckInput& nominal, std::vector<Gauge>& gauges) {
  std::vector<Gauge> alike;
  for (std::size_t k = 0; k < nominal.parts.size(); ++k) {
    const Part& part = nominal.parts[k];
    const auto lamp = Lamp::of(part);
    if (!lamp) continue;
    Gauge gauge;
    gauge.of = Gauge::Of::light;
    gauge.part = static_cast<int>(k);
    gauge.quantity = "light";
    gauge.unit = Unit::fraction;
    const bool is_lit = lamp->light(nominal.average.pin_amps[k][0],
                                    nominal.average.part_watts[k]) >= kDarkShare;
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

Gauge expectation_gauge(const Expectation& expectation) {
  const QuantityWords words = words_of(expectation.quantity);
  Gauge gauge;
  gauge.of = Gauge::Of::expectation;
  gauge.check = "expectation";
  gauge.part = expectation.part;
  gauge.pin = expectation.pin;
  gauge.net = expectation.net;
  gauge.quantity = words.quantity;
  gauge.unit = words.unit;
  gauge.expectation = &expectation;
  return gauge;
}

Gauge rating_gauge(const Rating& rating, int part, int pin) {
  Gauge gauge;
  gauge.of = Gauge::Of::rating;
  gauge.part = part;
  gauge.pin = rating.measure.pins == Pins::named ? -1 : pin;
  gauge.quantity = rating.quantity;
  gauge.rating = &rating;
  return gauge;
}

bool fails(const Gauge& gauge, std::optional<double> lower, std::optional<double> upper,
           double value) {
  if (gauge.of == Gauge::Of::expectation)
    return (lower && value < *lower) || (upper && value > *upper);
  return (upper && exceeds(value, *upper)) || (lower && exceeds(*lower, value));
}

bool fails(const Gauge& gauge, double value) {
  return fails(gauge, gauge.lower, gauge.upper, value);
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

GaugeReader::GaugeReader(const std::vector<Gauge>& gauges, const CheckInput& nominal)
    : gauges_(gauges) {
  const bool asks_for_light =
      std::any_of(gauges.begin(), gauges.end(), [](const Gauge& gauge) {
        return gauge.of == Gauge::Of::light || gauge.of == Gauge::Of::alike;
      });
  if (asks_for_light)
    for (const Part& part : nominal.parts) lamps_.push_back(Lamp::of(part));
  for (const Gauge& gauge : gauges) {
    auto& reader = ratings_.emplace_back();
    if (gauge.rating == nullptr) continue;
    const Measure& measure = gauge.rating->measure;
    reader.emplace(nominal, gauge.part, *gauge.rating,
                   gauge.pin < 0 ? measure.pin : gauge.pin,
                   over_of(measure, nominal.parts[gauge.part]));
  }
}

double GaugeReader::light(int part, const CheckInput& input) const {
  const auto index = static_cast<std::size_t>(part);
  const auto& lamp = lamps_[index];
  return lamp ? lamp->light(input.average.pin_amps[index][0],
                            input.average.part_watts[index])
              : kUnknown;
}

double GaugeReader::ratio(const Gauge& gauge, const CheckInput& input) const {
  double least = HUGE_VAL;
  double most = 0.0;
  for (const int part : gauge.parts) {
    const double share = light(part, input);
    least = std::min(least, share);
    most = std::max(most, share);
  }
  return most < kDarkShare ? 1.0 : most / std::max(least, kDarkShare);
}

void GaugeReader::read(const CheckInput& input, std::vector<double>& values) const {
  values.resize(gauges_.size());
  for (std::size_t k = 0; k < gauges_.size(); ++k) {
    const Gauge& gauge = gauges_[k];
    switch (gauge.of) {
      case Gauge::Of::expectation:
        values[k] = quantity_of(input, *gauge.expectation);
        break;
      case Gauge::Of::rating:
        values[k] = ratings_[k]->read(input).value_or(PhasesValue{kUnknown, -1}).value;
        break;
      case Gauge::Of::light:
        values[k] = light(gauge.part, input);
        break;
      case Gauge::Of::alike:
        values[k] = ratio(gauge, input);
        break;
      case Gauge::Of::net:
        values[k] = input.average.net_volts[static_cast<std::size_t>(gauge.net)];
        break;
    }
  }
}

}  // namespace benchproof
