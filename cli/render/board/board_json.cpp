#include <nlohmann/json.hpp>

#include "cli/render/board/board_report.h"
#include "cli/render/json_parts.h"
#include "core/board/places/islands.h"

namespace benchproof {
namespace {

using Json = nlohmann::ordered_json;
constexpr int kBoardLayout = 1;

Json places_json(const BoardReport& report) {
  Json list = Json::array();
  for (const Footprint& foot : report.proof.feet) {
    const Part& part = report.file.circuit->parts[static_cast<std::size_t>(foot.part)];
    Json pins = Json::object();
    for (std::size_t lead = 0; lead < foot.lead_holes.size(); ++lead)
      if (const int pin = foot.pin_of_lead[lead]; pin >= 0 && foot.has_hole[lead])
        pins[part.pins[static_cast<std::size_t>(pin)]] =
            hole_name(report.board, foot.lead_holes[lead]);
    Json legs = Json::object();
    for (std::size_t lead = 0; lead < foot.lead_holes.size(); ++lead)
      if (foot.has_hole[lead])
        legs[std::to_string(lead + 1)] = hole_name(report.board, foot.lead_holes[lead]);
    list.push_back({{"part", part.name},
                    {"pins", std::move(pins)},
                    {"leads", std::move(legs)},
                    {"off", foot.is_off},
                    {"shape", foot.shape->name},
                    {"faces", foot.faces && !foot.is_off ? Json(side_word(*foot.faces))
                                                         : Json(nullptr)},
                    {"standing", foot.is_standing},
                    {"flat", foot.is_flat},
                    {"height", foot.height},
                    {"mark", foot.shape->mark}});
  }
  return list;
}

Json joins_json(const BoardReport& report) {
  Json list = Json::array();
  for (const Join& join : report.board.joins)
    list.push_back({{"from", hole_name(report.board, join.from)},
                    {"to", hole_name(report.board, join.to)},
                    {"as", join_word(join.kind)},
                    {"colour", text_json(join.colour)},
                    {"millimetres", length_of(report.board, join) * 1e3}});
  return list;
}

}  // namespace

std::string board_json(const BoardReport& report) {
  const Board& board = report.board;
  Json islands = Json::array();
  for (const BoardIsland& island : report.proof.islands) {
    Json holes = Json::array();
    for (const Hole hole : island.holes) holes.push_back(hole_name(board, hole));
    islands.push_back(
        {{"net", report.file.circuit->nets[static_cast<std::size_t>(island.net)].name},
         {"holes", std::move(holes)}});
  }
  bool has_caution = false;
  for (const Finding& finding : report.proof.findings)
    has_caution = has_caution || finding.severity == Severity::caution;
  const Json json = {{"benchproof", kBoardLayout},
                     {"file", report.file.file},
                     {"name", text_json(board.name)},
                     {"verdict", has_fault(report) ? "fault"
                                 : has_caution     ? "caution"
                                                   : "good"},
                     {"circuit", verdict_word(report.file.verification.verdict)},
                     {"proposed", report.is_proposed},
                     {"findings", findings_json(report.proof.findings)},
                     {"islands", std::move(islands)},
                     {"places", places_json(report)},
                     {"joins", joins_json(report)},
                     {"cuts", cut_names(board)},
                     {"board",
                      {{"kind", board_kind_word(board.kind)},
                       {"columns", board.columns},
                       {"rows", board.rows},
                       {"rails", board.rails},
                       {"width", board.columns * kPitch},
                       {"depth", pitches_deep(board) * kPitch},
                       {"height", report.proof.height}}},
                     {"estimate",
                      {{"width", report.need.width},
                       {"depth", report.need.depth},
                       {"height", report.need.height},
                       {"flat_height", report.need.flat_height}}},
                     {"joined_length", report.bounds.metres},
                     {"trees_length", report.bounds.trees},
                     {"joins_bound", report.bounds.fewest}};
  return document_text(json);
}

}  // namespace benchproof
