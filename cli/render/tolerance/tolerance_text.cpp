#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <span>
#include <string_view>
#include <vector>

#include "cli/render/layout.h"
#include "cli/render/tolerance/tolerance_report.h"
#include "cli/render/verify/findings_text.h"
#include "core/base/quantity.h"
#include "core/check/expect/expectations.h"
#include "core/check/expect/run_expectations.h"

namespace benchproof {
namespace {

constexpr std::size_t kPicture = 16;  // Columns of a distribution.

std::string value_text(const Gauge& gauge, double value) {
  if (gauge.of == Gauge::Of::alike) return fmt::format("{:.2f}", value);
  if (!std::isfinite(value)) return "never";  // Of a level that is never reached.
  return cell_text(value, gauge.unit);
}

/// "12 in 100", "1 in 3000": how often.
std::string often_text(double share) {
  if (share <= 0.0) return "none";
  const double percent = share * 100.0;
  if (percent >= 10.0) return fmt::format("{:.0f} in 100", percent);
  if (percent >= 1.0) return fmt::format("{:.1f} in 100", percent);
  return fmt::format("1 in {:.0f}", std::round(1.0 / share));
}

/// How the copies lie between the worst cases, a column each: the darker the more.
std::string picture(const GaugeTolerance& gauge) {
  constexpr std::string_view kInk = " .:-=+*#";
  const Histogram& h = gauge.copies.histogram;
  const double least = gauge.worst.least.value;
  const double most = gauge.worst.most.value;
  if (!(most > least) || !std::isfinite(most - least) || h.cells.empty())
    return std::string(kPicture, ' ');
  std::vector<double> columns(kPicture, 0.0);
  const double width = (h.most - h.least) / static_cast<double>(h.cells.size());
  for (std::size_t k = 0; k < h.cells.size(); ++k) {
    const double value = h.least + (static_cast<double>(k) + 0.5) * width;
    const double at = (value - least) / (most - least) * static_cast<double>(kPicture);
    const double column = std::clamp(at, 0.0, static_cast<double>(kPicture) - 1.0);
    columns[static_cast<std::size_t>(column)] += h.cells[k];
  }
  const double highest = *std::max_element(columns.begin(), columns.end());
  std::string text;
  for (const double column : columns) {
    const double share = highest > 0.0 ? column / highest : 0.0;
    const auto ink = static_cast<std::size_t>(
        std::ceil(share * static_cast<double>(kInk.size() - 1)));
    text += kInk[ink];
  }
  return text;
}

std::string limit_text(const Gauge& gauge) {
  if (gauge.lower && gauge.upper)
    return fmt::format("{} to {}", value_text(gauge, *gauge.lower),
                       value_text(gauge, *gauge.upper));
  if (gauge.upper) return "below " + value_text(gauge, *gauge.upper);
  if (gauge.lower) return "above " + value_text(gauge, *gauge.lower);
  return {};
}

bool is_worst_failing(const GaugeTolerance& gauge) {
  return gauge.worst.least.fails || gauge.worst.most.fails;
}

/// The worst end that fails, or the one nearer to a limit.
const Extreme& bad_end(const GaugeTolerance& gauge) {
  const bool is_most_free = !gauge.gauge.upper && !gauge.worst.most.fails;
  return gauge.worst.least.fails || is_most_free ? gauge.worst.least : gauge.worst.most;
}

/// "'reg.output' 5.2 V and 'quay1_r.value' 142 ohm": what makes an end.
std::string made_by(const ToleranceReport& report, const GaugeTolerance& gauge,
                    const Extreme& end) {
  constexpr std::size_t kMost = 3;
  std::vector<std::string> list;
  for (const Driver& driver : gauge.drivers) {
    if (list.size() == kMost) break;
    const Spread& spread = report.result.spreads[driver.spread];
    list.push_back(fmt::format("{} {}", spread.target,
                               figure_text(end.values[driver.spread], spread.unit)));
  }
  return fmt::format("{}", fmt::join(list, ", "));
}

/// Something that spoils copies, in one state or run or more.
struct Spoiler {
  const GaugeTolerance* gauge = nullptr;  ///< Of the state in which it fails most.
  std::string name;
  std::string limit;
  std::vector<std::string> states;  ///< "'night'", "run 'power up'".
  std::size_t copies = 0;           ///< That were measured.

  [[nodiscard]] double share() const { return share_failing(*gauge, copies); }
};

void add_spoiler(Spoiler here, std::vector<Spoiler>& spoilers) {
  if (here.gauge->copies.failed == 0 && !is_worst_failing(*here.gauge)) return;
  const auto same =
      std::find_if(spoilers.begin(), spoilers.end(), [&here](const Spoiler& s) {
        return s.name == here.name && s.limit == here.limit &&
               s.copies == here.copies &&
               s.gauge->gauge.check == here.gauge->gauge.check;
      });
  if (same == spoilers.end()) return spoilers.push_back(std::move(here));
  same->states.push_back(here.states.front());
  if (here.share() > same->share()) same->gauge = here.gauge;
}

/// What spoils copies, the most frequent first, and what would spoil the worst one. The
/// same in several states is told once.
std::vector<Spoiler> spoilers_of(const ToleranceReport& report) {
  std::vector<Spoiler> spoilers;
  const Circuit& circuit = *report.file.circuit;
  const auto add = [&](const std::vector<GaugeTolerance>& gauges,
                       const std::string& where, std::size_t copies) {
    for (const GaugeTolerance& gauge : gauges)
      add_spoiler({&gauge,
                   gauge_name(circuit, gauge.gauge),
                   limit_text(gauge.gauge),
                   {where},
                   copies},
                  spoilers);
  };
  for (const StateTolerance& state : report.result.states)
    add(state.gauges, "'" + state.name + "'", report.result.copies);
  for (const RunTolerance& run : report.result.runs.runs)
    add(run.gauges, "run '" + run.name + "'", report.result.runs.copies);
  std::stable_sort(
      spoilers.begin(), spoilers.end(),
      [](const Spoiler& a, const Spoiler& b) { return a.share() > b.share(); });
  return spoilers;
}

std::string spoiler_text(const ToleranceReport& report, const Spoiler& spoiler) {
  const GaugeTolerance& gauge = *spoiler.gauge;
  const Extreme& end = bad_end(gauge);
  const std::string often = gauge.copies.failed == 0
                                ? "none of these copies, but the worst that can be"
                                : often_text(spoiler.share());
  const std::string by = made_by(report, gauge, end);
  std::string text =
      wrapped(fmt::format("{}: {} in {} is to be {}, and reaches {} at worst{}{} [{}]",
                          often, spoiler.name, fmt::join(spoiler.states, ", "),
                          spoiler.limit, value_text(gauge.gauge, end.value),
                          by.empty() ? "" : ", with ", by, gauge.gauge.check),
              2, 4);
  if (!end.agrees)
    text += wrapped("the witnesses do not agree on this worst case", 4, 6);
  return text;
}

/// Faults in runs that are no figure's.
std::vector<std::string> fault_lines(const RunsTolerance& runs) {
  std::vector<std::string> lines;
  for (const RunTolerance& run : runs.runs)
    for (const SpoiledRun& spoiled : run.faults) {
      const std::string often = spoiled.copies == 0
                                    ? "none of these copies, but one at its limits"
                                    : often_text(static_cast<double>(spoiled.copies) /
                                                 static_cast<double>(runs.copies));
      const RunFault& fault = spoiled.fault;
      lines.push_back(fmt::format("{}: '{}' is at fault in run '{}' [{}]", often,
                                  fault.part.empty() ? fault.net : fault.part, run.name,
                                  fault.check));
    }
  return lines;
}

std::string spoilers_text(const ToleranceReport& report) {
  constexpr std::size_t kMostTold = 8;
  const std::vector<Spoiler> spoilers = spoilers_of(report);
  const std::vector<std::string> faults = fault_lines(report.result.runs);
  if (spoilers.empty() && faults.empty()) return {};
  std::string text = "\nwhat spoils copies\n";
  for (std::size_t k = 0; k < std::min(kMostTold, spoilers.size()); ++k)
    text += spoiler_text(report, spoilers[k]);
  for (std::size_t k = 0; k < std::min(kMostTold, faults.size()); ++k)
    text += wrapped(faults[k], 2, 4);
  const auto left = [](std::size_t count) {
    return count > kMostTold ? count - kMostTold : 0;
  };
  if (const std::size_t more = left(spoilers.size()) + left(faults.size()); more > 0)
    text +=
        wrapped(fmt::format("and {} more; --csv and --json tell them all", more), 2, 4);
  return text;
}

std::string helps_text(const ToleranceReport& report) {
  if (report.result.helps.empty()) return {};
  std::string text = "\nwhat would help\n";
  for (const Help& help : report.result.helps)
    text += wrapped(
        fmt::format("{}: {} in 100 work", help.change, hundredths(help.share)), 2, 4);
  return text;
}

/// How near the worst case comes to a limit, as a share of it; large where far away.
double room(const GaugeTolerance& gauge) {
  double least = HUGE_VAL;
  const auto look = [&least](double limit, double value, double sign) {
    const double size = std::abs(limit) > 0.0 ? std::abs(limit) : 1.0;
    least = std::min(least, sign * (limit - value) / size);
  };
  if (gauge.gauge.upper) look(*gauge.gauge.upper, gauge.worst.most.value, 1.0);
  if (gauge.gauge.lower) look(*gauge.gauge.lower, gauge.worst.least.value, -1.0);
  return least;
}

TableRow row_of(const ToleranceReport& report, const GaugeTolerance& gauge) {
  return {{gauge_name(*report.file.circuit, gauge.gauge),
           value_text(gauge.gauge, gauge.worst.least.value), picture(gauge),
           value_text(gauge.gauge, gauge.worst.most.value)},
          {limit_text(gauge.gauge)}};
}

/// What moves these figures most: each number with all that it drives.
std::string drivers_text(const ToleranceReport& report,
                         const std::vector<const GaugeTolerance*>& told) {
  std::vector<std::pair<std::size_t, std::vector<std::string>>> driven;
  for (const GaugeTolerance* gauge : told) {
    if (gauge->drivers.empty()) continue;
    const std::size_t spread = gauge->drivers.front().spread;
    auto same = std::find_if(driven.begin(), driven.end(),
                             [spread](const auto& d) { return d.first == spread; });
    if (same == driven.end()) same = driven.insert(same, {spread, {}});
    std::vector<std::string>& names = same->second;
    std::string name = gauge_name(*report.file.circuit, gauge->gauge);
    if (std::find(names.begin(), names.end(), name) == names.end())
      names.push_back(std::move(name));
  }
  std::string text;
  for (const auto& [spread, names] : driven)
    text +=
        wrapped(fmt::format("{} moves most: {}", report.result.spreads[spread].target,
                            fmt::join(names, ", ")),
                2, 4);
  return text;
}

/// How far lamps of one type are apart.
std::string alike_text(const ToleranceReport& report, const GaugeTolerance& gauge) {
  std::vector<std::string> names;
  for (const int part : gauge.gauge.parts)
    names.push_back(report.file.circuit->parts[static_cast<std::size_t>(part)].name);
  return wrapped(
      fmt::format("alike: of {} the brightest is at most {:.2f} times as bright as the "
                  "dimmest in 99 of 100 copies, {:.2f} times at worst",
                  fmt::join(names, ", "), gauge.copies.histogram.at(0.99),
                  gauge.worst.most.value),
      2, 4);
}

/// The figures of a state that are told: what is expected, the ratings that come
/// nearest to their limits, light.
std::vector<const GaugeTolerance*> told_figures(
    const std::vector<GaugeTolerance>& gauges) {
  constexpr std::size_t kMostRatings = 4;
  // Of limits of one figure the nearest is told.
  const auto is_same = [](const Gauge& a, const Gauge& b) {
    return a.part == b.part && a.pin == b.pin && a.quantity == b.quantity;
  };
  std::vector<const GaugeTolerance*> told, ratings, lights;
  for (const GaugeTolerance& gauge : gauges) {
    const bool is_lit = gauge.worst.most.value > 1e-3;
    if (gauge.gauge.of == Gauge::Of::expectation)
      told.push_back(&gauge);
    else if (gauge.gauge.of == Gauge::Of::rating)
      ratings.push_back(&gauge);
    else if (gauge.gauge.of == Gauge::Of::light && is_lit)
      lights.push_back(&gauge);
  }
  std::stable_sort(ratings.begin(), ratings.end(),
                   [](const GaugeTolerance* a, const GaugeTolerance* b) {
                     return room(*a) < room(*b);
                   });
  std::vector<const GaugeTolerance*> nearest;
  for (const GaugeTolerance* rating : ratings) {
    const bool is_told =
        std::any_of(nearest.begin(), nearest.end(), [&](const GaugeTolerance* other) {
          return is_same(rating->gauge, other->gauge);
        });
    if (!is_told && nearest.size() < kMostRatings) nearest.push_back(rating);
  }
  told.insert(told.end(), nearest.begin(), nearest.end());
  told.insert(told.end(), lights.begin(), lights.end());
  return told;
}

/// A state or run: its title, the table of its figures, what moves them.
std::string figures_text(const ToleranceReport& report, const std::string& title,
                         const std::vector<GaugeTolerance>& gauges, bool colour) {
  const std::vector<const GaugeTolerance*> told = told_figures(gauges);
  if (told.empty()) return {};
  std::vector<TableRow> rows = {{{"", "least", "copies", "most"}, {"to be"}}};
  for (const GaugeTolerance* gauge : told) rows.push_back(row_of(report, *gauge));
  std::string text = "\n" + inked(title, Ink::strong, colour) + "\n";
  text += table(rows, "lrlr", 2);
  text += drivers_text(report, told);
  for (const GaugeTolerance& gauge : gauges)
    if (gauge.gauge.of == Gauge::Of::alike) text += alike_text(report, gauge);
  return text;
}

std::string spreads_text(const ToleranceReport& report) {
  std::vector<TableRow> rows;
  for (std::size_t k = 0; k < report.result.spreads.size(); ++k) {
    const Spread& s = report.result.spreads[k];
    std::string source = fmt::format("{}: {}", word_of(s.from), plain_text(s.source));
    if (!report.result.matters[k]) source += " (moves nothing at rest)";
    rows.push_back(
        {{s.target, figure_text(s.least, s.unit), "to", figure_text(s.most, s.unit)},
         split_words(source),
         1});
  }
  return "\nspreads\n" + table(rows, "lrlr", 2);
}

/// "20 given, 9 published, 5 usual of their kind".
std::string origins_text(const ToleranceResult& result) {
  std::size_t given = 0, published = 0, usual = 0;
  for (const Spread& spread : result.spreads) {
    given += spread.from == Spread::From::given ? 1 : 0;
    published += spread.from == Spread::From::published ? 1 : 0;
    usual += spread.from == Spread::From::assumed ? 1 : 0;
  }
  return fmt::format(
      "{} differ from copy to copy: {} as given, {} as published, {} as "
      "is usual",
      counted(result.spreads.size(), "number"), given, published, usual);
}

bool is_safe(const std::vector<GaugeTolerance>& gauges) {
  return std::none_of(gauges.begin(), gauges.end(), is_worst_failing);
}

/// Whether no copy that was seen fails in a run, the worst that can be included.
bool are_runs_safe(const RunsTolerance& runs) {
  return runs.works == runs.copies &&
         std::all_of(runs.runs.begin(), runs.runs.end(), [](const RunTolerance& run) {
           return is_safe(run.gauges) && run.faults.empty() && run.reason.empty();
         });
}

std::string headline(const ToleranceReport& report) {
  const ToleranceResult& r = report.result;
  const bool is_safe_at_rest =
      std::all_of(r.states.begin(), r.states.end(),
                  [](const StateTolerance& state) { return is_safe(state.gauges); });
  const std::string at_rest = r.runs.runs.empty() ? "" : " at rest";
  if (r.works == r.copies && is_safe_at_rest)
    return are_runs_safe(r.runs) ? "every copy works, the worst that can be included"
                                 : "every copy works at rest, but not in every run";
  if (r.works == r.copies)
    return fmt::format("all of {} copies work{}; the worst that can be does not",
                       r.copies, at_rest);
  return fmt::format("{} in 100 copies work{} ({} to {}, with 95 % certainty)",
                     hundredths(r.yield.share), at_rest, hundredths(r.yield.least),
                     hundredths(r.yield.most));
}

/// How many copies work in runs, too, and what was not looked at.
std::string runs_text(const ToleranceReport& report) {
  const RunsTolerance& runs = report.result.runs;
  std::string text;
  for (const std::string& run : runs.left_out)
    text += wrapped(
        fmt::format("run '{}' is left out: the witnesses do not agree on it", run), 0,
        2);
  if (runs.runs.empty()) {
    if (!report.file.circuit->runs.empty() && runs.left_out.empty())
      text +=
          wrapped(fmt::format("{} not looked at: --runs does that, and takes longer",
                              counted(report.file.circuit->runs.size(), "run")),
                  0, 2);
    return text;
  }
  text += wrapped(
      fmt::format("of the first {} copies {} work in {}, and {} at rest as well: {} in "
                  "100 ({} to {}, with 95 % certainty); --run-copies sets how many",
                  runs.copies, runs.works, counted(runs.runs.size(), "run"),
                  runs.works_in_all, hundredths(runs.yield.share),
                  hundredths(runs.yield.least), hundredths(runs.yield.most)),
      0, 2);
  for (const RunTolerance& run : runs.runs)
    if (!run.reason.empty())
      text += wrapped(
          run.unsolved == 0
              ? fmt::format("run '{}' of a copy at its limits has no answer: {}",
                            run.name, run.reason)
              : fmt::format("run '{}' of {} of these copies has no answer, and counts "
                            "as failing: {}",
                            run.name, run.unsolved, run.reason),
          0, 2);
  if (runs.asked_both > 0)
    text += wrapped(fmt::format("of {} copies that fail in runs, by both witnesses, {} "
                                "fail there too",
                                runs.asked_both, runs.fail_both),
                    0, 2);
  text += wrapped(
      "in runs the worst case is looked for of what is expected and of ratings that "
      "come to a quarter of their limit; all else is judged in these copies only",
      0, 2);
  return text;
}

std::string certainty_text(const ToleranceResult& result) {
  std::string text;
  if (result.unsolved > 0)
    text += wrapped(
        fmt::format("{} copies have no solution and count as failing", result.unsolved),
        0, 2);
  for (const std::string& state : result.left_out)
    text += wrapped(
        fmt::format("state '{}' is left out: the witnesses do not agree on it", state),
        0, 2);
  if (result.again.asked > 0)
    text += wrapped(
        fmt::format("of {} failing copies judged once more as 'verify' does {} fail "
                    "there too; of {} by both witnesses {}",
                    result.again.asked, result.again.fail, result.again.asked_both,
                    result.again.fail_both),
        0, 2);
  return text;
}

}  // namespace

namespace {

/// What an expectation of a run is about: "time until 'rail' reaches 4.5 V".
std::string asked_in_run(const Circuit& circuit, const Gauge& gauge) {
  const Expectation& e = *gauge.expectation;
  const std::string subject = subject_of(circuit, e);
  if (e.reaches)
    return fmt::format("time until {} {} {}", subject,
                       e.reaches->rising ? "reaches" : "falls to",
                       figure_text(e.reaches->level, words_of(e.quantity).unit));
  if (e.stays)
    return fmt::format("{} {} of {}", gauge.lower ? "least" : "highest", gauge.quantity,
                       subject);
  if (e.figure == RunFigure::at)
    return fmt::format("{} of {} at {}", gauge.quantity, subject,
                       figure_text(e.at, Unit::second));
  if (e.figure == RunFigure::least)
    return fmt::format("least {} of {}", gauge.quantity, subject);
  return fmt::format("{} {} of {}", word_of(e.figure), gauge.quantity, subject);
}

}  // namespace

std::string gauge_name(const Circuit& circuit, const Gauge& gauge) {
  if (gauge.of == Gauge::Of::alike) {
    std::vector<std::string> names;
    for (const int part : gauge.parts)
      names.push_back(circuit.parts[static_cast<std::size_t>(part)].name);
    return fmt::format("ratio of {}", fmt::join(names, ", "));
  }
  if (gauge.expectation != nullptr && gauge.expectation->run >= 0)
    return asked_in_run(circuit, gauge);
  if (gauge.expectation != nullptr)
    return fmt::format("{} of {}", gauge.quantity,
                       subject_of(circuit, *gauge.expectation));
  if (gauge.net >= 0)
    return fmt::format("voltage of '{}'",
                       circuit.nets[static_cast<std::size_t>(gauge.net)].name);
  const Part& part = circuit.parts[static_cast<std::size_t>(gauge.part)];
  return gauge.pin < 0 ? fmt::format("{} of '{}'", gauge.quantity, part.name)
                       : fmt::format("{} of '{}.{}'", gauge.quantity, part.name,
                                     part.pins[static_cast<std::size_t>(gauge.pin)]);
}

std::string tolerance_text(const ToleranceReport& report, bool colour, bool spreads) {
  const Circuit& circuit = *report.file.circuit;
  const ToleranceResult& result = report.result;
  std::string text = title_lines(circuit.title, colour);
  text += wrapped(
      fmt::format("{}: {} copies of {}; {}", version_name(report.file), result.copies,
                  counted(result.states.size(), "state"), origins_text(result)),
      0, 2);
  const bool is_good =
      result.works == result.copies && result.runs.works_in_all == result.runs.copies;
  std::string head = wrapped(headline(report), 0, 2);
  head.pop_back();
  text += inked(head, is_good ? Ink::strong : Ink::caution, colour) + "\n";
  text += certainty_text(result);
  text += runs_text(report);
  text += spoilers_text(report);
  text += helps_text(report);
  for (const StateTolerance& state : result.states)
    text += figures_text(report, "state " + state.name, state.gauges, colour);
  for (const RunTolerance& run : result.runs.runs)
    text += figures_text(report, "run " + run.name, run.gauges, colour);
  if (spreads) text += spreads_text(report);
  return text;
}

}  // namespace benchproof
