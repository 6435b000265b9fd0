#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "cli/render/json_parts.h"
#include "cli/render/layout.h"
#include "cli/render/tolerance/tolerance_report.h"
#include "cli/render/verify/findings_text.h"
#include "cli/render/verify/json.h"
#include "cli/render/verify/short_text.h"

namespace benchproof {
namespace {

using Json = nlohmann::ordered_json;

/// Where a value lies between its bounds: "|----o-----|".
std::string scale_text(double place) {
  constexpr std::size_t kMarks = 21;
  std::string scale(kMarks, '-');
  const double at = place * static_cast<double>(kMarks - 1) + 0.5;
  scale[std::min(kMarks - 1, static_cast<std::size_t>(std::max(0.0, at)))] = 'o';
  return "|" + scale + "|";
}

}  // namespace

std::string copy_text(const CopyReport& report, bool colour) {
  std::string text =
      wrapped(fmt::format("copy {} of series {}: what it has between the least and the "
                          "most of each number",
                          report.index, report.seed),
              0, 2);
  std::vector<TableRow> rows;
  for (std::size_t k = 0; k < report.copy.spreads.size(); ++k) {
    const Spread& spread = report.copy.spreads[k];
    rows.push_back(
        {{spread.target, figure_text(report.copy.values[k], spread.unit),
          figure_text(spread.least, spread.unit), scale_text(report.copy.places[k]),
          figure_text(spread.most, spread.unit)},
         {}});
  }
  return text + table(rows, "lrrll", 2) + "\n" + short_text(report.file, colour);
}

std::string copy_json(const CopyReport& report) {
  Json json = Json::parse(verify_json(report.file));
  json["copy"] = report.index;
  json["seed"] = report.seed;
  json["values"] = Json::object();
  for (std::size_t k = 0; k < report.copy.spreads.size(); ++k)
    json["values"][report.copy.spreads[k].target] = report.copy.values[k];
  return document_text(json);
}

}  // namespace benchproof
