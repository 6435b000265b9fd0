#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "cli/render/diagram/diagram_svg.h"
#include "cli/render/page/page_report.h"
#include "cli/render/tolerance/tolerance_report.h"
#include "cli/render/verify/findings_text.h"
#include "cli/render/verify/state_text.h"
#include "cli/render/verify/text.h"
#include "cli/render/verify/verdict_text.h"
#include "core/base/diagnostic.h"
#include "core/catalogue/kind.h"
#include "core/check/finding/told.h"
#include "core/check/finding/wording.h"

namespace benchproof {
namespace {

std::string page_volts(const StateResult& state, std::size_t net) {
  constexpr double kLeast = 0.5e-3;
  const double volts = state.nodal.net_volts.at(net);
  if (floats(state, net)) return "floating";
  return std::abs(volts) < kLeast ? "0 V" : figure_text(volts, Unit::volt, 4);
}

/// The current of a part as one tells it: of a source what it delivers, of a part of
/// two pins what flows through it; of others there is none.
std::optional<double> told_amps(const Part& part, const std::vector<double>& amps) {
  if (part.pins.size() != 2) return std::nullopt;
  return is_source(part.kind) ? -amps.at(0) : amps.at(0);
}

std::string part_link(std::string_view name) { return fmt::format("part-{}", name); }

/// One finding with the places in the diagram that it is about.
std::string finding_item(std::string_view id, std::string_view number,
                         Severity severity, std::string_view words,
                         std::string_view check, const std::vector<std::string>& where,
                         const std::vector<std::string>& parts) {
  std::string text = fmt::format(
      "<li class=\"{}-item\"{}>{}<strong class=\"{}\">{}</strong>: {} ",
      severity_word(severity),
      id.empty() ? "" : fmt::format(" id=\"{}\" tabindex=\"-1\"", id),
      number.empty() ? "" : fmt::format("<span class=\"number\">{}</span>", number),
      severity == Severity::note ? "soft" : severity_word(severity),
      severity_word(severity), markup_text(words));
  text += fmt::format("<span class=\"soft\">({}; {})",
                      markup_text(fmt::format("{}", fmt::join(where, ", "))), check);
  for (const std::string& part : parts)
    text += fmt::format(" <a href=\"#{}\">{}</a>", part_link(part), part);
  return text + "</span></li>\n";
}

/// The numbered findings of all states, each once with the states that have it.
std::string numbered_items(const Circuit& circuit, const DiagramPicture& picture) {
  std::map<std::size_t, std::pair<const NumberedFinding*, std::vector<std::string>>>
      all;
  for (const StateWords& state : picture.states)
    for (const NumberedFinding& finding : state.findings) {
      auto& entry = all[finding.number];
      if (entry.first == nullptr || finding.severity > entry.first->severity)
        entry.first = &finding;
      entry.second.push_back(state.name);
    }
  std::string text;
  for (const Severity severity : {Severity::fault, Severity::caution})
    for (const auto& [number, entry] : all) {
      const auto& [finding, states] = entry;
      if (finding->severity != severity) continue;
      std::vector<std::string> parts;
      for (const int part : finding->parts) parts.push_back(circuit.parts[part].name);
      text += finding_item(fmt::format("finding-{}", number), std::to_string(number),
                           severity, finding->words, finding->check, states, parts);
    }
  return text;
}

/// What is told of runs, and notes: without a number in the diagram.
std::string other_items(const FileReport& file) {
  std::vector<FindingsAt> runs;
  for (const RunResult& run : file.runs)
    runs.push_back({fmt::format("run {}", run.name), run.findings});
  std::vector<FindingsAt> states;
  for (const StateResult& state : file.verification.states)
    states.push_back({state.name, state.findings});
  std::string text;
  const auto add = [&](const Told& told) {
    const Finding& first = worst(told);
    std::vector<std::string> parts;
    for (const ToldSubject& subject : told.subjects)
      if (!subject.worst->part.empty()) parts.push_back(subject.worst->part);
    text += finding_item("", "", first.severity, plain_text(first.message), first.check,
                         {told.places.begin(), told.places.end()}, parts);
  };
  for (const Told& told : told_together(runs)) add(told);
  for (const Told& told : told_together(states))
    if (worst(told).severity == Severity::note) add(told);
  return text;
}

std::string joined_names(const Circuit& circuit, const std::vector<int>& parts) {
  std::vector<std::string> names;
  for (const int part : parts) names.push_back(circuit.parts.at(part).name);
  return fmt::format("{}", fmt::join(names, ", "));
}

}  // namespace

std::string findings_html(const PageReport& report, const DiagramPicture& picture) {
  std::string text;
  if (report.file.one_mistake)
    text += fmt::format(
        "<p><strong>{}</strong></p>\n",
        markup_text(plain_text(
            report.file.one_mistake->causes.size() == 1
                ? "One mistake explains this: " +
                      report.file.one_mistake->causes.front().mistake + "; " +
                      report.file.one_mistake->causes.front().remedy +
                      ", and no fault is left"
                : "One mistake explains this; 'benchproof verify' names which it may "
                  "be")));
  if (const std::string failures = failures_text(report.file); !failures.empty())
    text += fmt::format("<p>{}</p>\n", markup_text(failures));
  const std::string items =
      numbered_items(*report.file.circuit, picture) + other_items(report.file);
  if (items.empty()) return text + "<p>Nothing was found.</p>\n";
  return text + "<ul class=\"findings\">\n" + items + "</ul>\n";
}

std::string diagram_html(const PageReport& report, const DiagramPicture& picture) {
  std::string text;
  if (picture.states.size() > 1) {
    text += "<fieldset><legend>State</legend>\n";
    for (std::size_t k = 0; k < picture.states.size(); ++k)
      text += fmt::format(
          "<label><input type=\"radio\" name=\"state\" value=\"{}\"{}> {}</label>\n", k,
          k == 0 ? " checked" : "", picture.states[k].name);
    text += "</fieldset>\n";
  }
  for (std::size_t k = 0; k < picture.states.size(); ++k)
    text += fmt::format(
        "<p class=\"in-state{}\" data-state=\"{}\">In state {}{}</p>\n",
        k == 0 ? "" : " off", k, picture.states[k].name,
        picture.states[k].is_known
            ? ": voltages at nets, currents at parts, filled what is lit; numbers are "
              "findings."
            : ": the solvers have no answer, and no figures are shown.");
  std::string svg = diagram_in_page(report.file, picture);
  svg.insert(svg.find(" viewBox"),
             fmt::format(" style=\"--own-width: {:.0f}px\"", picture.diagram.width));
  text +=
      "<p class=\"tools screen-only\"><button type=\"button\" id=\"full-size\" "
      "aria-pressed=\"false\">Diagram in full size</button></p>\n";
  return text +
         "<div class=\"scroll\" tabindex=\"0\" role=\"group\" "
         "aria-label=\"Circuit diagram\">\n" +
         svg + "</div>\n";
}

std::string list_html(const PageReport& report) {
  std::vector<std::vector<PageCell>> rows;
  for (const OrderLine& line : report.list.lines) {
    std::vector<std::string> needs;
    for (const LeastRating& r : line.ratings)
      if (r.load > 1e-6)
        needs.push_back(fmt::format("{} {} or more", r.quantity,
                                    r.is_graded && r.sold
                                        ? shop_text(*r.sold, r.unit)
                                        : figure_text(r.least, r.unit)));
    std::vector<std::string> notes(line.notes.begin(), line.notes.end());
    if (line.value && !line.value->bands.empty())
      notes.insert(notes.begin(),
                   fmt::format("bands {}", fmt::join(line.value->bands, " ")));
    rows.push_back({{std::string(kind(line.kind).name), {}},
                    {line.kind == KindId::wire ? shop_text(line.metres, Unit::metre)
                                               : std::to_string(line.pieces),
                     static_cast<double>(line.pieces)},
                    {plain_text(line.what), {}},
                    {joined_names(*report.file.circuit, line.parts), {}},
                    {plain_text(fmt::format("{}", fmt::join(needs, "; "))), {}},
                    {plain_text(fmt::format("{}", fmt::join(notes, "; "))), {}}});
  }
  std::string text;
  if (verdict_of(report.file) > Verdict::caution)
    text +=
        "<p class=\"fault\"><strong>Buy nothing before the faults are mended."
        "</strong></p>\n";
  return text + page_table("Parts to buy, with the least ratings that do",
                           {"kind", "pieces", "what", "for", "needs", "notes"},
                           "lrllll", rows);
}

std::string voltages_html(const PageReport& report) {
  const Circuit& circuit = *report.file.circuit;
  std::vector<std::string> head = {"net"};
  std::string figures = "l";
  for (const StateResult& state : report.file.verification.states) {
    head.push_back(state.name);
    figures += 'r';
  }
  if (head.size() == 1) return {};
  std::vector<std::vector<PageCell>> rows;
  for (std::size_t net = 1; net < circuit.nets.size(); ++net) {
    std::vector<PageCell> row = {{circuit.nets[net].name, {}}};
    for (const StateResult& state : report.file.verification.states)
      row.push_back(
          state.agrees ? PageCell{page_volts(state, net), state.nodal.net_volts.at(net)}
                       : PageCell{"?", {}});
    rows.push_back(std::move(row));
  }
  return page_table("What a meter shows in each state, under PWM on average", head,
                    figures, rows);
}

std::string parts_html(const PageReport& report) {
  std::string text;
  for (const StateResult& state : report.file.verification.states) {
    if (!state.agrees) continue;
    std::vector<std::vector<PageCell>> rows;
    for (std::size_t k = 0; k < state.parts.size(); ++k) {
      const Part& part = state.parts[k];
      const std::vector<double>& amps = state.nodal.pin_amps.at(k);
      const auto current = told_amps(part, amps);
      std::vector<std::string> pins;
      if (!current)
        for (std::size_t pin = 0; pin < part.pins.size(); ++pin)
          if (std::abs(amps.at(pin)) > 1e-9)
            pins.push_back(fmt::format("{} {}", part.pins[pin],
                                       cell_text(amps[pin], Unit::ampere)));
      const double watts = state.nodal.part_watts.at(k);
      rows.push_back(
          {{part.name, {}, part_link(part.name)},
           {fmt::format("{} {}", kind(part.kind).name, value_words(part)), {}},
           {current ? cell_text(*current, Unit::ampere)
                    : fmt::format("{}", fmt::join(pins, ", ")),
            current ? current : std::optional<double>()},
           {cell_text(std::abs(watts), Unit::watt), std::abs(watts)}});
    }
    text += page_table(fmt::format("State {}: currents (of a source what it delivers, "
                                   "of parts of more pins into each) and powers",
                                   state.name),
                       {"part", "what", "current", "power"}, "llrr", rows);
  }
  return text;
}

std::string expectations_html(const PageReport& report) {
  const Circuit& circuit = *report.file.circuit;
  std::vector<std::vector<PageCell>> rows;
  const auto bounds = [](const Expectation& e, Unit unit) {
    if (e.least && e.most)
      return figure_text(*e.least, unit) + " to " + figure_text(*e.most, unit);
    if (e.least) return "at least " + figure_text(*e.least, unit);
    return e.most ? "at most " + figure_text(*e.most, unit) : std::string();
  };
  for (const StateResult& state : report.file.verification.states)
    for (const ExpectationResult& result : state.expectations) {
      const Expectation& e = *result.expectation;
      const QuantityWords words = words_of(e.quantity);
      rows.push_back(
          {{fmt::format("{} of {}", words.quantity, subject_of(circuit, e)), {}},
           {state.name, {}},
           {bounds(e, words.unit), {}},
           {cell_text(result.nodal, words.unit), result.nodal},
           {result.holds ? "holds" : "FAILS", {}},
           {e.why, {}}});
    }
  for (const RunResult& run : report.file.runs)
    for (const RunExpectationResult& result : run.expectations) {
      const Expectation& e = *result.expectation;
      const QuantityWords words = words_of(e.quantity);
      const std::string limits = e.reaches || e.stays
                                     ? demand_text(e)
                                     : demand_text(e) + " " + bounds(e, words.unit);
      rows.push_back(
          {{fmt::format("{} of {}", words.quantity, subject_of(circuit, e)), {}},
           {"run " + run.name, {}},
           {limits, {}},
           {measure_text(e, result.nodal), {}},
           {result.holds ? "holds" : "FAILS", {}},
           {e.why, {}}});
    }
  if (rows.empty()) return {};
  return page_table("What the description asks for, and what was found",
                    {"what", "where", "asked", "found", "result", "why"}, "lllrll",
                    rows);
}

std::string spread_html(const PageReport& report) {
  if (!report.spread || report.spread->copies == 0) return {};
  const ToleranceResult& result = *report.spread;
  const Circuit& circuit = *report.file.circuit;
  std::string text = fmt::format(
      "<p>Of {} copies with parts as they are sold {} % work in all states (between "
      "{} % and {} % of all there may be).{}</p>\n",
      result.copies, hundredths(result.yield.share), hundredths(result.yield.least),
      hundredths(result.yield.most),
      report.has_fewer_copies ? " They are fewer than usual, for there are many parts; "
                                "--copies asks for more."
                              : "");
  std::vector<std::vector<PageCell>> rows;
  for (const StateTolerance& state : result.states)
    for (const GaugeTolerance& gauge : state.gauges) {
      const bool is_bad = gauge.worst.least.fails || gauge.worst.most.fails;
      if (gauge.gauge.of == Gauge::Of::net || (!is_bad && gauge.copies.failed == 0))
        continue;
      const auto figure = [&](double value) {
        if (gauge.gauge.of == Gauge::Of::alike) return fmt::format("{:.2f}", value);
        return std::isfinite(value) ? cell_text(value, gauge.gauge.unit)
                                    : std::string("never");
      };
      const double fails = share_failing(gauge, result.copies);
      rows.push_back(
          {{gauge_name(circuit, gauge.gauge), {}},
           {state.name, {}},
           {figure(gauge.nominal), gauge.nominal},
           {figure(gauge.worst.least.value), gauge.worst.least.value},
           {figure(gauge.worst.most.value), gauge.worst.most.value},
           {fails > 0.0 ? hundredths(fails) + " %" : "worst copy only", fails}});
    }
  if (rows.empty())
    return text + "<p>Every figure keeps to its limits in the worst copy, too.</p>\n";
  return text +
         page_table("Figures that fail in some copies",
                    {"what", "state", "as described", "least", "most", "fails in"},
                    "llrrrr", rows);
}

std::string margins_html(const PageReport& report) {
  struct Worst {
    const Margin* margin = nullptr;
    const StateResult* state = nullptr;
    double share = 0.0;
  };
  std::map<std::pair<int, std::string>, Worst> worst_of;
  for (const StateResult& state : report.file.verification.states)
    for (const Margin& m : state.margins) {
      const auto share = margin(m);
      if (!share || !std::isfinite(*share)) continue;
      Worst& worst = worst_of[{m.part, std::string(m.check) + std::string(m.limit_of)}];
      if (worst.margin == nullptr || *share < worst.share) worst = {&m, &state, *share};
    }
  std::vector<Worst> all;
  for (const auto& [key, worst] : worst_of) all.push_back(worst);
  std::stable_sort(all.begin(), all.end(),
                   [](const Worst& a, const Worst& b) { return a.share < b.share; });
  // What has half of its limit left and more is counted, but for the first few.
  constexpr std::size_t kFewest = 8;
  constexpr double kPlenty = 0.5;
  std::vector<std::vector<PageCell>> rows;
  for (const Worst& worst : all) {
    if (rows.size() >= kFewest && worst.share >= kPlenty) break;
    const Margin& m = *worst.margin;
    const Part& part = report.file.circuit->parts.at(m.part);
    rows.push_back({{part.name, {}, part_link(part.name)},
                    {std::string(m.limit_of.empty() ? m.quantity : m.limit_of), {}},
                    {cell_text(m.value, m.unit), m.value},
                    {figure_text(m.limit, m.unit), m.limit},
                    {fmt::format("{:.0f} %", worst.share * 100.0), worst.share},
                    {worst.state->name, {}}});
  }
  if (rows.empty()) return {};
  std::string text =
      page_table("Each rating where it is used most, the nearest to its limit first",
                 {"part", "rating", "value", "limit", "left", "state"}, "llrrrl", rows);
  if (rows.size() < all.size())
    text += fmt::format("<p class=\"soft\">{} more, of which half is left.</p>\n",
                        all.size() - rows.size() == 1
                            ? std::string("1 rating")
                            : fmt::format("{} ratings", all.size() - rows.size()));
  return text;
}

std::string hand_html(const PageReport& report) {
  std::vector<std::vector<PageCell>> rows;
  const auto add = [&rows](const HandResult& hand, const std::string& where) {
    const auto off = deviation(hand);
    rows.push_back({{plain_text(hand.title), {}},
                    {where, {}},
                    {plain_text(hand.formula), {}},
                    {plain_text(hand.numbers), {}},
                    {hand.nodal ? cell_text(*hand.nodal, hand.unit) : "", hand.nodal},
                    {off ? fmt::format("{:+.1f} %", *off * 100.0) : "", off},
                    {plain_text(hand.neglects), {}},
                    {plain_text(hand.source), {}}});
  };
  for (const StateResult& state : report.file.verification.states)
    for (const HandResult& hand : state.by_hand) add(hand, state.name);
  for (const RunResult& run : report.file.runs)
    for (const HandResult& hand : run.by_hand) add(hand, "run " + run.name);
  if (rows.empty()) return {};
  return page_table("Handbook rules that fit, beside what the solvers found",
                    {"what", "where", "formula", "with numbers", "solved", "off by",
                     "leaves out", "source"},
                    "llllrrll", rows);
}

}  // namespace benchproof
