#include "core/check/rest/rating_reader.h"

#include <algorithm>
#include <cmath>

#include "core/check/rating/derived.h"
#include "core/check/rest/limits.h"

namespace benchproof {
namespace {

/// A part in one phase, or in the average over them.
class SeenMoment : public Moment {
 public:
  SeenMoment(const CheckInput& input, const Observation& seen, int part)
      : input_(input), seen_(seen), part_(part) {}
  [[nodiscard]] double amps(int pin) const override {
    return pin_amps(seen_, part_, pin);
  }
  [[nodiscard]] double volts(int pin, int other) const override {
    return volts_between(input_, seen_, part_, pin, other);
  }
  [[nodiscard]] double watts() const override { return seen_.part_watts[part_]; }

 private:
  const CheckInput& input_;
  const Observation& seen_;
  int part_;
};

bool has_slow_pwm(const State& state) {
  return std::any_of(state.outputs.begin(), state.outputs.end(),
                     [](const auto& output) {
                       return output.second.level == OutputSetting::Level::pwm &&
                              output.second.hertz < kSlowHertz;
                     });
}

template <typename At>
PhasesValue highest_of(const CheckInput& input, At&& at) {
  PhasesValue high;
  for (std::size_t k = 0; k < input.phases.size(); ++k) {
    const double here = at(input.phases[k].seen);
    if (high.phase < 0 || here > high.value) high = {here, static_cast<int>(k)};
  }
  return high;
}

PhasesValue heating(const CheckInput& input, int part, bool is_slow) {
  if (!is_slow) return {input.average.part_watts[part], -1};
  return highest_of(input, [part](const Observation& o) { return o.part_watts[part]; });
}

bool is_temperature(Measured what) {
  return what == Measured::junction || what == Measured::outside;
}

/// From the air to the junction, or to the case or heat sink: the junction less what
/// lies between the two, where that is known.
std::optional<double> kelvin_per_watt_to(Measured what, const Part& part) {
  const auto to_air = kelvin_per_watt(part);
  if (!to_air || what == Measured::junction) return to_air;
  return *to_air - number_of(part, "thermal_resistance_case").value_or(0.0);
}

}  // namespace

PhasesValue heating(const CheckInput& input, int part) {
  return heating(input, part, has_slow_pwm(input.state));
}

RatingReader::RatingReader(const CheckInput& input, int part, const Rating& rating,
                           int pin, Over over)
    : rating_(rating),
      part_(part),
      pin_(pin),
      over_(over),
      is_slow_(has_slow_pwm(input.state)) {
  const Part& p = input.parts[part];
  if (is_temperature(rating.measure.what))
    kelvin_per_watt_ = kelvin_per_watt_to(rating.measure.what, p);
  else
    meter_.emplace(rating.measure, p);
}

std::optional<PhasesValue> RatingReader::read(const CheckInput& input) const {
  if (!meter_) return temperature(input);
  const auto value = [&](const Observation& seen) { return at(input, seen); };
  switch (over_) {
    case Over::highest:
      return highest_of(input, value);
    case Over::lowest: {
      std::optional<PhasesValue> low;
      for (std::size_t k = 0; k < input.phases.size(); ++k) {
        const double here = value(input.phases[k].seen);
        if (!rating_.is_on(input.parts[part_], here)) continue;
        if (!low || here < low->value) low = PhasesValue{here, static_cast<int>(k)};
      }
      return low;
    }
    case Over::mean:
      return PhasesValue{value(input.average), -1};
    case Over::rms: {
      double sum = 0.0;
      for (const SeenPhase& phase : input.phases) {
        const double here = value(phase.seen);
        sum += phase.phase.share * here * here;
      }
      return PhasesValue{std::sqrt(sum), -1};
    }
    case Over::heating:
      return rating_.measure.what == Measured::watts ? heating(input, part_, is_slow_)
                                                     : highest_of(input, value);
  }
  return std::nullopt;
}

std::optional<PhasesValue> RatingReader::temperature(const CheckInput& input) const {
  if (!kelvin_per_watt_) return std::nullopt;
  const PhasesValue heat = heating(input, part_, is_slow_);
  return PhasesValue{input.circuit.ambient + heat.value * *kelvin_per_watt_,
                     heat.phase};
}

double RatingReader::at(const CheckInput& input, const Observation& seen) const {
  return meter_->at(pin_, SeenMoment(input, seen, part_));
}

double value_in(const CheckInput& input, const Observation& seen, int part,
                const Rating& rating, int pin) {
  return MeasureReader(rating.measure, input.parts[part])
      .at(pin, SeenMoment(input, seen, part));
}

}  // namespace benchproof
