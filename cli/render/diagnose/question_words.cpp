#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cmath>

#include "cli/render/diagnose/diagnosis_report.h"
#include "cli/render/layout.h"
#include "cli/render/verify/findings_text.h"

namespace benchproof {
namespace {

Unit unit_of(Asks asks) { return style_of(asks).unit; }

const Part* named_part(const Circuit& circuit, const std::string& name) {
  for (const Part& part : circuit.parts)
    if (part.name == name) return &part;
  return nullptr;
}

}  // namespace

std::string condition_words(const Question& question) {
  std::string words =
      question.powered ? fmt::format("state '{}'", question.state)
      : question.state.empty()
          ? std::string("power off")
          : fmt::format("power off, switches as in '{}'", question.state);
  if (!question.out.empty())
    words += fmt::format(", '{}' out", fmt::join(question.out, "', '"));
  return words;
}

std::string asked_words(const Question& question) {
  const std::string to = question.to.empty() ? "ground" : "'" + question.to + "'";
  switch (question.asks) {
    case Asks::voltage:
      return question.to.empty()
                 ? fmt::format("voltage of '{}'", question.net)
                 : fmt::format("voltage of '{}' against {}", question.net, to);
    case Asks::current:
      return question.pin.empty()
                 ? fmt::format("current of '{}'", question.part)
                 : fmt::format("current into '{}.{}'", question.part, question.pin);
    case Asks::resistance:
      return fmt::format("resistance of '{}' to {}", question.net, to);
    case Asks::diode:
      return fmt::format("diode test, plus on '{}', to {}", question.net, to);
    case Asks::looks:
      break;
  }
  return fmt::format("looks of '{}'", question.part);
}

std::string shown_text(Asks asks, double value) {
  const Unit unit = unit_of(asks);
  // What is as good as nothing is told as that.
  const double nothing = asks == Asks::current ? 1e-6 : 5e-4;
  if (std::abs(value) < nothing) return fmt::format("0 {}", symbol(unit));
  return plain_text(format_quantity(value, unit));
}

std::string looks_choices(const Circuit& circuit, const Question& question) {
  const Part* part = named_part(circuit, question.part);
  std::vector<std::string_view> words;
  if (part != nullptr)
    for (const Looks looks : looks_of(part->kind)) words.push_back(word_of(looks));
  return fmt::format("{}", fmt::join(words, ", "));
}

std::string would_show_text(Asks asks, const WouldShow& would) {
  if (would.looks) return std::string(word_of(*would.looks));
  if (would.is_open) return "open";
  if (!would.least || !would.most) return "anything";
  const std::string least = shown_text(asks, *would.least);
  const std::string most = shown_text(asks, *would.most);
  return least == most ? least : fmt::format("{} to {}", least, most);
}

std::string measuring_cautions() {
  return wrapped(
             "Measure resistances and diodes with the power off and capacitors "
             "empty: discharge large ones by 1 kohm across them, not "
             "by a short. For a current the meter goes in series, never across a "
             "supply.",
             0, 2) +
         wrapped(
             "What is wrong may run hot: touch nothing before it was off for a while, "
             "and unplug at once what smells or smokes. Never open or probe the mains "
             "side of a supply.",
             0, 2);
}

}  // namespace benchproof
