#include <nlohmann/json.hpp>

#include "cli/render/explanation_text.h"
#include "cli/render/json_parts.h"

namespace benchproof {

std::string explanations_json(std::span<const Explanation> explanations) {
  nlohmann::ordered_json json = {{"benchproof", 1},
                                 {"explanations", nlohmann::ordered_json::array()}};
  for (const Explanation& e : explanations) {
    json["explanations"].push_back({{"check", e.check},
                                    {"what", e.what},
                                    {"formula", e.formula},
                                    {"limit", e.limit},
                                    {"why", e.why},
                                    {"change", e.change}});
  }
  return document_text(json);
}

}  // namespace benchproof
