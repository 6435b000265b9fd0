#include <fmt/format.h>

#include <cmath>
#include <vector>

#include "core/check/rest/limits.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutDerating[] = {
    {"derating", "parts that are worked harder than long-lived equipment works them",
     "of a rating at most: diode current 50 %, reverse voltage 70 %; zener power 50 %; "
     "transistor and MOS current 75 %, voltage 75 %, power 60 %, gate voltage 60 %; "
     "regulator input and current 80 %. Resistors, capacitors, supplies, fuses and a "
     "controller's pins have shares of their own (resistor-power and so on)",
     "NASA EEE-INST-002 as remembered (memory)",
     "a part near its rating is within it, but fails earlier and stands no surprise",
     "nothing, for a model; use the next size up where it runs for years or is hard to "
     "reach"},
};

/// What a part makes of a rating, and the rating; nothing where careful use says
/// nothing of it, or it is not known.
std::optional<Standing> use_of(const CheckInput& input, int index,
                               const Rating& rating) {
  auto use = rating.careful.share > 0.0 ? standing(input, index, rating)
                                        : std::optional<Standing>();
  if (use && rating.careful.over)
    use->value =
        *measured(input, index, rating, rating.measure.pin, *rating.careful.over);
  return use;
}

/// The rating of which most is used, if that is more than careful use; nothing where a
/// rating is passed, for which there is a fault.
std::optional<Finding> check_part(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  std::optional<Finding> worst;
  double most = 0.0;
  for (const Rating* rating : ratings_of(part.kind)) {
    const Careful& careful = rating->careful;
    const auto use = use_of(input, index, *rating);
    if (!use) continue;
    const double value = use->value.value;
    const double limit = use->limit.value;
    if (exceeds(value, limit)) return std::nullopt;
    const double times = value / (careful.share * limit);
    if (!exceeds(times, 1.0) || times <= most) continue;
    most = times;
    worst =
        about_part(input, index, Severity::note, CheckId(kAboutDerating, "derating"));
    const std::string share = short_text(careful.share, Unit::fraction);
    set_limit(
        *worst, rating->quantity, value,
        {careful.share * limit, use->limit.unit, Mark::memory,
         "NASA EEE-INST-002 as remembered", fmt::format("{} of the rating", share)});
    worst->phase = use->value.phase;
    worst->message = fmt::format(
        "'{}' uses {} of its {}; within it, but what is to last for years keeps to {}",
        part.name, short_text(value / limit, Unit::fraction, 2), careful.words, share);
  }
  return worst;
}

}  // namespace

std::vector<Finding> check_derating(const CheckInput& input) {
  std::vector<Finding> findings;
  for (std::size_t k = 0; k < input.parts.size(); ++k)
    append(findings, check_part(input, static_cast<int>(k)));
  return findings;
}

std::span<const Explanation> explain_derating() { return kAboutDerating; }

}  // namespace benchproof
