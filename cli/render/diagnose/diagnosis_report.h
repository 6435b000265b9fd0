#pragma once

#include <span>
#include <string>
#include <vector>

#include "cli/render/verify/report.h"
#include "core/circuit/readings/readings.h"
#include "core/diagnose/diagnosis.h"
#include "core/diagnose/sheet.h"

namespace benchproof {

/// Where and when a question is asked, as in "state 'night'" or "power off, 'chip'
/// out".
[[nodiscard]] std::string condition_words(const Question& question);

/// What is asked, as in "voltage of 'rail'" or "diode test, plus on 'raw', to 'inlet'".
[[nodiscard]] std::string asked_words(const Question& question);

/// A figure of a question, as in "4.98 V".
[[nodiscard]] std::string shown_text(Asks asks, double value);

/// What may be answered where looks are asked: "dark, dim, as meant ...".
[[nodiscard]] std::string looks_choices(const Circuit& circuit,
                                        const Question& question);

/// All that `diagnose` has to say.
struct DiagnosisReport {
  const FileReport& file;
  const Meter& meter;
  std::span<const TakenReading> readings;
  const Diagnosis& diagnosis;
};

/// For people: what may be wrong, by groups, with the remedies, and the next reading.
/// At most kLineWidth columns.
[[nodiscard]] std::string diagnosis_text(const DiagnosisReport& report, bool colour);

/// The leading groups in a few lines, for the questions of --ask.
[[nodiscard]] std::string diagnosis_so_far(const Diagnosis& diagnosis);

/// What a reading would show, as in "4.9 V to 5.1 V", "open", "dark".
[[nodiscard]] std::string would_show_text(Asks asks, const WouldShow& would);

[[nodiscard]] std::string diagnosis_json(const DiagnosisReport& report);

/// All that `readings` has to say: lines of a sheet, in order.
struct SheetReport {
  const FileReport& file;
  const Meter& meter;
  const Sheet& sheet;
  std::vector<std::size_t> lines;  ///< Those that are told.
  double excluded = 0.0;           ///< Of a short sheet: the share of mistakes; else 0.
};

/// Whether a line is told where nobody asks for few or all of them: what is worth
/// taking, and what every net and lamp must show under power.
[[nodiscard]] bool is_usual(const SheetLine& line);

/// What a line must show, as in "4.9 V to 5.1 V", "open", "dark".
[[nodiscard]] std::string must_show_text(const SheetLine& line);

/// The likeliest faults that a line points to where it shows something else.
[[nodiscard]] std::string pointed_text(const Sheet& sheet, const SheetLine& line);

/// What to do before the readings of a condition: "Before power: supplies unplugged".
[[nodiscard]] std::string condition_heading(const Question& question);

/// For people: what each reading must show; `boxes` to fill in on paper.
[[nodiscard]] std::string sheet_text(const SheetReport& report, bool boxes,
                                     bool colour);
[[nodiscard]] std::string sheet_json(const SheetReport& report);
[[nodiscard]] std::string sheet_csv(const SheetReport& report);

/// A readings file to be filled in; `meter_name` may be empty.
[[nodiscard]] std::string sheet_toml(const SheetReport& report,
                                     const std::string& meter_name);

/// What to mind while measuring: power, heat, charge, mains.
[[nodiscard]] std::string measuring_cautions();

}  // namespace benchproof
