#include "cli/render/regress/regress_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <string_view>
#include <utility>
#include <vector>

#include "cli/render/layout.h"
#include "cli/render/verify/findings_text.h"
#include "core/base/diagnostic.h"
#include "core/base/nine_digits.h"

namespace benchproof {
namespace {

/// Cases told of a circuit, and lines of a case, where not all are asked for.
constexpr std::size_t kFewCases = 3;
constexpr std::size_t kFewLines = 3;
/// Limits told of all circuits together.
constexpr std::size_t kNearest = 5;

std::string more_text(std::size_t count, std::string_view what, std::size_t indent) {
  return wrapped(fmt::format("and {} more; --all shows all", counted(count, what)),
                 indent, indent + 2);
}

std::string lines_text(const std::vector<std::string>& lines, std::size_t indent,
                       bool all) {
  std::string text;
  const std::size_t told = all ? lines.size() : std::min(lines.size(), kFewLines);
  for (std::size_t k = 0; k < told; ++k)
    text += wrapped(plain_text(lines[k]), indent, indent + 2);
  if (told < lines.size()) text += more_text(lines.size() - told, "line", indent);
  return text;
}

std::string circuit_text(const CircuitOutcome& circuit,
                         const RegressTextOptions& options) {
  const std::string_view word = outcome_word(circuit);
  const Ink ink = passes(circuit) ? Ink::strong : Ink::fault;
  std::string text = fmt::format(
      "{}  {}\n", inked(padded(word, 7), ink, options.colour), printable(circuit.file));
  // All complaints count; the excerpts in them are laid out already.
  for (const std::string& line : circuit.complaints)
    text +=
        line.starts_with("    ") ? fmt::format("  {}\n", line) : wrapped(line, 2, 4);
  CircuitOutcome others = circuit;
  others.complaints.clear();
  text += lines_text(failure_lines(others), 2, options.all);
  std::size_t failed = 0;
  for (const CaseOutcome& each : circuit.cases) {
    if (passes(each)) continue;
    if (++failed > kFewCases && !options.all) continue;
    text += wrapped(plain_text(case_text(each.name)) + ":", 2, 4);
    text += lines_text(failure_lines(each), 4, options.all);
  }
  if (failed > kFewCases && !options.all)
    text += more_text(failed - kFewCases, "case", 2);
  return text;
}

/// "1 state, 2 runs", what there is of several things.
std::string list_of(const std::vector<std::pair<int, std::string_view>>& things) {
  std::string text;
  for (const auto& [count, what] : things) {
    if (count == 0) continue;
    if (!text.empty()) text += ", ";
    text += counted(static_cast<std::size_t>(count), what);
  }
  return text;
}

/// The circuits that came nearest to limits that they keep.
class Nearest {
 public:
  void look_at(const CircuitOutcome& circuit) {
    // One of a circuit: its states are alike.
    const CaseOutcome* nearest = nullptr;
    for (const CaseOutcome& each : circuit.cases)
      if (each.nearest &&
          (nearest == nullptr ||
           nine_digits(each.nearest->share) < nine_digits(nearest->nearest->share)))
        nearest = &each;
    if (nearest == nullptr) return;
    const Near found{circuit.file, nearest->name, *nearest->nearest};
    const auto place = std::upper_bound(
        near_.begin(), near_.end(), found, [](const Near& a, const Near& b) {
          return nine_digits(a.limit.share) < nine_digits(b.limit.share);
        });
    near_.insert(place, found);
    near_.resize(std::min(near_.size(), kNearest));
  }

  [[nodiscard]] std::string text() const {
    if (near_.empty()) return {};
    std::string text = "nearest to a limit that is kept\n";
    for (const Near& each : near_)
      text +=
          wrapped(fmt::format("{:.0f} % left: {}, {}: {}", 100.0 * each.limit.share,
                              printable(each.file), plain_text(case_text(each.name)),
                              plain_text(each.limit.what)),
                  2, 4);
    return text;
  }

 private:
  struct Near {
    std::string file;
    CaseName name;
    NearLimit limit;
  };
  std::vector<Near> near_;  ///< The nearest first.
};

/// The counts, a line each.
std::string sums_text(const RegressHead& head, const RegressTally& sum) {
  std::string text =
      fmt::format("{} of {} passed", sum.passed,
                  counted(static_cast<std::size_t>(sum.circuits), "circuit"));
  if (head.shard.of > 1)
    text += fmt::format(" in shard {} of {}", head.shard.part, head.shard.of);
  if (sum.states + sum.runs > 0)
    text += ": " + list_of({{sum.states, "state"}, {sum.runs, "run"}});
  if (sum.variants > 0) text += " with " + list_of({{sum.variants, "variant"}});
  text += "\n";
  if (sum.kept > 0)
    text += fmt::format("{} unchanged since passing and not solved again\n",
                        list_of({{sum.kept, "circuit"}}));
  if (head.passed_over > 0)
    text += fmt::format("{} left alone: not changed since\n",
                        list_of({{head.passed_over, "circuit"}}));
  if (sum.written > 0)
    text += fmt::format("{} written\n", list_of({{sum.written, "record"}}));
  const int unrecorded = sum.circuits - sum.compared - sum.written;
  if (sum.compared > 0)
    text += fmt::format("{} held against recorded results\n",
                        list_of({{sum.compared, "circuit"}}));
  else if (sum.written == 0 && unrecorded > 0)
    text += sum.passed > 0 ? "no results are recorded; --record writes those of "
                             "circuits that pass\n"
                           : "no results are recorded, for no circuit passes\n";
  text +=
      fmt::format("{} of {} rest on published values\n", sum.published,
                  counted(static_cast<std::size_t>(sum.expectations), "expectation"));
  return text;
}

}  // namespace

void put_regress_text(const RegressReport& report, const RegressTextOptions& options,
                      const PutText& put) {
  Nearest nearest;
  bool is_any_told = false;
  report.each([&](const CircuitOutcome& circuit) {
    nearest.look_at(circuit);
    if (!options.all && passes(circuit)) return;
    put(circuit_text(circuit, options));
    is_any_told = true;
  });
  put((is_any_told ? "\n" : "") + nearest.text() + sums_text(report.head, report.sum));
}

}  // namespace benchproof
