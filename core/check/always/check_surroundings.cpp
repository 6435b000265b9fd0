#include <fmt/format.h>
#include <fmt/ranges.h>

#include "core/check/always/always.h"
#include "core/check/finding/wording.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutSurroundings[] = {
    {"surroundings", "parts that are not made for what is around them",
     "'ambient' within what such parts are made for: LEDs and controllers -40 to 85 C, "
     "batteries -20 to 60 C (lead-acid and alkaline 50 C)",
     "ranges that most sheets of such parts name (memory); batteries: makers' advice "
     "(memory)",
     "beyond them nothing is promised: figures of sheets do not hold, plastic goes "
     "soft, "
     "batteries leak or burn",
     "bring air to it, move the part away from the heat, or use one made for it"},
};

/// From which to which temperature such parts are used. Celsius.
struct Span {
  double least = 0.0;
  double most = 0.0;
};

/// Nothing for what bears more than a model ever stands in.
std::optional<Span> surroundings_of(const Part& part) {
  switch (part.kind) {
    case KindId::led:
    case KindId::controller:
      return Span{-40.0, 85.0};
    case KindId::battery: {
      const std::string chemistry = word_of(part, "chemistry");
      const bool is_wet = chemistry == "lead-acid" || chemistry == "alkaline";
      return Span{-20.0, is_wet ? 50.0 : 60.0};
    }
    default:
      return std::nullopt;
  }
}

}  // namespace

std::vector<Finding> check_surroundings(const Circuit& circuit) {
  std::vector<std::string> names;
  std::optional<Finding> finding;
  for (const Part& part : circuit.parts) {
    const auto span = surroundings_of(part);
    const bool is_hot = span && circuit.ambient > span->most;
    if (!is_hot && !(span && circuit.ambient < span->least)) continue;
    names.push_back(
        fmt::format("'{}' ({:.0f} C)", part.name, is_hot ? span->most : span->least));
    if (finding) continue;
    finding =
        about(part, Severity::caution, CheckId(kAboutSurroundings, "surroundings"));
    finding->quantity = "temperature";
    finding->unit = Unit::celsius;
    finding->value = circuit.ambient;
    finding->limit = is_hot ? span->most : span->least;
    finding->bound = is_hot ? Bound::upper : Bound::lower;
    finding->source = "ranges that most sheets of such parts name, from memory";
    finding->mark = Mark::memory;
  }
  if (!finding) return {};
  finding->message = fmt::format(
      "the ambient temperature is {:.0f} C, and {} are made for no {}; bring air to "
      "them, or use ones that are made for it",
      circuit.ambient, fmt::join(names, ", "),
      finding->bound == Bound::upper ? "more" : "less");
  return {std::move(*finding)};
}

std::span<const Explanation> explain_surroundings() { return kAboutSurroundings; }

}  // namespace benchproof
