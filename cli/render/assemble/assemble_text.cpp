#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "cli/render/assemble/assemble_report.h"
#include "cli/render/board/board_report.h"
#include "cli/render/layout.h"
#include "cli/render/verify/findings_text.h"
#include "cli/render/verify/verdict_text.h"
#include "core/assemble/fitting.h"
#include "core/base/diagnostic.h"
#include "core/base/quantity.h"
#include "core/board/places/islands.h"
#include "core/catalogue/kind.h"
#include "core/circuit/topology.h"
#include "core/shape/shape.h"

namespace benchproof {
namespace {

constexpr std::string_view kBox = "[ ] ";
constexpr std::size_t kStepWordAt = 6;
constexpr std::size_t kStepTextAt = 13;

/// Writes the sheet: what it needs at every line, held once.
class SheetLines {
 public:
  SheetLines(const AssembleReport& report, const AssembleTextOptions& options)
      : circuit_(*report.file.circuit),
        assembly_(report.assembly),
        report_(report),
        options_(options) {}

  std::string text() {
    std::string text = head();
    text += colours();
    text += "\n" + strong("Before you begin") + "\n";
    for (const std::string& caution : general_cautions())
      text += wrapped(box() + caution, 2, 2 + box().size());
    if (assembly_.board != nullptr) text += board_work();
    std::size_t step = 0;
    for (std::size_t k = 0; k < assembly_.order.stages.size(); ++k) {
      text += "\n" +
              strong(fmt::format("Stage {}: {}", k + 1,
                                 stage_name(circuit_, assembly_.order.stages[k]))) +
              "\n";
      text += opening(k);
      for (; step < assembly_.steps.size() && assembly_.steps[step].stage == k; ++step)
        text += step_text(step);
      text += checks(k);
    }
    return text + foot();
  }

 private:
  [[nodiscard]] std::string box() const {
    return options_.boxes ? std::string(kBox) : "";
  }
  [[nodiscard]] std::string strong(const std::string& text) const {
    std::string lines = wrapped(plain_text(text), 0, 2);
    if (!lines.empty()) lines.pop_back();
    return inked(lines, Ink::strong, options_.colour);
  }
  [[nodiscard]] std::string name(int part) const { return circuit_.parts[part].name; }
  [[nodiscard]] std::string net(int n) const {
    return fmt::format("'{}'", circuit_.nets[n].name);
  }
  [[nodiscard]] std::string pin(PinRef p) const {
    return fmt::format("{}.{}", name(p.part), circuit_.parts[p.part].pins[p.pin]);
  }
  [[nodiscard]] std::string names(const std::vector<int>& parts) const {
    std::vector<std::string> list;
    for (const int part : parts) list.push_back(fmt::format("'{}'", name(part)));
    return fmt::format("{}", fmt::join(list, ", "));
  }

  std::string head() const {
    std::string text = title_lines(circuit_.title, options_.colour);
    text += wrapped(fmt::format("{}: {} to place in {}", version_name(report_.file),
                                counted(assembly_.steps.size(), "part"),
                                counted(assembly_.order.stages.size(), "stage")),
                    0, 2);
    const Verdict verdict = report_.file.verification.verdict;
    std::string line = wrapped("verdict: " + verdict_words(verdict), 0, 9);
    line.replace(0, 8, inked("verdict:", verdict_ink(verdict), options_.colour));
    return text + line + board_text();
  }

  /// Which board it is, and what stands against it.
  [[nodiscard]] std::string board_text() const {
    if (assembly_.board == nullptr) return {};
    const Board& board = *assembly_.board;
    std::string text = wrapped(
        fmt::format("board{}: {}, {} by {} holes; rows are letters from the north, "
                    "columns numbers from the west, seen from the parts' side",
                    board.name.empty() ? "" : " '" + board.name + "'",
                    board_kind_word(board.kind), board.columns, board.rows),
        0, 2);
    for (const Finding& finding : report_.board_findings)
      if (finding.severity == Severity::fault)
        text += wrapped(
            fmt::format("fault: {}; mend the board first", plain_text(finding.message)),
            2, 4);
    return text;
  }

  /// What is done to the bare board: its size, its corner, its cuts.
  [[nodiscard]] std::string board_work() const {
    const Board& board = *assembly_.board;
    const auto line = [this](const std::string& words) {
      return wrapped(box() + words, 2, 2 + box().size());
    };
    std::string text = "\n" + strong("The bare board") + "\n";
    text += line(fmt::format(
        "cut it to {} by {} holes ({:.0f} by {:.0f} mm), break its edges; glasses on, "
        "and do not breathe the dust",
        board.columns, board.rows, board.columns * kPitch * 1e3,
        pitches_deep(board) * kPitch * 1e3));
    text += line(
        fmt::format("mark the corner of hole {} on both sides: turned over, columns "
                    "count from the right",
                    hole_name(board, {0, 0})));
    if (board.cuts.empty()) return text;
    text += line(fmt::format("take the copper away all round the hole at {}",
                             fmt::join(cut_names(board), ", ")));
    text += line("ohms across each cut, from hole to hole beside it: none");
    return text;
  }

  [[nodiscard]] std::string verdict_words(Verdict verdict) const {
    std::size_t cautions = 0;
    std::size_t faults = 0;
    for (const StateResult& state : report_.file.verification.states) {
      cautions += count_of(state.findings, Severity::caution);
      faults += count_of(state.findings, Severity::fault);
    }
    switch (verdict) {
      case Verdict::good:
        return "good";
      case Verdict::caution:
        return fmt::format("good, with care - {} to read with 'benchproof verify'",
                           counted(cautions, "caution"));
      case Verdict::fault:
        return fmt::format(
            "fault - {}; do not build it before 'benchproof verify' finds none",
            counted(faults, "fault"));
      case Verdict::disagreement:
      case Verdict::engine_failed:
      case Verdict::nodal_failed:
        break;
    }
    return "withheld - not every state has an answer of both witnesses; what is told "
           "here is the order alone where readings are missing";
  }

  /// Which net has which colour, nets of one colour together.
  [[nodiscard]] std::string colours() const {
    std::vector<std::string> known;
    for (const std::string& colour : assembly_.colours)
      if (std::find(known.begin(), known.end(), colour) == known.end())
        known.push_back(colour);
    std::vector<TableRow> rows;
    for (const std::string& colour : known) {
      TableRow row{{colour}};
      for (std::size_t n = 0; n < assembly_.colours.size(); ++n)
        if (assembly_.colours[n] == colour) row.tail.push_back(circuit_.nets[n].name);
      rows.push_back(std::move(row));
    }
    return "\n" + strong("Wires, on the breadboard and on the board") + "\n" +
           table(rows, "l", 2);
  }

  [[nodiscard]] std::string opening(std::size_t k) const {
    const BuildStage& stage = assembly_.order.stages[k];
    if (stage.sort == StageSort::chip)
      return wrapped(
          fmt::format("{}Everything unplugged, and capacitors empty: put '{}' into its "
                      "socket, its dot or notch at the socket's notch.",
                      box(), name(stage.about)),
          2, 2 + box().size());
    std::vector<int> chips;
    for (std::size_t s = 0; s < k; ++s)
      if (assembly_.order.stages[s].sort == StageSort::chip)
        chips.push_back(assembly_.order.stages[s].about);
    if (chips.empty()) return {};
    return wrapped(fmt::format("{}Everything unplugged, and {} out of {} socket{}, "
                               "before the iron touches the board.",
                               box(), names(chips), chips.size() == 1 ? "its" : "their",
                               chips.size() == 1 ? "" : "s"),
                   2, 2 + box().size());
  }

  [[nodiscard]] std::string row(std::string_view word, const std::string& text) const {
    std::string lines = wrapped(plain_text(text), kStepTextAt + box().size(),
                                kStepTextAt + box().size());
    if (!lines.empty()) lines.replace(kStepWordAt + box().size(), word.size(), word);
    return lines;
  }

  [[nodiscard]] std::string step_text(std::size_t index) const {
    const BuildStep& step = assembly_.steps[index];
    const Part& part = circuit_.parts[step.part];
    std::string what = fmt::format("{}{}", kind(part.kind).name,
                                   step.what.empty() ? "" : ": " + step.what);
    if (part.kind == KindId::controller) what = "socket, for " + what;
    if (!part.label.empty()) what += fmt::format(" ({})", part.label);
    std::string text = wrapped(
        plain_text(fmt::format("{}{}. {} - {}", box(), index + 1, part.name, what)), 2,
        kStepWordAt + box().size());
    if (!step.seen.empty()) text += row("look", step.seen);
    if (step.metres > 0.0)
      text += row("cut",
                  fmt::format("{} of it", format_quantity(step.metres, Unit::metre)));
    if (assembly_.board != nullptr) text += holes_text(step);
    for (const BuildJoin& join : step.joins) {
      if (assembly_.board != nullptr && step.board.holes[join.pin]) continue;
      const std::string& pin_name = part.pins[join.pin];
      if (join.net < 0) {
        text += row("join", fmt::format("{} stays open", pin_name));
        continue;
      }
      const std::string to =
          join.to.part < 0 ? "the first there" : "at " + pin(join.to);
      text += row("join", fmt::format("{} to {}, {}; {}", pin_name, net(join.net), to,
                                      join.colour));
    }
    for (const int join : step.board.joins) text += join_text(join);
    if (!step.mark.empty()) text += row("mark", step.mark);
    if (has_wires_alike(step))
      text += row("care", "its wires have one colour: tie a knot into the one of its " +
                              part.pins.back());
    for (const std::string& caution : step.cautions) text += row("care", caution);
    return text;
  }

  /// Whether two wires of a part beside the board, which must not be exchanged, look
  /// the same.
  [[nodiscard]] bool has_wires_alike(const BuildStep& step) const {
    return assembly_.board != nullptr && step.board.is_off && !step.mark.empty() &&
           step.joins.size() == 2 && step.joins[0].colour == step.joins[1].colour;
  }

  /// What shows to which side a part faces.
  [[nodiscard]] std::string_view front_of(const Part& part) const {
    switch (part.kind) {
      case KindId::diode:
      case KindId::zener:
        return "band";
      case KindId::capacitor:
        return "stripe";
      case KindId::led:
        return "flat";
      case KindId::controller:
        return "notch";
      case KindId::transistor:
      case KindId::mosfet:
      case KindId::regulator:
        return "printed side";
      default:
        return "front";
    }
  }

  /// "anode in B2, cathode in B6; its front to the east".
  [[nodiscard]] std::string holes_text(const BuildStep& step) const {
    const Part& part = circuit_.parts[step.part];
    std::vector<std::string> pins;
    for (const BuildJoin& join : step.joins)
      if (const auto hole = step.board.holes[join.pin])
        pins.push_back(fmt::format(
            "{} in {}{}", part.pins[join.pin], hole_name(*assembly_.board, *hole),
            step.board.is_off && join.net >= 0 ? ", " + join.colour : ""));
    if (pins.empty()) return {};
    std::string text = fmt::format("{}", fmt::join(pins, "; "));
    if (step.board.is_off) return row("wire", text + "; it stands off the board");
    if (step.board.faces && !step.mark.empty())
      text += fmt::format("; its {} to the {}", front_of(part),
                          side_word(*step.board.faces));
    if (step.board.is_flat) text += "; bent onto its back";
    if (step.board.is_upright) text += "; upright, its leads side by side";
    return row("hole", text);
  }

  [[nodiscard]] std::string join_text(int index) const {
    const Board& board = *assembly_.board;
    const Join& join = board.joins[index];
    const std::string colour = colour_of_join(report_, join);
    std::string text =
        fmt::format("{} to {}", hole_name(board, join.from), hole_name(board, join.to));
    if (join.kind == JoinKind::bridge) return row("solder", text + " along the copper");
    text += fmt::format(", {} from hole to hole",
                        figure_text(length_of(board, join), Unit::metre));
    if (!colour.empty()) text += "; " + colour;
    return row(join.kind == JoinKind::wire ? "wire" : "jumper", text);
  }

  [[nodiscard]] std::string band_text(const StageCheck& check) const {
    const Unit unit = check.asks == StageCheck::Asks::voltage ? Unit::volt : Unit::ohm;
    if (!check.most && check.least > sheets_meter().most_ohms / 2)
      return fmt::format("none: beyond {}", figure_text(*check.least, unit));
    if (!check.most)
      return fmt::format("{} or more, or none at all",
                         figure_text(check.least.value_or(0.0), unit));
    return fmt::format("{} to {}{}", figure_text(check.least.value_or(0.0), unit),
                       figure_text(*check.most, unit),
                       check.is_average ? ", in the average" : "");
  }

  [[nodiscard]] std::string check_rows(const std::vector<StageCheck>& checks) const {
    std::vector<TableRow> rows;
    for (const StageCheck& check : checks) {
      TableRow row;
      if (check.asks == StageCheck::Asks::looks)
        row = {{box() + name(check.part)}, {looks_text(check)}};
      else
        row = {{box() + net(check.net)}, {band_text(check)}};
      if (options_.boxes && check.asks != StageCheck::Asks::looks)
        row.tail.emplace_back("read: ________");
      rows.push_back(std::move(row));
    }
    return table(rows, "l", 4);
  }

  [[nodiscard]] std::string looks_text(const StageCheck& check) const {
    if (check.looks != "as meant") return check.looks;
    return circuit_.parts[check.part].kind == KindId::led ? "lights" : "glows";
  }

  [[nodiscard]] std::string checks(std::size_t k) const {
    const StageChecks& checks = assembly_.checks[k];
    std::string text;
    if (!checks.off.empty()) {
      const std::vector<int>& out = checks.off.front().out;
      text += wrapped(
          fmt::format("Power off, nothing plugged in{}: ohms to ground.{}",
                      out.empty() ? "" : ", " + names(out) + " out",
                      k > 0 ? ""
                            : " The reading may climb while capacitors fill. Near 0 is "
                              "a short: find it before anything is plugged in."),
          2, 4);
      text += check_rows(checks.off);
    }
    if (!checks.not_powered.empty())
      return text +
             wrapped(fmt::format("Plug nothing in yet: {}.", checks.not_powered), 2, 4);
    if (checks.on.empty()) return text;
    text += wrapped(power_text(checks), 2, 4);
    text += check_rows(checks.on);
    return text + wrapped(box() + "Unplug. Another reading: stop and find out why.", 2,
                          2 + box().size());
  }

  [[nodiscard]] std::string power_text(const StageChecks& checks) const {
    const State& state = circuit_.states[checks.state];
    std::vector<std::string> plugs;
    for (const int source : checks.sources) {
      const Part part = part_in(circuit_, state, source);
      if (part.kind == KindId::battery)
        plugs.push_back(fmt::format("put the cells of '{}' in", part.name));
      else if (part.kind == KindId::current_source)
        plugs.push_back(fmt::format("switch '{}' on", part.name));
      else
        plugs.push_back(fmt::format(
            "plug in '{}', {}", part.name,
            figure_text(number_of(part, "voltage").value_or(0.0), Unit::volt)));
    }
    std::string text = fmt::format("Now {}", fmt::join(plugs, "; "));
    for (const int part : checks.closed)
      text += fmt::format("; close '{}'", name(part));
    for (const auto& [target, setting] : state.settings) {
      const auto& [part, key] = target;
      const Part& of = circuit_.parts[part];
      const auto* value = std::get_if<double>(&setting.value);
      const Key* rule = find_key(kind(of.kind), key);
      const bool is_there =
          std::any_of(assembly_.steps.begin(), assembly_.steps.end(),
                      [index = part](const BuildStep& s) { return s.part == index; });
      if (value == nullptr || rule == nullptr || is_source(of.kind) || !is_there)
        continue;
      text += fmt::format("; '{}' at {} {}", of.name, key,
                          rule->unit == Unit::none ? shortest(*value)
                                                   : figure_text(*value, rule->unit));
    }
    if (circuit_.states.size() > 1) text += fmt::format("; state '{}'", state.name);
    if (!checks.out.empty())
      text += fmt::format("; {} {} not in yet", names(checks.out),
                          checks.out.size() == 1 ? "is" : "are");
    return text + ": volts to ground.";
  }

  [[nodiscard]] std::string foot() const {
    return "\n" +
           wrapped(
               fmt::format(
                   "Readings are what both witnesses compute of the circuit as far as "
                   "it "
                   "is built, over all its parts' spreads, and a hand-held meter of {} "
                   "% "
                   "and {:.0f} digits, 10 Mohm on volts. Colours, marks and cautions: "
                   "common practice, no source.",
                   shortest(kMeterShare * 100), kMeterDigits),
               0, 0);
  }

  const Circuit& circuit_;
  const Assembly& assembly_;
  const AssembleReport& report_;
  const AssembleTextOptions& options_;
};

}  // namespace

std::string assemble_text(const AssembleReport& report,
                          const AssembleTextOptions& options) {
  return SheetLines(report, options).text();
}

}  // namespace benchproof
