#include "core/diagnose/foreseen/detail/looks.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/check/rating/light.h"

namespace benchproof {
namespace {

// How eyes judge is common practice, no source.

/// Below this share of its full light a lamp looks dark in a lit room: an LED of 20 mA
/// at 20 uA.
constexpr double kDarkLight = 1e-3;
/// The same of a filament, at a quarter of its volts: it glows red there, which one eye
/// calls dark, another dim.
constexpr double kDarkFilament = 1e-2;
/// Eyes draw that border somewhere within a factor of two of it.
constexpr double kDarkScatter = 0.7;
/// Half and twice the light of what is meant is where a difference is told.
constexpr double kMuch = 2.0;
/// Within a factor of 1.3 of that border one says this, another that.
constexpr double kMuchScatter = 0.26;
/// Shares of the rated current from which a motor runs, a relay pulls in, a buzzer is
/// heard.
constexpr double kRuns = 0.4;
constexpr double kPullsIn = 0.65;
constexpr double kSounds = 0.3;
constexpr double kWorksScatter = 0.2;
/// What a small part may take up before a finger says it is hot, where no rating is
/// told: half a watt in a small transistor's body is 100 K. Watt.
constexpr double kHotWatts = 0.5;
constexpr double kHotScatter = 0.4;
/// An electrolytic that is this far in reverse gets hot, and may burst. Volt.
constexpr double kReverseVolts = 1.5;

/// The probability that `value` lies above a border that is itself blurred, both on a
/// scale of factors.
double above(double value, double border, double scatter) {
  if (value <= 0.0) return 0.0;
  return 0.5 * std::erfc(-std::log(value / border) / (scatter * std::sqrt(2.0)));
}

Shown shown(Looks looks, double sure) {
  Shown s;
  s.looks = looks;
  s.looks_sure = sure;
  return s;
}

/// The likelier one of two.
Shown either(Looks if_so, Looks if_not, double probability) {
  return probability >= 0.5 ? shown(if_so, probability)
                            : shown(if_not, 1.0 - probability);
}

/// `dark` is the share of the full light below which it looks dark.
Shown light(double is, double meant, double dark, double scatter) {
  const double dark_scatter = std::hypot(kDarkScatter, scatter);
  const double lit = above(is, dark, dark_scatter);
  if (above(meant, dark, dark_scatter) < 0.5)
    return either(Looks::too_bright, Looks::dark, lit);
  const double much_scatter = std::hypot(kMuchScatter, scatter);
  const double at_least_half = above(is / meant, 1.0 / kMuch, much_scatter);
  const double at_least_twice = above(is / meant, kMuch, much_scatter);
  // Dark comes first: what is not seen is not told against what is meant.
  const std::pair<double, Looks> all[] = {
      {1.0 - lit, Looks::dark},
      {lit * (1.0 - at_least_half), Looks::dim},
      {lit * (at_least_half - at_least_twice), Looks::as_meant},
      {lit * at_least_twice, Looks::too_bright}};
  const auto best =
      std::max_element(std::begin(all), std::end(all),
                       [](const auto& a, const auto& b) { return a.first < b.first; });
  return shown(best->second, best->first);
}

Shown heat(const Part& part, const Works& works) {
  if (part.kind == KindId::capacitor) {
    const bool is_polarised = flag(part, "polarised", false);
    return shown(
        is_polarised && works.volts < -kReverseVolts ? Looks::hot : Looks::as_meant,
        1.0);
  }
  const double rating = std::max(number_of(part, "power").value_or(0.0), kHotWatts);
  const double taken = is_source(part.kind) ? 0.0 : works.watts;
  return either(Looks::hot, Looks::as_meant, above(taken, rating, kHotScatter));
}

}  // namespace

Shown looks_of(const Part& part, const Works& works, const Works& meant) {
  const auto rated_share = [&part, &works] {
    const double rated = number_of(part, "current").value_or(0.0);
    return rated > 0.0 ? std::abs(works.amps) / rated : 0.0;
  };
  const auto at_work = [&](Looks looks, double share) {
    return either(looks, Looks::still, above(rated_share(), share, kWorksScatter));
  };
  switch (part.kind) {
    case KindId::led:
    case KindId::lamp: {
      const auto is = light_share(part, works.amps, works.watts);
      const auto as_meant = light_share(part, meant.amps, meant.watts);
      const double dark = part.kind == KindId::lamp ? kDarkFilament : kDarkLight;
      return light(is.value_or(0.0), as_meant.value_or(0.0), dark, works.scatter);
    }
    case KindId::motor:
      return at_work(Looks::runs, kRuns);
    case KindId::relay_coil:
      return at_work(Looks::clicks, kPullsIn);
    case KindId::buzzer:
      return at_work(Looks::sounds, kSounds);
    default:
      return heat(part, works);
  }
}

}  // namespace benchproof
