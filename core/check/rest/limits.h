#pragma once

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/catalogue/catalogue.h"
#include "core/check/finding/explanation.h"
#include "core/check/finding/finding.h"
#include "core/check/finding/wording.h"
#include "core/check/rating/derived.h"
#include "core/check/rating/ratings.h"
#include "core/check/rest/check_input.h"
#include "core/check/rest/rating_reader.h"

namespace benchproof {

/// What carries less of its rated current than this is off. Common practice, no source.
inline constexpr double kOffShare = 0.01;

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

/// The power that heats a part (see heating). Watt.
[[nodiscard]] Peak heating_watts(const CheckInput& input, int part);

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

/// What counts of a part against a rating: its value over the phases, at a pin of
/// pins_of. Nothing where it is not known, or the part is off.
[[nodiscard]] std::optional<Peak> measured(const CheckInput& input, int part,
                                           const Rating& rating, int pin);
[[nodiscard]] std::optional<Peak> measured(const CheckInput& input, int part,
                                           const Rating& rating, int pin, Over over);

/// How a part stands to one of its ratings.
struct Standing {
  Peak value;
  Figure limit;
  std::optional<Severity> severity;  ///< Of what is to be told; nothing: all is well.
};

/// Holds a part against a rating. Nothing where its value or limit is not known.
[[nodiscard]] std::optional<Standing> standing(const CheckInput& input, int part,
                                               const Rating& rating);
[[nodiscard]] std::optional<Standing> standing(const CheckInput& input, int part,
                                               const Rating& rating, int pin);

/// The standing of a part of which something is to be told, which has a severity;
/// nothing where a part keeps to its rating. That is asked by numbers alone: most do,
/// and what a standing knows of sources takes far longer to put together.
[[nodiscard]] std::optional<Standing> told_standing(const CheckInput& input, int part,
                                                    const Rating& rating);
[[nodiscard]] std::optional<Standing> told_standing(const CheckInput& input, int part,
                                                    const Rating& rating, int pin);

/// A finding of a rating about a part that has one, with value and limit, without
/// message.
[[nodiscard]] Finding about_rating(const CheckInput& input, int part,
                                   const Rating& rating, const Standing& standing);

/// What is to be told of a part's rating, in the words of the table. What a heat sink
/// would have to do is put after a junction's, where the kind takes one.
[[nodiscard]] std::optional<Finding> over_rating(const CheckInput& input, int part,
                                                 const Rating& rating);

/// A rating whose finding says more than the table: told by one of the two functions,
/// or, without any, together with another rating.
struct Special {
  CheckId check;
  std::optional<Finding> (*one)(const CheckInput&, int part, const Rating&) = nullptr;
  void (*many)(const CheckInput&, int part, const Rating&,
               std::vector<Finding>& findings) = nullptr;
};

/// Tells all ratings of a part at rest, in the table's order, but for what a person
/// touches. A special is told once, of the first rating of its id.
void tell_ratings(const CheckInput& input, int part, std::vector<Finding>& findings,
                  std::span<const Special> specials = {});

/// How near every part comes to each of its ratings, in the table's order.
[[nodiscard]] std::vector<Margin> margins_at_rest(const CheckInput& input);

/// Calls `function(index, part)` for the parts of a kind that are asked for.
template <typename Function>
void for_parts(const CheckInput& input, KindId kind, Function&& function) {
  for (std::size_t i = 0; i < input.parts.size(); ++i) {
    if (input.parts[i].kind == kind && is_asked(input, i))
      function(static_cast<int>(i), input.parts[i]);
  }
}

}  // namespace benchproof
