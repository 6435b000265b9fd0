#include <fmt/format.h>
#include <fmt/ranges.h>

#include "core/check/always/always.h"
#include "core/check/finding/wording.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutUnrated[] = {
    {"unrated", "ratings that a part lacks",
     "a rating that its kind is checked against is neither given nor known of its type",
     "the description (given)", "what has no limit cannot be checked",
     "give the rating in the description, or a 'type'"},
};

struct NeededRating {
  std::string_view key;
  std::string_view words;
};

/// The ratings that a kind of part ought to have to be checked.
std::vector<NeededRating> needed(KindId kind) {
  switch (kind) {
    case KindId::capacitor:
      return {{"rated", "voltage"}};
    case KindId::diode:
    case KindId::led:
      return {{"current", "current"}, {"reverse", "reverse voltage"}};
    case KindId::zener:
      return {{"power", "power"}};
    case KindId::transistor:
    case KindId::mosfet:
      return {{"current", "current"}, {"voltage", "voltage"}, {"power", "power"}};
    case KindId::regulator:
      return {{"input_max", "input voltage"},
              {"current", "current"},
              {"thermal_resistance", "temperature"}};
    case KindId::dc_supply:
      return {{"current", "current"}};
    case KindId::controller:
      return {{"supply_max", "supply voltage"}, {"pin_limit", "current of a pin"}};
    default:
      return {};
  }
}

}  // namespace

std::vector<Finding> check_unrated(const Circuit& circuit) {
  std::vector<Finding> findings;
  for (const Part& part : circuit.parts) {
    std::vector<std::string_view> missing;
    std::vector<std::string> keys;
    for (const NeededRating& rating : needed(part.kind)) {
      const bool is_instead =
          rating.key == "input_max" &&
          number_of(part, "difference_max");  // checked in its place
      if (is_instead || number_of(part, rating.key)) continue;
      missing.push_back(rating.words);
      keys.push_back(fmt::format("'{}'", rating.key));
    }
    if (number_of(part, "heatsink") && !number_of(part, "thermal_resistance_case")) {
      missing.emplace_back("heat sink");
      keys.emplace_back("'thermal_resistance_case'");
    }
    if (missing.empty()) continue;
    Finding finding = about(part, Severity::note, CheckId(kAboutUnrated, "unrated"));
    finding.source = "the description gives no rating";
    finding.mark = Mark::given;
    // The class of a controller has what is needed; one with a figure of its own has
    // been looked up.
    const bool wants_type = part.kind == KindId::controller && keys.size() > 1;
    finding.message =
        fmt::format("not checked: {} of '{}'; give {}{} to have it checked",
                    fmt::join(missing, ", "), part.name, fmt::join(keys, ", "),
                    wants_type ? ", or a 'type' such as \"cmos-5v\"," : "");
    findings.push_back(std::move(finding));
  }
  return findings;
}

std::span<const Explanation> explain_unrated() { return kAboutUnrated; }

}  // namespace benchproof
