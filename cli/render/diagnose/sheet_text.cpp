#include <fmt/format.h>

#include <algorithm>

#include "cli/render/diagnose/diagnosis_report.h"
#include "cli/render/layout.h"
#include "cli/render/verify/findings_text.h"

namespace benchproof {
namespace {

/// Faults that a reading points to are told up to so many; the heaviest come first.
constexpr std::size_t kMostPointed = 3;

std::string boxed_line(const SheetLine& line) {
  constexpr std::size_t kAskedWidth = 38;
  constexpr std::size_t kShownWidth = 24;
  const std::string asked = asked_words(line.question);
  const std::string shown = must_show_text(line);
  const std::string box = "[          ]";
  if (columns_of(asked) <= kAskedWidth && columns_of(shown) <= kShownWidth)
    return "  " + padded(asked, kAskedWidth + 1) + padded(shown, kShownWidth + 1) +
           box + "\n";
  return wrapped(asked, 2, 4) + "    " + padded(shown, kAskedWidth + kShownWidth) +
         box + "\n";
}

std::string told_line(const Sheet& sheet, const SheetLine& line) {
  std::string text =
      wrapped(fmt::format("{} {}: {}", line.is_worth_taking ? "*" : " ",
                          asked_words(line.question), must_show_text(line)),
              0, 4);
  const std::string pointed = pointed_text(sheet, line);
  if (line.is_worth_taking && !pointed.empty())
    text += wrapped("else: " + pointed, 6, 8);
  return text;
}

std::string alike_text(const Sheet& sheet) {
  constexpr std::size_t kMostSets = 6;
  constexpr std::size_t kMostOfSet = 4;
  std::string text;
  for (std::size_t k = 0; k < std::min(sheet.alike.size(), kMostSets); ++k) {
    const std::vector<int>& alike = sheet.alike[k];
    std::string line;
    for (std::size_t f = 0; f < std::min(alike.size(), kMostOfSet); ++f)
      line +=
          (line.empty() ? "" : "; ") +
          (alike[f] < 0
               ? std::string("as meant")
               : plain_text(sheet.faults[static_cast<std::size_t>(alike[f])].words));
    if (alike.size() > kMostOfSet)
      line += fmt::format("; {} more", alike.size() - kMostOfSet);
    text += wrapped("- " + line, 2, 4);
  }
  if (sheet.alike.size() > kMostSets)
    text += fmt::format("  and {} sets more (--json has all)\n",
                        sheet.alike.size() - kMostSets);
  return text.empty() ? text : "\nWhat no reading of this sheet tells apart:\n" + text;
}

}  // namespace

bool is_usual(const SheetLine& line) {
  const bool is_shown =
      line.question.asks == Asks::voltage || line.question.asks == Asks::looks;
  return line.is_worth_taking || (line.question.powered && is_shown);
}

std::string must_show_text(const SheetLine& line) {
  if (line.question.asks == Asks::looks) {
    // A lamp that is meant to be dark is dark.
    return std::string(word_of(line.looks));
  }
  if (line.is_open) return "open";
  if (!line.least || !line.most) return "cannot be told";
  return fmt::format("{} to {}", shown_text(line.question.asks, *line.least),
                     shown_text(line.question.asks, *line.most));
}

std::string pointed_text(const Sheet& sheet, const SheetLine& line) {
  std::vector<std::size_t> faults = line.points_to;
  std::stable_sort(faults.begin(), faults.end(),
                   [&sheet](std::size_t a, std::size_t b) {
                     return sheet.faults[a].weight > sheet.faults[b].weight;
                   });
  std::string text;
  for (std::size_t k = 0; k < std::min(faults.size(), kMostPointed); ++k)
    text += (text.empty() ? "" : "; ") + plain_text(sheet.faults[faults[k]].words);
  if (faults.size() > kMostPointed)
    text += fmt::format("; {} more", faults.size() - kMostPointed);
  return text;
}

/// What to do before the readings of a condition.
std::string condition_heading(const Question& question) {
  if (!question.powered)
    return question.out.empty()
               ? "Before power: supplies unplugged, cells out, switches open"
               : "Before power, out of their sockets: " + [&] {
                   std::string names;
                   for (const std::string& part : question.out)
                     names += (names.empty() ? "" : ", ") + part;
                   return names;
                 }();
  if (!question.out.empty()) {
    std::string names;
    for (const std::string& part : question.out)
      names += (names.empty() ? "" : ", ") + part;
    return fmt::format("Plugged in, state '{}', still out of their sockets: {}",
                       question.state, names);
  }
  return fmt::format("State '{}'", question.state);
}

std::string sheet_text(const SheetReport& report, bool boxes, bool colour) {
  const Sheet& sheet = report.sheet;
  std::string text = title_lines(report.file.circuit->title, colour);
  text += wrapped(fmt::format("{}: {}, meter '{}'", version_name(report.file),
                              counted(report.lines.size(), "reading"),
                              plain_text(report.meter.name)),
                  0, 2);
  if (report.excluded > 0.0)
    text += wrapped(fmt::format("if all are right, {} % of the usual mistakes are "
                                "excluded, by their weight",
                                hundredths(report.excluded)),
                    0, 2);
  else if (!boxes)
    text +=
        wrapped(fmt::format("{} faults are looked for; readings tell {} cases apart, "
                            "those marked * as many as all together",
                            sheet.faults.size(), sheet.classes),
                0, 2);
  std::string heading;
  for (const std::size_t k : report.lines) {
    const SheetLine& line = sheet.lines[k];
    const std::string here = condition_heading(line.question);
    if (here != heading) text += "\n" + inked(wrapped(here, 0, 2), Ink::strong, colour);
    heading = here;
    text += boxes ? boxed_line(line) : told_line(sheet, line);
  }
  if (!boxes && report.excluded == 0.0) text += alike_text(sheet);
  return text + "\n" + measuring_cautions();
}

std::string sheet_toml(const SheetReport& report, const std::string& meter_name) {
  const std::string& file = report.file.file;
  std::string text =
      "# Fill in what the meter shows; what stays empty counts as not measured.\n"
      "# Readings in order; each comment tells what a sound copy shows.\n";
  text += fmt::format("circuit = \"{}\"\n", file.substr(file.find_last_of('/') + 1));
  if (!meter_name.empty()) text += fmt::format("meter = \"{}\"\n", meter_name);
  for (const std::size_t k : report.lines) {
    const SheetLine& line = report.sheet.lines[k];
    TakenReading blank;
    blank.question = line.question;
    text += fmt::format("\n# {}\n", must_show_text(line)) + reading_text(blank, true);
  }
  return text;
}

}  // namespace benchproof
