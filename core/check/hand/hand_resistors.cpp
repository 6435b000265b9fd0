#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "core/check/hand/wiring.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr const char* kSource = "Kuphaldt, Lessons In Electric Circuits vol. I ch. 5";
/// Two resistors in series are told as a divider, where they are one.
constexpr int kLeastInSeries = 3;

HandResult current_result(std::string_view rule, std::string_view title) {
  HandResult result;
  result.rule = rule;
  result.title = title;
  result.quantity = "current";
  result.unit = Unit::ampere;
  result.source = kSource;
  result.mark = Mark::verified;
  result.neglects = "nothing; V is that between its ends as solved";
  return result;
}

void series(const HandInput& input, std::vector<HandResult>& results) {
  std::vector<bool> is_told(input.parts.size(), false);
  for (std::size_t k = 0; k < input.parts.size(); ++k) {
    if (is_told[k] || !is_resistor(input.parts[k])) continue;
    const int first = static_cast<int>(k);
    const auto chain = chain_of(input, first);
    if (!chain) continue;
    for (const int part : chain->parts) is_told[part] = true;
    const bool is_plain = chain->resistors == static_cast<int>(chain->parts.size());
    if (!is_plain || chain->has_output || chain->resistors < kLeastInSeries) continue;
    const double volts =
        input.nodal.net_volts[chain->from] - input.nodal.net_volts[chain->to];
    if (volts == 0.0) continue;
    HandResult result =
        current_result("series-resistors", "current through resistors in series");
    result.part = input.parts[first].name;
    result.formula = "I = V / sum R";
    result.hand = std::abs(volts) / chain->total_ohms();
    result.numbers = fmt::format("{} / {} = {}", hand_text(std::abs(volts), Unit::volt),
                                 bracketed(chain->ohms, Unit::ohm),
                                 hand_text(result.hand, Unit::ampere));
    put_witnesses(result, input, [&](const Observation& seen) {
      return std::abs(seen.pin_amps[first][0]);
    });
    results.push_back(std::move(result));
  }
}

void parallel(const HandInput& input, std::vector<HandResult>& results) {
  std::map<std::pair<int, int>, std::vector<int>> by_ends;
  for (std::size_t k = 0; k < input.parts.size(); ++k) {
    const Part& part = input.parts[k];
    if (!is_resistor(part) || !ohms_of(input, static_cast<int>(k))) continue;
    const auto [low, high] = std::minmax(part.nets[0], part.nets[1]);
    if (low == high || !is_end(input.circuit, low) || !is_end(input.circuit, high))
      continue;
    by_ends[{low, high}].push_back(static_cast<int>(k));
  }
  for (const auto& [ends, parts] : by_ends) {
    const double volts = std::abs(input.nodal.net_volts[ends.first] -
                                  input.nodal.net_volts[ends.second]);
    if (parts.size() < 2 || volts == 0.0) continue;
    double siemens = 0.0;
    std::vector<std::string> texts;
    for (const int part : parts) {
      const double ohms = *ohms_of(input, part);
      siemens += 1.0 / ohms;
      texts.push_back("1/" + hand_text(ohms, Unit::ohm));
    }
    HandResult result = current_result("parallel-resistors",
                                       "current of resistors in parallel, together");
    result.part = input.parts[parts.front()].name;
    result.formula = "R = 1 / (1/R1 + 1/R2 ...), I = V / R";
    result.hand = volts * siemens;
    result.numbers = fmt::format(
        "1 / ({}) = {}; {} / {} = {}", fmt::join(texts, " + "),
        hand_text(1.0 / siemens, Unit::ohm), hand_text(volts, Unit::volt),
        hand_text(1.0 / siemens, Unit::ohm), hand_text(result.hand, Unit::ampere));
    put_witnesses(result, input, [&all = parts](const Observation& seen) {
      double sum = 0.0;
      for (const int part : all) sum += std::abs(seen.pin_amps[part][0]);
      return sum;
    });
    results.push_back(std::move(result));
  }
}

}  // namespace

std::vector<HandResult> hand_resistors(const HandInput& input) {
  std::vector<HandResult> results;
  series(input, results);
  parallel(input, results);
  return results;
}

}  // namespace benchproof
