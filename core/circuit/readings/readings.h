#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/base/quantity.h"
#include "core/base/toml_tree.h"
#include "core/circuit/circuit.h"
#include "core/circuit/question.h"

namespace benchproof {

/// The key of a readings file that asks, and the unit of its value (of looks: none).
struct AsksStyle {
  std::string_view key;
  Asks asks;
  Unit unit;
};
inline constexpr std::array<AsksStyle, 5> kAsksStyles = {{
    {"voltage", Asks::voltage, Unit::volt},
    {"current", Asks::current, Unit::ampere},
    {"resistance", Asks::resistance, Unit::ohm},
    {"diode", Asks::diode, Unit::volt},
    {"looks", Asks::looks, Unit::none},
}};
[[nodiscard]] const AsksStyle& style_of(Asks asks);

/// The word of a readings file for a look: "as meant".
[[nodiscard]] std::string_view word_of(Looks looks);

/// What a part of that kind may look like; "as meant" and "hot" fit all.
[[nodiscard]] std::vector<Looks> looks_of(KindId kind);

/// One reading that was taken.
struct TakenReading {
  Question question;
  bool is_reached = true;   ///< False: it cannot be taken, and has no value.
  bool is_open = false;     ///< The meter shows "open".
  double value = 0.0;       ///< Volt, ampere or ohm.
  double last_digit = 0.0;  ///< What one of the last digit written stands for.
  Looks looks = Looks::as_meant;
  Span span;  ///< Of the value, or of the whole reading.
};

/// A file of readings of one circuit.
struct ReadingsFile {
  std::string circuit;  ///< The description's name as written; may be empty.
  Span circuit_span;
  std::optional<TomlNode> meter;  ///< A name or a table of figures, as written.
  std::vector<TakenReading> readings;
};

/// The limits of a file of readings; past one of them it is refused, with the figure.
inline constexpr std::size_t kMostReadings = 2000;

/// What a text came to.
struct ReadReadings {
  std::optional<ReadingsFile> file;     ///< Nothing if there are complaints.
  std::vector<Diagnostic> diagnostics;  ///< In line order.
};

/// Reads readings of a circuit (format: core/circuit/README.md). All complaints come
/// in one run, except that a TOML syntax error ends the reading. What stands behind
/// `meter` is left to whoever knows meters. Never throws on any input.
[[nodiscard]] ReadReadings read_readings(std::string_view text, const Circuit& circuit);

/// The file with these readings, which `read_readings` reads back to the digits of
/// `last_digit`.
[[nodiscard]] std::string readings_text(const ReadingsFile& file);

/// One reading of such a file, [[reading]] and its keys. A reading without a value has
/// that key last, with an empty text to be filled in.
[[nodiscard]] std::string reading_text(const TakenReading& reading, bool is_blank);

/// A value of a reading as a person writes it ("4.98 V", "open", "1k2 ohm"), put into
/// it. Returns in words what is wrong with it, or nothing; leaves the reading then as
/// it was.
[[nodiscard]] std::string put_value(TakenReading& reading, std::string_view text);

/// What one of the last digit of a quantity's text stands for, in the unit's own size:
/// 0.01 of "4.98 V", 100 of "4k7" ohm. 0 where the text is none.
[[nodiscard]] double last_digit_of(std::string_view text, Unit unit);

/// Whether a file holds readings and no description.
[[nodiscard]] bool is_readings_file(const TomlNode& root);

}  // namespace benchproof
