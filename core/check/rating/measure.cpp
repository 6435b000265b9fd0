#include "core/check/rating/measure.h"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "core/check/rating/derived.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

double clamp_amps(const Moment& moment, int pin) {
  const double amps = moment.amps(pin);
  const bool is_above = moment.volts(pin, kVdd) > 0.0;
  const bool is_below = moment.volts(kVss, pin) > 0.0;
  const bool is_clamping = (is_above && amps > 0.0) || (is_below && amps < 0.0);
  return is_clamping ? std::abs(amps) : 0.0;
}

double total_amps(const Moment& moment, const Part& chip) {
  // The wrong way round the supply's own current goes through the pins' diodes.
  if (moment.volts(kVdd, kVss) < -kReversedChipVolts)
    return std::max(std::abs(moment.amps(kVdd)), std::abs(moment.amps(kVss)));
  double sourced = 0.0;
  double sunk = 0.0;
  for (int pin = kFirstPin; pin < static_cast<int>(chip.pins.size()); ++pin) {
    const double amps = moment.amps(pin);
    (amps < 0.0 ? sourced : sunk) += std::abs(amps);
  }
  return std::max(sourced, sunk);
}

}  // namespace

std::vector<int> pins_of(const Measure& measure, const Part& part) {
  if (measure.pins == Pins::named) return {measure.pin};
  std::vector<int> pins;
  for (int pin = kFirstPin; pin < static_cast<int>(part.pins.size()); ++pin) {
    if (measure.pins == Pins::all || is_output_pin(part, pin)) pins.push_back(pin);
  }
  return pins;
}

Over over_of(const Measure& measure, const Part& part) {
  const bool is_mean =
      !measure.mean_where.empty() && number_of(part, measure.mean_where).has_value();
  return is_mean ? Over::mean : measure.over;
}

MeasureReader::MeasureReader(const Measure& measure, const Part& part)
    : measure_(measure), part_(part) {
  switch (measure.sense) {
    case Sense::forward:
      break;
    case Sense::out:
      factor_ = -1.0;
      break;
    case Sense::either:
      is_sized_ = true;
      break;
    case Sense::by_polarity:
      factor_ = polarity(part);
      break;
    case Sense::out_by_polarity:
      factor_ = -polarity(part);
      break;
    case Sense::by_polarised:
      is_sized_ = !flag(part, "polarised", false);
      break;
  }
  if (measure.what == Measured::track_watts) ohms_ = *number_of(part, "value");
}

double MeasureReader::at(int pin, const Moment& moment) const {
  switch (measure_.what) {
    case Measured::amps:
      return turned(moment.amps(pin));
    case Measured::volts:
      return turned(moment.volts(pin, measure_.other));
    case Measured::watts:
      return moment.watts();
    case Measured::track_watts: {
      const double a = moment.amps(0);
      const double b = moment.amps(2);
      return std::max(a * a, b * b) * ohms_;
    }
    case Measured::clamp_amps:
      return clamp_amps(moment, pin);
    case Measured::total_amps:
      return total_amps(moment, part_);
    case Measured::junction:
    case Measured::outside:
      assert(!"a temperature has no value at one moment");
      break;
  }
  return 0.0;
}

}  // namespace benchproof
