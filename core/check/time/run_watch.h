#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/check/finding/explanation.h"
#include "core/check/rating/ratings.h"
#include "core/check/rest/limits.h"
#include "core/check/time/endurance.h"
#include "core/check/time/run_checks.h"

namespace benchproof {

/// A time for people.
[[nodiscard]] std::string for_time(double seconds);

/// A finding of a rating about a part, without message.
[[nodiscard]] Finding about_run_rating(const Part& part, const Rating& rating,
                                       Severity severity, double value,
                                       const Figure& limit);

/// How long stretches are together. Second.
[[nodiscard]] double total_length(const std::vector<Stretch>& stretches);

/// A trace's values without their signs.
[[nodiscard]] Trace sized(Trace trace);

/// The course of what a rating measures of a part, at a pin of pins_of.
[[nodiscard]] Trace trace_of(const RunInput& input, int part, const Rating& rating,
                             int pin);

/// What a run is held against.
struct Held {
  const Trace& trace;
  const Figure& limit;
};

/// Tells where the trace passes the limit, for however short a time: a fault, or a
/// caution where the table says so. `words` stand in place of the table's, if not
/// empty. Whether anything was told.
bool watch(const RunInput& input, int part, const Rating& rating, const Held& held,
           std::string_view words, std::vector<Finding>& findings);

/// The worst strain of a run, which before it was as at its start; nothing where none
/// comes to what the endurance asks for.
[[nodiscard]] std::optional<Strain> strain_of(const RunInput& input, const Held& held,
                                              const Endurance& endurance);

/// Where a limit for a while comes from: its rating's source, and the endurance's.
[[nodiscard]] std::string source_for_while(const Figure& limit, std::string_view until,
                                           const Strain& strain,
                                           const Endurance& endurance);

/// Adds a fault where over some stretch of time the part bears less than the trace's
/// mean, a caution where little room is left, or where the run ends beyond the rating
/// in a state that nobody judges at rest. Whether it is a fault.
/// @pre The rating has an endurance.
bool hold_lasting(const RunInput& input, int part, const Rating& rating,
                  const Held& held, std::vector<Finding>& findings);

}  // namespace benchproof
