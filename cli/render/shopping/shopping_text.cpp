#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "cli/render/layout.h"
#include "cli/render/shopping/shopping_report.h"
#include "cli/render/verify/findings_text.h"
#include "cli/render/verify/verdict_text.h"
#include "core/base/diagnostic.h"
#include "core/base/quantity.h"
#include "core/catalogue/kind.h"
#include "core/check/rest/limits.h"

namespace benchproof {
namespace {

/// Below this in its unit a load asks for nothing that any part would not bear.
constexpr double kNoAmount = 1e-6;
constexpr std::size_t kLabelAt = 5;
constexpr std::size_t kTextAt = 13;

const Part& part_of(const ShoppingReport& report, int index) {
  return report.file.circuit->parts.at(static_cast<std::size_t>(index));
}

/// A labelled line of an entry, wrapped beside its label.
std::string row(std::string_view label, const std::string& text) {
  std::string lines = wrapped(plain_text(text), kTextAt, kTextAt);
  if (!lines.empty()) lines.replace(kLabelAt, label.size(), label);
  return lines;
}

std::size_t cautions_of(const ShoppingReport& report) {
  std::size_t count = 0;
  for (const StateResult& state : report.file.verification.states)
    count += count_of(state.findings, Severity::caution);
  return count;
}

/// Each fault once, however many states have it.
std::vector<std::pair<const Finding*, const StateResult*>> faults_of(
    const ShoppingReport& report) {
  std::vector<std::pair<const Finding*, const StateResult*>> list;
  for (const StateResult& state : report.file.verification.states) {
    for (const Finding& finding : state.findings) {
      const bool is_known =
          std::any_of(list.begin(), list.end(), [&](const auto& entry) {
            return entry.first->check == finding.check &&
                   entry.first->part == finding.part && entry.first->net == finding.net;
          });
      if (counts_as(finding, Severity::fault) && !is_known)
        list.emplace_back(&finding, &state);
    }
  }
  return list;
}

std::string verdict_text(const ShoppingReport& report) {
  const Verification& v = report.file.verification;
  if (v.states.empty())
    return fmt::format("not judged - {}", report.list.without_ratings);
  switch (v.verdict) {
    case Verdict::good:
      return "good - every part is within its ratings at rest";
    case Verdict::caution:
      return fmt::format("good, with care - {} to read with 'benchproof verify'",
                         counted(cautions_of(report), "caution"));
    case Verdict::fault:
      return fmt::format("fault - {}; buy nothing before this is mended",
                         counted(faults_of(report).size(), "fault"));
    case Verdict::disagreement:
    case Verdict::engine_failed:
    case Verdict::nodal_failed:
      return fmt::format("withheld - {}", report.list.without_ratings);
  }
  return {};
}

std::string head(const ShoppingReport& report, bool colour) {
  const Circuit& circuit = *report.file.circuit;
  std::string text = title_lines(circuit.title, colour);
  text += wrapped(
      fmt::format("{}: {} to buy in {}", version_name(report.file),
                  counted(static_cast<std::size_t>(report.list.pieces), "piece"),
                  counted(report.list.lines.size(), "line")),
      0, 2);
  const Verdict verdict = report.file.verification.verdict;
  std::string line = wrapped("verdict: " + verdict_text(report), 0, 9);
  line.replace(0, 8, inked("verdict:", verdict_ink(verdict), colour));
  text += line;
  for (const auto& [finding, state] : faults_of(report))
    text +=
        wrapped(fmt::format("fault: {} (in state '{}'{})", plain_text(finding->message),
                            state->name,
                            finding->phase.empty() ? "" : ", while " + finding->phase),
                2, 4);
  const std::string& obstacle = report.list.without_ratings;
  if (!obstacle.empty()) {
    text += wrapped(fmt::format("Without least ratings: {}.", obstacle), 0, 2);
    return text;
  }
  const std::size_t states = report.file.verification.states.size();
  text += wrapped(
      fmt::format(
          "Least ratings are for {} at rest{}.",
          states == 1 ? "the one state" : fmt::format("all {} states", states),
          circuit.runs.empty()
              ? ""
              : fmt::format("; the {} not looked at",
                            circuit.runs.size() == 1
                                ? "run was"
                                : fmt::format("{} runs were", circuit.runs.size()))),
      0, 2);
  return text;
}

/// "in E12; brown green brown gold, or 150R".
std::string value_text(KindId kind, const SoldValue& value) {
  std::vector<std::string> texts;
  if (value.series) {
    texts.push_back(fmt::format("in {}", series_word(*value.series)));
  } else if (!value.nearest.empty()) {
    std::vector<std::string> near;
    for (const auto& [series, standard] : value.nearest)
      near.push_back(
          fmt::format("{} ({})", shop_text(standard, value.unit), series_word(series)));
    texts.push_back(
        fmt::format("no standard value: the nearest are {}", fmt::join(near, " and ")));
  }
  if (kind != KindId::resistor) {
    texts.push_back("printed as " + value.code);
  } else if (value.bands.empty()) {
    texts.push_back("without colour bands, printed as " + value.code);
  } else {
    texts.push_back(
        fmt::format("bands {}, or {}", fmt::join(value.bands, " "), value.code));
  }
  return fmt::format("{}", fmt::join(texts, "; "));
}

std::string own_rating(const LeastRating& rating) {
  if (!rating.has) return {};
  const std::string own = shop_text(rating.has->value, rating.unit);
  if (rating.has->mark == Mark::practice)
    return fmt::format("; {} is assumed{}", own,
                       rating.is_enough ? "" : ", too little");
  if (!rating.is_enough) return fmt::format("; its {} is too little", own);
  return rating.has->mark == Mark::given ? "" : fmt::format("; it has {}", own);
}

/// "power 0.125 W or more (1.73 mW in 'night', 60 % used)"; empty where next to nothing
/// is asked for.
std::string rating_text(const ShoppingReport& report, const OrderLine& line,
                        const LeastRating& r) {
  if (!r.is_graded && r.least < kNoAmount) return {};
  // One that is smaller than all that are usually sold is enough as it is.
  const bool is_own_less = r.is_enough && r.sold && r.has->value < *r.sold;
  std::string needed;
  if (r.is_graded && r.sold && !is_own_less) {
    needed = shop_text(*r.sold, r.unit) + " or more";
  } else if (!std::isfinite(r.least)) {
    needed = "more than there is: the surroundings are too hot";
  } else {
    needed = fmt::format("{} or more{}", figure_text(r.least, r.unit),
                         r.is_graded && !r.sold ? ", which is not usually sold" : "");
  }
  const std::string where =
      line.parts.size() > 1 ? fmt::format("at {} ", part_of(report, r.part).name) : "";
  const std::string phase = r.phase.empty() ? "" : " while " + r.phase;
  const std::string share =
      r.share < 1.0 ? fmt::format(", {} used", short_text(r.share, Unit::fraction))
                    : "";
  // The load is told where it is not the rating itself.
  const bool is_rating = !r.is_graded && r.least == r.load;
  const std::string load = is_rating            ? ""
                           : r.load < kNoAmount ? "nothing "
                                                : figure_text(r.load, r.unit) + " ";
  // Of an input's voltage "8 V or more" would read as what the circuit needs.
  if (r.quantity == "input voltage")
    needed = "rated for at least " + needed.substr(0, needed.rfind(" or more"));
  return fmt::format("{} {} ({}{}in '{}'{}{}){}", r.quantity, needed, load, where,
                     r.state, phase, share, own_rating(r));
}

std::string entry(const ShoppingReport& report, const OrderLine& line) {
  const std::string count =
      line.kind == KindId::wire ? "" : right_aligned(std::to_string(line.pieces), 3);
  const std::string length =
      line.kind == KindId::wire
          ? fmt::format(", {} in {}", shop_text(line.metres, Unit::metre),
                        counted(static_cast<std::size_t>(line.pieces), "length"))
          : "";
  std::string text =
      wrapped(fmt::format("{}{}{}{}", kind(line.kind).name,
                          line.what.empty() ? "" : ": ", plain_text(line.what), length),
              kLabelAt, kLabelAt);
  text.replace(0, count.size(), count);
  std::vector<std::string> names;
  for (const int part : line.parts) names.push_back(part_of(report, part).name);
  text += row("for", fmt::format("{}", fmt::join(names, ", ")));
  if (line.value) text += row("value", value_text(line.kind, *line.value));
  for (const LeastRating& rating : line.ratings)
    text += row("needs", rating_text(report, line, rating));
  for (const BuyersNote& note : line.notes) text += row("note", note);
  return text;
}

}  // namespace

std::string shopping_text(const ShoppingReport& report, bool colour) {
  std::string text = head(report, colour);
  for (const OrderLine& line : report.list.lines) text += "\n" + entry(report, line);
  std::vector<std::string> names;
  for (const int part : report.list.not_bought)
    names.push_back(part_of(report, part).name);
  if (!names.empty())
    text += "\n" + wrapped(fmt::format("not bought, being ideal sources: {}",
                                       fmt::join(names, ", ")),
                           0, 2);
  return text + "\n" +
         wrapped(
             "Series: IEC 60063. Bands and letters: IEC 60062. What is usually sold or "
             "used, and the notes: common practice, no source. Bodies and leads: "
             "'benchproof parts TYPE' has their sources.",
             0, 0);
}

std::string shopping_verdict(const ShoppingReport& report) {
  return wrapped(fmt::format("benchproof: {}: {}", printable(report.file.file),
                             verdict_text(report)),
                 0, 2);
}

}  // namespace benchproof
