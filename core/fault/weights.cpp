#include "core/fault/weights.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "core/base/complaints.h"
#include "core/fault/detail/entry.h"
#include "core/fault/detail/texts.h"

namespace benchproof {
namespace {

/// The heaviest weight: some tens of the usual one.
constexpr double kMostWeight = 100.0;

FaultMode mode_of(std::string_view word) {
  for (const FaultMode mode : fault_modes())
    if (word_of(mode) == word) return mode;
  return FaultMode::none;
}

Weight weight_of(Entry& entry) {
  Weight weight;
  weight.value = entry.number("weight", 0.0, kMostWeight);
  weight.mark = entry.mark();
  weight.source = entry.text("source");
  return weight;
}

Weights::Mistake read_mistake(Entry& entry) {
  std::vector<std::string> words;
  for (const FaultMode mode : fault_modes()) words.emplace_back(word_of(mode));
  Weights::Mistake mistake;
  mistake.mode = mode_of(entry.word("mode", words));
  mistake.detail = entry.text_if("detail");
  mistake.weight = weight_of(entry);
  entry.end();
  return mistake;
}

Weights::Failure read_failure(Entry& entry) {
  Weights::Failure failure;
  for (const std::string& name : entry.texts("kinds")) {
    if (const Kind* found = find_kind(name)) {
      failure.kinds.push_back(found->id);
      continue;
    }
    std::vector<std::string> names;
    for (const Kind& each : kinds()) names.emplace_back(each.name);
    entry.complain(kKindUnknown, entry.span_of("kinds"),
                   fmt::format("no kind {}", quoted(name)),
                   names_hint(nearest(name, names), names, "kinds"));
  }
  failure.is_polarised = entry.flag_if("polarised");
  failure.open = entry.number("open", 0.0, 1.0);
  failure.short_ = entry.number("short", 0.0, 1.0);
  failure.stuck = entry.number_if("stuck", 0.0, 1.0).value_or(0.0);
  failure.mark = entry.mark();
  failure.source = entry.text("source");
  entry.end();
  return failure;
}

/// The table [failing], which there has to be.
Weight read_failing(const TomlNode& root, std::vector<Diagnostic>& complaints) {
  const TomlEntry* failing = find_entry(root, "failing");
  if (failing == nullptr || failing->value.type != TomlNode::Type::table) {
    complaints.push_back({std::string(kKeyMissing.name),
                          failing == nullptr ? root.span : failing->key_span,
                          "the table 'failing' is missing",
                          "write [failing] with weight, mark and source"});
    return {};
  }
  Entry entry(*failing, complaints);
  const Weight weight = weight_of(entry);
  entry.end();
  return weight;
}

}  // namespace

std::optional<Weight> Weights::of(FaultMode mode, std::string_view detail) const {
  for (const Mistake& mistake : mistakes)
    if (mistake.mode == mode && mistake.detail == detail) return mistake.weight;
  return std::nullopt;
}

std::optional<Weight> Weights::of(FaultMode mode, const Part& part) const {
  const bool is_polarised = flag(part, "polarised", false);
  const Failure* found = nullptr;
  for (const Failure& failure : failures) {
    const bool is_of_kind = std::find(failure.kinds.begin(), failure.kinds.end(),
                                      part.kind) != failure.kinds.end();
    if (is_of_kind && (!failure.is_polarised || is_polarised)) found = &failure;
  }
  if (found == nullptr) return std::nullopt;
  const double share = mode == FaultMode::open     ? found->open
                       : mode == FaultMode::short_ ? found->short_
                       : mode == FaultMode::stuck  ? found->stuck
                                                   : 0.0;
  if (share <= 0.0) return std::nullopt;
  return Weight{failing.value * share, found->mark, found->source};
}

std::optional<Weight> sum_of(const std::optional<Weight>& a,
                             const std::optional<Weight>& b) {
  if (!a) return b;
  if (!b) return a;
  const bool is_first = a->value >= b->value;
  return Weight{a->value + b->value, is_first ? a->mark : b->mark,
                fmt::format("{}; {}", a->source, b->source)};
}

ReadWeights read_weights(std::string_view text) {
  ReadWeights read;
  read.diagnostics =
      read_data_file(text, {"mistake", "failing", "failure"},
                     [&](const TomlNode& root, std::vector<Diagnostic>& complaints) {
                       for (Entry& entry : entries_of(root, "mistake", complaints))
                         read.weights.mistakes.push_back(read_mistake(entry));
                       read.weights.failing = read_failing(root, complaints);
                       for (Entry& entry : entries_of(root, "failure", complaints))
                         read.weights.failures.push_back(read_failure(entry));
                     });
  return read;
}

Weights built_in_weights() {
  Weights weights;
  for (const auto& [file, text] : weights_texts()) {
    ReadWeights read = read_weights(text);
    demand_none(read.diagnostics, file, text);
    weights = std::move(read.weights);
  }
  return weights;
}

}  // namespace benchproof
