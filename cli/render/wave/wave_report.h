#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "cli/render/verify/report.h"
#include "core/base/quantity.h"
#include "core/network/record.h"

namespace benchproof {

/// A quantity of which `wave` shows the course: a net's voltage, or the current into a
/// part's pin (what a supply delivers at plus).
struct WaveSubject {
  std::string name;
  Unit unit = Unit::volt;
  int net = -1;
  int part = -1;
  int pin = 0;
  bool is_delivered = false;
};

/// A run as a witness followed it.
struct Testimony {
  std::string witness;  ///< "engine" or "nodal".
  Record record;
};

/// All that `wave` has to say. `file.runs` holds the run alone, in which a witness that
/// was not to testify has the status `not_asked`.
struct WaveReport {
  FileReport file;
  std::vector<Testimony> testimonies;  ///< Of the witnesses that have an answer.
  std::vector<WaveSubject> subjects;
  std::size_t left_out = 0;   ///< Nets that move as well and are not shown.
  std::vector<double> times;  ///< Of the rows of figures. Second.
};

/// The course of a subject as one witness tells it. Points into the report.
struct WaveColumn {
  std::string name;
  Unit unit = Unit::volt;
  std::string witness;
  Trace trace;
};

/// Subject by subject, one column for each testimony.
[[nodiscard]] std::vector<WaveColumn> wave_columns(const WaveReport& report);

/// What may be drawn with.
struct DrawingOptions {
  bool is_utf8 = false;
  std::size_t columns = 0;
};

/// Drawn, for people.
[[nodiscard]] std::string wave_text(const WaveReport& report,
                                    const DrawingOptions& options);

/// RFC 4180, one row per time; SI units; numbers that read back as they are, but for
/// the sign of a zero.
[[nodiscard]] std::string wave_csv(const WaveReport& report);

/// As a JSON object, layout 1, without a final line feed.
[[nodiscard]] std::string wave_json(const WaveReport& report);

/// Why the witnesses disagree about the run, as a line for standard error; empty where
/// they do not.
[[nodiscard]] std::string disagreement_text(const WaveReport& report);

}  // namespace benchproof
