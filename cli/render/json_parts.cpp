#include "cli/render/json_parts.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "core/base/diagnostic.h"
#include "core/base/quantity.h"
#include "core/check/finding/told.h"

namespace benchproof {
namespace {

using Json = nlohmann::ordered_json;

void add_once(Json& parts, const Finding& finding) {
  if (std::find(parts.begin(), parts.end(), finding.part) == parts.end())
    parts.push_back(finding.part);
}

}  // namespace

nlohmann::ordered_json text_json(std::string_view text) {
  return text.empty() ? Json(nullptr) : Json(text);
}

nlohmann::ordered_json number_json(std::optional<double> value) {
  return value && std::isfinite(*value) ? Json(*value) : Json(nullptr);
}

nlohmann::ordered_json line_json(const Span& span) {
  return span.begin.line > 0 ? Json(span.begin.line) : Json(nullptr);
}

nlohmann::ordered_json column_json(const Span& span) {
  return span.begin.column > 0 ? Json(span.begin.column) : Json(nullptr);
}

nlohmann::ordered_json finding_json(const Finding& f) {
  return {{"severity", severity_word(f.severity)},
          {"check", f.check},
          {"part", text_json(f.part)},
          {"net", text_json(f.net)},
          {"quantity", f.quantity},
          {"unit", symbol(f.unit)},
          {"value", number_json(f.value)},
          {"limit", number_json(f.limit)},
          {"margin", number_json(margin(f))},
          {"message", f.message},
          {"source", f.source},
          {"mark", mark_word(f.mark)},
          {"phase", text_json(f.phase)},
          {"follows", text_json(f.follows)},
          {"expected", f.is_expected},
          {"line", line_json(f.span)},
          {"column", column_json(f.span)}};
}

nlohmann::ordered_json complaint_json(const Diagnostic& complaint,
                                      std::string_view file) {
  Json also = Json::array();
  for (const Span& span : complaint.also)
    also.push_back({{"line", line_json(span)}, {"column", column_json(span)}});
  return {{"file", file},
          {"line", line_json(complaint.span)},
          {"column", column_json(complaint.span)},
          {"id", complaint.id},
          {"message", complaint.message},
          {"hint", text_json(complaint.hint)},
          {"also", std::move(also)}};
}

nlohmann::ordered_json findings_json(std::span<const Finding> findings) {
  Json list = Json::array();
  for (const Finding& finding : findings) {
    Json json = finding_json(finding);
    if (!finding.hole.empty()) json["hole"] = finding.hole;
    const Finding* cause = cause_among(findings, finding);
    json["follows_from"] = cause == nullptr ? Json(nullptr)
                                            : Json({{"check", cause->check},
                                                    {"part", text_json(cause->part)},
                                                    {"net", text_json(cause->net)}});
    Json& parts = json["parts"] = Json::array();
    for (const Finding& other : findings)
      if (other.check == finding.check && !other.part.empty()) add_once(parts, other);
    list.push_back(std::move(json));
  }
  return list;
}

std::string document_text(const nlohmann::ordered_json& json, int indent) {
  const std::string plain =
      json.dump(indent, ' ', false, Json::error_handler_t::replace);
  constexpr unsigned char kDelete = 0x7F;  // The first that dump leaves as it is.
  std::string text;
  text.reserve(plain.size());
  for (std::size_t at = 0; at < plain.size();) {
    std::size_t size = 1;
    if (static_cast<unsigned char>(plain[at]) < kDelete) {
      text += plain[at++];
      continue;
    }
    while (at + size < plain.size() &&
           (static_cast<unsigned char>(plain[at + size]) & 0xC0U) == 0x80U)
      ++size;
    const std::string point = plain.substr(at, size);
    at += size;
    // The dump puts the escaped character between quotation marks.
    const std::string escaped = Json(point).dump(-1, ' ', true);
    text += printable(point) == point ? point : escaped.substr(1, escaped.size() - 2);
  }
  return text;
}

nlohmann::ordered_json variant_json(const FileReport& report) {
  return text_json(report.circuit ? report.circuit->variant : "");
}

}  // namespace benchproof
