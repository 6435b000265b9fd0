#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "core/base/quantity.h"
#include "core/check/agree/detail/courses.h"
#include "core/check/agree/run_agreement.h"

namespace benchproof {
namespace {

/// The mean of a course over a stretch, held beyond its ends.
double mean(const Trace& course, const Stretch& stretch) {
  const std::vector<double>& times = *course.seconds;
  double seconds = stretch.from;
  double value = value_at(course, seconds);
  double area = 0.0;
  const auto go_to = [&](double next, double there) {
    area += (next - seconds) * 0.5 * (value + there);
    seconds = next;
    value = there;
  };
  auto k = static_cast<std::size_t>(
      std::upper_bound(times.begin(), times.end(), seconds) - times.begin());
  for (; k < times.size() && times[k] < stretch.to; ++k)
    go_to(times[k], course.values[k]);
  go_to(stretch.to, value_at(course, stretch.to));
  return area / stretch.length();
}

/// Compares currents of two witnesses.
class CurrentComparison {
 public:
  CurrentComparison(const Timeline& timeline, const Flips* flips)
      : usual_(kWaveShift * timeline.span),
        flips_(flips),
        flanks_(timeline),
        share_(rings(*timeline.network.structure) ? kFlankShare : kWaveShare) {}

  /// Where two courses of one current differ most.
  struct Apart {
    double share = 0.0;  ///< Over what is allowed there.
    double seconds = 0.0;
    double engine = 0.0;  ///< Ampere.
    double nodal = 0.0;
  };
  /// Nothing unless they differ by more than they may.
  [[nodiscard]] std::optional<Apart> compare(const Trace& e, const Trace& n) const {
    const auto [low, high] = std::minmax_element(n.values.begin(), n.values.end());
    const double lasting = kWaveAmps + share_ * (*high - *low);
    const double moving =
        kWaveAmps + kFlankShare * std::max(std::abs(*low), std::abs(*high));
    Apart worst{1.0};
    std::size_t j = 0;
    for (std::size_t k = 0; k < e.values.size(); ++k) {
      const double t = (*e.seconds)[k];
      while (j + 1 < n.values.size() && (*n.seconds)[j] < t) ++j;
      double off = std::abs(e.values[k] - n.values[j]);
      if (off <= worst.share * lasting) continue;
      const double allowed = flanks_.has(t) ? moving : lasting;
      const double shift = shift_at(t, allowed, n);
      off = std::min(off, distance_to(e.values[k], t, shift, *n.seconds,
                                      [&n](std::size_t i) { return n.values[i]; }));
      if (!(off > worst.share * allowed)) continue;
      const Stretch around{t - shift, t + shift};
      off = std::min(off, std::abs(mean(e, around) - mean(n, around)));
      if (off > worst.share * allowed)
        worst = {off / allowed, t, e.values[k], n.values[j]};
    }
    if (worst.share > 1.0) return worst;
    return std::nullopt;
  }

 private:
  [[nodiscard]] double shift_at(double seconds, double allowed, const Trace& n) const {
    if (flips_ == nullptr) return usual_;
    return flips_->shift_of(seconds, allowed, *n.seconds,
                            [&n](std::size_t k) { return n.values[k]; });
  }

  double usual_;
  const Flips* flips_;
  Flanks flanks_;
  double share_;
};

/// Whether a part's current is what its voltages make of it, steeply; of others the
/// engine tells it.
bool is_semiconductor(KindId kind) {
  return kind == KindId::diode || kind == KindId::zener || kind == KindId::led ||
         kind == KindId::transistor || kind == KindId::mosfet;
}

/// What all else conducts that meets at a pin's net.
Trace all_else_at(const Circuit& circuit, const Record& record, std::size_t part,
                  std::size_t pin) {
  const int net = circuit.parts[part].nets[pin];
  Trace sum = record.volts(-1);  // Of nothing.
  for (std::size_t p = 0; p < circuit.parts.size(); ++p) {
    for (std::size_t q = 0; q < circuit.parts[p].pins.size(); ++q) {
      if (circuit.parts[p].nets[q] != net || (p == part && q == pin)) continue;
      const Trace one = record.conducted(static_cast<int>(p), static_cast<int>(q));
      for (std::size_t k = 0; k < sum.values.size(); ++k)
        sum.values[k] += one.values[k];
    }
  }
  return sum;
}

}  // namespace

std::string differing_current(const Circuit& circuit, const Timeline& timeline,
                              const Record& engine, const Record& nodal,
                              const Flips* flips) {
  const CurrentComparison comparison(timeline, flips);
  std::string reason;
  double worst = 1.0;
  for (std::size_t p = 0; p < circuit.parts.size(); ++p) {
    const Part& part = circuit.parts[p];
    // Over a closed switch's 20 uohm a nanovolt, all that the engine settles to, is
    // 50 uA: whatever is joined to it tells more.
    if (part.kind == KindId::switch_) continue;
    for (std::size_t pin = 0; pin < part.pins.size(); ++pin) {
      if (part.nets[pin] < 0) continue;
      const auto index = static_cast<int>(p);
      const Trace n = nodal.conducted(index, static_cast<int>(pin));
      const auto by_law =
          comparison.compare(engine.conducted(index, static_cast<int>(pin)), n);
      if (!by_law || by_law->share <= worst) continue;
      double share = by_law->share;
      if (is_semiconductor(part.kind)) {
        const auto by_net = comparison.compare(all_else_at(circuit, engine, p, pin),
                                               all_else_at(circuit, nodal, p, pin));
        share = by_net ? std::min(share, by_net->share) : 0.0;
      }
      if (share <= worst) continue;
      worst = share;
      reason = fmt::format(
          "the witnesses differ in the current into '{}.{}' {} into the run: engine "
          "{}, "
          "nodal {}",
          part.name, part.pins[pin], format_quantity(by_law->seconds, Unit::second, 5),
          format_quantity(by_law->engine, Unit::ampere, 5),
          format_quantity(by_law->nodal, Unit::ampere, 5));
    }
  }
  return reason;
}

}  // namespace benchproof
