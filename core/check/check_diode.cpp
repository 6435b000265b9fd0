#include <cmath>

#include "core/check/limits.h"

namespace benchproof {
namespace {

/// What diodes and zeners have in common.
void check_junction_part(const CheckInput& input, int index, std::string_view kind,
                         std::vector<Finding>& findings) {
  const std::string name(kind);
  add(findings,
      over_rating(input, index, {name + "-power", "power", "power", "power rating"},
                  heating_watts(input, index), "lower its current"));
  add(findings, over_junction(input, index, name + "-junction", "lower its current"));
}

void check_diode_part(const CheckInput& input, int index,
                      std::vector<Finding>& findings) {
  const Peak mean{pin_amps(input.average, index, 0), ""};
  const Peak peak =
      highest(input, [&](const Observation& seen) { return pin_amps(seen, index, 0); });
  auto lasting = over_rating(
      input, index, {"diode-current", "current", "current", "continuous rating"}, mean,
      "use a diode for more current");
  const bool is_told = lasting.has_value();
  add(findings, std::move(lasting));
  if (!is_told) {
    add(findings,
        over_rating(input, index, {"diode-surge", "current", "surge", "surge rating"},
                    peak, "use a diode for more current"));
  }
  const Peak reverse = highest(input, [&](const Observation& seen) {
    return volts_between(input, seen, index, 1, 0);
  });
  add(findings,
      over_rating(input, index,
                  {"diode-reverse", "voltage", "reverse", "reverse voltage rating"},
                  reverse, "use a diode for more reverse voltage"));
}

}  // namespace

std::vector<Finding> check_diode(const CheckInput& input) {
  std::vector<Finding> findings;
  for_parts(input, KindId::diode, [&](int index, const Part&) {
    check_diode_part(input, index, findings);
    check_junction_part(input, index, "diode", findings);
  });
  for_parts(input, KindId::zener, [&](int index, const Part&) {
    const Peak mean{std::abs(pin_amps(input.average, index, 0)), ""};
    add(findings,
        over_rating(input, index,
                    {"zener-current", "current", "current", "continuous rating"}, mean,
                    "raise the resistor that feeds it"));
    check_junction_part(input, index, "zener", findings);
  });
  return findings;
}

}  // namespace benchproof
