#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "core/catalogue/catalogue.h"
#include "core/check/finding/explanation.h"
#include "core/check/finding/finding.h"
#include "core/check/finding/wording.h"
#include "core/check/rest/check.h"

namespace benchproof {

/// Below this share of its set voltage a regulator's input counts as switched off, not
/// as low. Common practice, no source.
inline constexpr double kRegulatorOffShare = 0.1;

/// Below this supply voltage a chip counts as switched off. Common practice, no source.
inline constexpr double kControllerOffVolts = 0.5;

/// A highest value over the phases of a state, and the phase that has it.
struct Peak {
  double value = 0.0;
  std::string phase;  ///< Its name; empty in a state without PWM.
};
[[nodiscard]] Peak highest(const CheckInput& input,
                           const std::function<double(const Observation&)>& value);

/// Current into a part's pin. Ampere.
[[nodiscard]] double pin_amps(const Observation& seen, int part, int pin);

/// Voltage from one pin of a part to another; 0 where one of them is left open. Volt.
[[nodiscard]] double volts_between(const CheckInput& input, const Observation& seen,
                                   int part, int pin, int other);

/// Below this frequency a small part's temperature follows each pulse, so that the
/// average no longer says how hot it gets. Common practice, no source.
inline constexpr double kSlowHertz = 10.0;

/// The power that heats a part: the average over a fast PWM, the highest phase of one
/// slower than kSlowHertz. Watt.
[[nodiscard]] Peak heating_watts(const CheckInput& input, int part);

/// The thermal resistance from a part's junction to the air: that of the part in still
/// air, or with a heat sink that of junction to case and of the sink. Nothing where it
/// is not known. K/W.
struct ThermalPath {
  Figure resistance;
  bool on_heatsink = false;
};
[[nodiscard]] std::optional<ThermalPath> thermal_path(const Part& part);

/// A part's junction temperature: ambient + P * thermal resistance. Nothing where
/// the part's thermal path is not known.
struct Junction {
  double celsius = 0.0;
  double watts = 0.0;
  Figure resistance;  ///< Junction to ambient. K/W.
  bool on_heatsink = false;
};
[[nodiscard]] std::optional<Junction> junction(const CheckInput& input, int part,
                                               double watts);

/// The thermal resistance, case to air, with which a heat sink would just keep a part's
/// junction at its `junction_max`: (junction_max - ambient) / P - junction to case.
/// Negative where none could. Nothing where a figure is not known, or without power.
/// K/W.
[[nodiscard]] std::optional<double> heatsink_needed(const CheckInput& input, int part,
                                                    double watts);

/// A finding about a part, without value and message.
[[nodiscard]] Finding about_part(const CheckInput& input, int part, Severity severity,
                                 CheckId check);

/// A part's own rating held against a value.
struct Rating {
  CheckId check;              ///< Of the finding.
  std::string_view quantity;  ///< "current" ...
  std::string_view key;       ///< Of the figure.
  std::string_view words;     ///< "continuous rating"
};

/// Tells those who want to know how near a value comes to a part's limit.
void keep_margin(const CheckInput& input, int part, const Rating& rating, double value,
                 const Figure& limit, Bound bound = Bound::upper, int pin = -1);

/// A fault where the value exceeds the part's figure; nothing where it does not or
/// where there is no figure. The margin is kept either way. `advice` is put after a
/// semicolon, if not empty.
[[nodiscard]] std::optional<Finding> over_rating(const CheckInput& input, int part,
                                                 const Rating& rating,
                                                 const Peak& value,
                                                 std::string_view advice = {});

/// A fault where the junction exceeds the part's `junction_max`, named `check`. What a
/// heat sink would have to do is put after the advice, where the kind takes one.
[[nodiscard]] std::optional<Finding> over_junction(const CheckInput& input, int part,
                                                   CheckId check,
                                                   std::string_view advice);

/// Calls `function(index, part)` for the parts of a kind.
template <typename Function>
void for_parts(const CheckInput& input, KindId kind, Function&& function) {
  for (std::size_t i = 0; i < input.parts.size(); ++i) {
    if (input.parts[i].kind == kind) function(static_cast<int>(i), input.parts[i]);
  }
}

}  // namespace benchproof
