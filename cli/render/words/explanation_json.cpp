#include <nlohmann/json.hpp>

#include "cli/render/json_parts.h"
#include "cli/render/words/explanation_text.h"

namespace benchproof {

nlohmann::ordered_json explanations_list(std::span<const Explanation> explanations) {
  auto list = nlohmann::ordered_json::array();
  for (const Explanation& e : explanations) {
    list.push_back({{"check", e.check},
                    {"what", e.what},
                    {"formula", e.formula},
                    {"limit", e.limit},
                    {"why", e.why},
                    {"change", e.change}});
  }
  return list;
}

std::string explanations_json(std::span<const Explanation> explanations) {
  nlohmann::ordered_json json = {{"benchproof", 1}};
  json["explanations"] = explanations_list(explanations);
  return document_text(json);
}

}  // namespace benchproof
