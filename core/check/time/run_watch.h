#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "core/check/finding/explanation.h"
#include "core/check/rest/limits.h"
#include "core/check/time/endurance.h"
#include "core/check/time/run_checks.h"

namespace benchproof {

/// A time for people.
[[nodiscard]] std::string for_time(double seconds);

/// A finding about a part, without value and message.
[[nodiscard]] Finding about(const Part& part, Severity severity, CheckId check);

/// How long stretches are together. Second.
[[nodiscard]] double total_length(const std::vector<Stretch>& stretches);

/// A trace's values without their signs, and turned.
[[nodiscard]] Trace sized(Trace trace);
[[nodiscard]] Trace turned(Trace trace);

/// A trace's peak beyond a figure of the part, for however short a time.
struct Watched {
  CheckId check;
  std::string_view quantity;
  std::string_view key;
  std::string_view words;   ///< "reverse voltage limit"
  std::string_view advice;  ///< What to do.
  double shortest = 0.0;    ///< Shorter stretches beyond it do not count. Second.
};

/// Adds a fault where the trace passes the figure. Whether it does.
bool watch(const RunInput& input, int index, const Trace& trace, const Watched& w,
           std::vector<Finding>& findings);

/// The same against a limit that is no figure of the part.
bool watch(const RunInput& input, int index, const Trace& trace, const Figure& limit,
           const Watched& w, std::vector<Finding>& findings);

/// A lasting rating, and for how long a part bears more.
struct Lasting {
  CheckId check;
  std::string_view quantity;
  std::string_view does;  ///< "carries", "takes"
  Endurance endurance;
  std::string_view advice;
};

/// Adds a fault where over some stretch of time the part bears less than the trace's
/// mean, a caution where little room is left, or where the run ends beyond the rating
/// in a state that nobody judges at rest. Whether it is a fault.
bool hold_lasting(const RunInput& input, int index, const Trace& trace,
                  const Figure& limit, const Lasting& lasting,
                  std::vector<Finding>& findings);

}  // namespace benchproof
