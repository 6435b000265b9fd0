// The page that leads to the pages of a library.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cctype>
#include <cstddef>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "cli/render/diagram/diagram_svg.h"
#include "cli/render/page/page_report.h"
#include "cli/render/verify/findings_text.h"
#include "core/base/pieces.h"

namespace benchproof {
namespace {

/// What of a circuit comes nearest to its limit, and where.
struct NearestLimit {
  double share = 2.0;  ///< More than a limit has to leave: there is none.
  std::string what;
};

NearestLimit nearest_of(const CircuitOutcome& outcome) {
  NearestLimit nearest;
  for (const CaseOutcome& each : outcome.cases)
    if (each.nearest && each.nearest->share < nearest.share) {
      nearest.share = each.nearest->share;
      nearest.what = fmt::format(
          "{}; {}{}", each.nearest->what, each.name.name,
          each.name.variant.empty() ? "" : " of variant " + each.name.variant);
    }
  return nearest;
}

std::string reasons_of(const CircuitOutcome& outcome) {
  constexpr std::size_t kMost = 3;
  std::vector<std::string> lines = failure_lines(outcome);
  for (const CaseOutcome& each : outcome.cases)
    for (const std::string& line : failure_lines(each)) lines.push_back(line);
  const std::size_t more = lines.size() - std::min(lines.size(), kMost);
  lines.resize(lines.size() - more);
  if (more > 0) lines.push_back(fmt::format("{} more", more));
  return fmt::format("{}", fmt::join(lines, "; "));
}

}  // namespace

void PageIndex::add(const IndexedCircuit& circuit) {
  const CircuitOutcome& outcome = circuit.outcome;
  const NearestLimit nearest = nearest_of(outcome);
  const bool has_margin = nearest.share <= 1.0;
  std::string name = markup_text(outcome.file);
  if (!circuit.page.empty())
    name = fmt::format("<a href=\"{}\">{}</a>", circuit.page, name);
  Line line;
  line.rank = passes(outcome) ? 1 : 0;
  line.share = nearest.share;
  line.cells = fmt::format(
      "<th scope=\"row\">{}</th><td class=\"{}\">{}</td><td class=\"figure\"{}>{}</td>"
      "<td>{}</td><td>{}</td>",
      name, line.rank == 0 ? "fault" : "good", outcome_word(outcome),
      has_margin ? fmt::format(" data-value=\"{:.6g}\"", nearest.share) : "",
      has_margin ? fmt::format("{:.0f} %", nearest.share * 100.0) : "",
      has_margin ? markup_text(plain_text(nearest.what)) : "",
      markup_text(plain_text(reasons_of(outcome))));
  lines_.push_back(std::move(line));
}

std::string PageIndex::html(const RegressHead& head) const {
  std::vector<const Line*> order;
  for (const Line& line : lines_) order.push_back(&line);
  std::stable_sort(order.begin(), order.end(), [](const Line* a, const Line* b) {
    return a->rank != b->rank ? a->rank < b->rank : a->share < b->share;
  });
  const auto failed = static_cast<std::size_t>(std::count_if(
      lines_.begin(), lines_.end(), [](const Line& line) { return line.rank == 0; }));
  const std::string what = fmt::format("{}", fmt::join(head.paths, ", "));
  const std::string header = fmt::format(
      "<h1>Circuits of {}</h1>\n<p class=\"verdict {}\">{} of {} circuits passed</p>\n",
      markup_text(what), failed == 0 ? "good" : "fault", lines_.size() - failed,
      lines_.size());
  std::string body =
      "<main>\n<div class=\"scroll\" tabindex=\"0\" role=\"group\" "
      "aria-label=\"The circuits\">\n<table class=\"sortable\"><caption>What did not "
      "pass first, then what comes nearest to a limit</caption>\n<thead><tr>"
      "<th scope=\"col\">circuit</th><th scope=\"col\">result</th>"
      "<th scope=\"col\" class=\"figure\">left</th><th scope=\"col\">of</th>"
      "<th scope=\"col\">why it did not pass</th></tr></thead>\n<tbody>\n";
  for (const Line* line : order) body += "<tr>" + line->cells + "</tr>\n";
  body += "</tbody></table></div>\n</main>\n";
  return page_frame("Circuits of " + what, header, body, {});
}

std::vector<std::string> page_names(const std::vector<std::string>& files) {
  constexpr std::size_t kLongest = 100;
  // By their names alone as long as these differ, else with their folders.
  const auto safe = [](std::string_view text) {
    std::string name;
    for (const char c : text) {
      const bool is_safe = std::isalnum(static_cast<unsigned char>(c)) != 0 ||
                           c == '-' || c == '_' || (c == '.' && !name.empty());
      name += is_safe && static_cast<unsigned char>(c) < 0x80 ? c : '-';
    }
    if (name.ends_with(".toml")) name.resize(name.size() - 5);
    if (name.size() > kLongest) name.erase(0, name.size() - kLongest);
    while (name.starts_with('-') || name.starts_with('.')) name.erase(0, 1);
    return name.empty() ? std::string("circuit") : name;
  };
  const auto stem = [&](const std::string& file) {
    return safe(std::string_view(file).substr(file.find_last_of('/') + 1));
  };
  std::multiset<std::string> stems;
  for (const std::string& file : files) stems.insert(lower_case(stem(file)));
  std::set<std::string> taken = {"index"};
  std::vector<std::string> names;
  for (const std::string& file : files) {
    const bool is_alone = stems.count(lower_case(stem(file))) == 1;
    const std::string wanted = is_alone ? stem(file) : safe(file);
    std::string name = wanted;
    for (int n = 2; !taken.insert(lower_case(name)).second; ++n)
      name = fmt::format("{}-{}", wanted, n);
    names.push_back(name + ".html");
  }
  return names;
}

}  // namespace benchproof
