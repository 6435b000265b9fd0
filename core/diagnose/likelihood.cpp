#include "core/diagnose/likelihood.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace benchproof {
namespace {

constexpr double kModelShare = 0.015;
constexpr double kWideShare = 0.1;  ///< How often a figure is three times as far off.
constexpr double kWideness = 3.0;
constexpr double kParted = 2.5;
/// How often a meter shows "open" where nothing is known.
constexpr double kOpenUnknown = 0.3;
/// An eye that is not sure takes a neighbour so often, of what it does not see rightly.
constexpr double kToNeighbours = 0.9;
/// Something hot is told to be so; something that is not, by mistake.
constexpr double kHotIsFelt = 0.6;
constexpr double kLooksSlips = 0.005;
/// How often each word is told where nothing is known.
constexpr double kLooksUnknown = 0.3;

/// Two readings of one place differ by this share, and by `again` of the scale.
constexpr double kAgainShare = 0.005;
/// How often what is read again at one place has moved meanwhile.
constexpr double kMoved = 0.1;

/// What models are off besides their share, the size of what is usual here, and what
/// two readings of one place differ by besides their share.
struct AsksScale {
  double model;
  double usual;
  double again;
};
AsksScale scale_of(Asks asks) {
  switch (asks) {
    case Asks::voltage:
      return {0.015, 5.0, 0.01};
    case Asks::current:
      return {2e-6, 20e-3, 20e-6};
    case Asks::resistance:
      return {0.3, 1e3, 0.3};
    case Asks::diode:
      return {0.015, 0.6, 5e-3};
    case Asks::looks:
      break;
  }
  return {1.0, 1.0, 1.0};
}

/// A deviation in two parts: what one reading is off by, and what the copy is.
struct Parts {
  double reading;
  double copy;
};
Parts parts_of(Asks asks, const Shown& shown) {
  const double all = deviation_of(asks, shown);
  const double reading =
      std::min(all, scale_of(asks).again + kAgainShare * std::abs(shown.value));
  return {reading, std::sqrt(std::max(0.0, all * all - reading * reading))};
}

/// How probable it is that a meter shows "open" where that is predicted: from where the
/// lowest ones end to where the best do, evenly on a scale of factors. Of diode tests
/// meters of 2000 counts end at 2 V, others where their battery does; of resistances
/// the cheapest at 2 Mohm (the built-in meters of reference/meters).
double open_by_range(Asks asks, double value) {
  struct Ends {
    double lowest;
    double highest;
  };
  const Ends ends = asks == Asks::diode ? Ends{2.0, 3.2} : Ends{2e6, 40e6};
  if (asks != Asks::diode && asks != Asks::resistance) return 0.0;
  if (!(value > ends.lowest)) return 0.0;
  return std::min(
      0.9, 0.9 * std::log(value / ends.lowest) / std::log(ends.highest / ends.lowest));
}

double normal_density(double x, double middle, double deviation) {
  const double off = (x - middle) / deviation;
  return std::exp(-0.5 * off * off) / (deviation * 2.5066282746310002);
}

double figure_density(double x, double middle, double deviation) {
  return (1.0 - kWideShare) * normal_density(x, middle, deviation) +
         kWideShare * normal_density(x, middle, kWideness * deviation);
}

/// Anything: half of it below the usual size, the rest falling off by the square.
double any_density(Asks asks, double x) {
  const double size = scale_of(asks).usual;
  const double far = 1.0 + std::abs(x) / size;
  const bool is_signed = asks == Asks::voltage || asks == Asks::current;
  return (is_signed ? 0.5 : 1.0) / (size * far * far);
}

/// The leads exchanged, a point or a prefix misplaced, or anything.
double slip_density(Asks asks, double x, double middle, double deviation) {
  constexpr double kAnything = 0.5;
  constexpr std::array<double, 5> kTimes = {-1.0, 10.0, 0.1, 1000.0, 0.001};
  double density = kAnything * any_density(asks, x);
  for (const double times : kTimes)
    density += (1.0 - kAnything) / kTimes.size() *
               normal_density(x, times * middle,
                              std::abs(times) * deviation + 1e-3 * deviation);
  return density;
}

/// Half of the last digit written: of a round figure ("12 V") no more than a twentieth
/// of it, for people who write so do not mean to be a volt off.
double rounding_of(const TakenReading& taken) {
  const double most =
      taken.value != 0.0 ? std::abs(taken.value) / 20.0 : taken.last_digit / 20.0;
  return std::min(taken.last_digit / std::sqrt(12.0), most);
}

/// The place of a look in the order of brightness, or -1.
int brightness(Looks looks) {
  switch (looks) {
    case Looks::dark:
      return 0;
    case Looks::dim:
      return 1;
    case Looks::as_meant:
      return 2;
    case Looks::too_bright:
      return 3;
    default:
      return -1;
  }
}

/// How probable it is that an eye says `told` where that is shown.
double looks_probability(const Shown& shown, Looks told) {
  const double sure = std::clamp(shown.looks_sure, 0.0, 1.0);
  if (told == Looks::hot && shown.looks == Looks::too_bright) return kHotIsFelt;
  if (told == Looks::hot) return shown.looks == Looks::hot ? kHotIsFelt : kLooksSlips;
  if (shown.looks == Looks::hot)
    return told == Looks::as_meant ? 1.0 - kHotIsFelt : kLooksSlips;
  if (told == shown.looks)
    return std::max(sure * (1.0 - 3.0 * kLooksSlips), kLooksSlips);
  const int from = brightness(shown.looks);
  const int to = brightness(told);
  // Lamps are bright or not; what runs, clicks or sounds does or does not.
  if (from < 0 || to < 0) return std::max(1.0 - sure, kLooksSlips);
  const double rest = 1.0 - sure;
  const int neighbours = from == 0 || from == 3 ? 1 : 2;
  const double share = std::abs(from - to) == 1
                           ? kToNeighbours / neighbours
                           : (1.0 - kToNeighbours) / (3 - neighbours);
  return std::max(rest * share, kLooksSlips);
}

Fit fit_of_looks(const Shown& predicted, Looks told) {
  const double probability = looks_probability(predicted, told);
  constexpr double kUnlikely = 0.02;
  return {std::log(probability), probability < kUnlikely, false};
}

}  // namespace

bool is_unknown(Asks asks, const Shown& shown) {
  if (asks == Asks::looks) return shown.looks_sure <= 0.0;
  if (shown.open) return false;
  constexpr double kFar = 2.0;
  return std::isnan(shown.value) || std::isnan(shown.sigma) ||
         shown.sigma > kFar * std::max(scale_of(asks).usual, std::abs(shown.value));
}

double deviation_of(Asks asks, const Shown& shown) {
  const double model = scale_of(asks).model + kModelShare * std::abs(shown.value);
  return std::hypot(shown.sigma, model);
}

Fit fit_of(const Shown& predicted, const TakenReading& taken, const Offset& offset) {
  const Asks asks = taken.question.asks;
  if (asks == Asks::looks && is_unknown(asks, predicted))
    return {std::log(kLooksUnknown), false, true};
  if (asks == Asks::looks) return fit_of_looks(predicted, taken.looks);
  if (is_unknown(asks, predicted))
    return {taken.is_open
                ? std::log(kOpenUnknown)
                : std::log((1.0 - kOpenUnknown) * any_density(asks, taken.value)),
            false, true};
  if (predicted.open && taken.is_open) return {std::log(1.0 - kSlips), false, false};
  // What may show "open" does so in half of the slips.
  const bool may_be_open = asks == Asks::resistance || asks == Asks::diode;
  const double slips = may_be_open ? 0.5 * kSlips : kSlips;
  const double open = predicted.open ? 0.0 : open_by_range(asks, predicted.value);
  if (taken.is_open)
    return {std::log(slips + (1.0 - kSlips) * open), open < slips, false};
  if (predicted.open)
    return {std::log(kSlips * any_density(asks, taken.value)), true, false};
  const double rounding = rounding_of(taken);
  const double deviation = std::hypot(deviation_of(asks, predicted), rounding);
  double density = figure_density(taken.value, predicted.value, deviation);
  if (offset.is_known) {
    const Parts parts = parts_of(asks, predicted);
    const double again =
        std::hypot(parts.reading, parts.copy * offset.deviation, rounding);
    density = (1.0 - kMoved) *
                  figure_density(taken.value,
                                 predicted.value + parts.copy * offset.middle, again) +
              kMoved * density;
  }
  const double as_meant = (1.0 - kSlips) * (1.0 - open) * density;
  const double slip =
      slips * slip_density(asks, taken.value, predicted.value, deviation);
  return {std::log(as_meant + slip), slip > as_meant, false};
}

Offset learned(const Shown& predicted, const TakenReading& taken,
               const Offset& before) {
  const Asks asks = taken.question.asks;
  if (asks == Asks::looks || taken.is_open || predicted.open) return before;
  const Fit fit = fit_of(predicted, taken, before);
  if (fit.is_unknown || fit.is_misfit) return before;
  const Parts parts = parts_of(asks, predicted);
  const double reading = std::hypot(parts.reading, rounding_of(taken));
  const double about = std::hypot(reading, parts.copy * before.deviation);
  const double gain =
      parts.copy * before.deviation * before.deviation / (about * about);
  const double off = taken.value - predicted.value - parts.copy * before.middle;
  Offset after;
  after.is_known = true;
  after.middle = before.middle + gain * off;
  after.deviation = before.deviation * reading / about;
  return after;
}

Shown shown_again(const Shown& predicted, const TakenReading& taken) {
  const Offset offset = learned(predicted, taken, {});
  if (!offset.is_known) return predicted;
  const Parts parts = parts_of(taken.question.asks, predicted);
  Shown again = predicted;
  again.value += parts.copy * offset.middle;
  again.sigma = std::min(predicted.sigma,
                         std::hypot(parts.reading, parts.copy * offset.deviation));
  return again;
}

bool is_same_place(const Question& one, const Shown& shown_one, const Question& other,
                   const Shown& shown_other) {
  const auto is_volts = [](Asks asks) {
    return asks == Asks::voltage || asks == Asks::diode;
  };
  if (one.asks == Asks::looks || other.asks == Asks::looks) return false;
  if (one.asks != other.asks && !(is_volts(one.asks) && is_volts(other.asks)))
    return false;
  if (one.net != other.net || one.to != other.to || one.part != other.part ||
      one.pin != other.pin)
    return false;
  if (shown_one.open || shown_other.open) return false;
  if (is_unknown(one.asks, shown_one) || is_unknown(other.asks, shown_other))
    return false;
  return std::abs(shown_one.value - shown_other.value) <=
         std::min(parts_of(one.asks, shown_one).copy,
                  parts_of(other.asks, shown_other).copy);
}

TakenReading taken_of(const Question& question, const Shown& shown, double deviations) {
  TakenReading taken;
  taken.question = question;
  taken.is_open = shown.open;
  taken.looks = shown.looks;
  if (!shown.open && question.asks != Asks::looks)
    taken.value = shown.value + deviations * deviation_of(question.asks, shown);
  return taken;
}

bool are_parted(Asks asks, const Shown& one, const Shown& other) {
  if (is_unknown(asks, one) || is_unknown(asks, other)) return false;
  if (asks == Asks::looks) {
    constexpr double kSure = 0.8;
    return one.looks != other.looks &&
           (one.looks_sure > kSure || other.looks_sure > kSure);
  }
  if (one.open != other.open) {
    // Near the end of what meters reach a figure and "open" are one and the same.
    constexpr double kSeldom = 0.1;
    return open_by_range(asks, one.open ? other.value : one.value) < kSeldom;
  }
  if (one.open) return false;
  return std::abs(one.value - other.value) >
         kParted * std::hypot(deviation_of(asks, one), deviation_of(asks, other));
}

}  // namespace benchproof
