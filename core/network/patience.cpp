#include "core/network/patience.h"

#include <fmt/format.h>

#include <utility>

namespace benchproof {
namespace {

using Clock = std::chrono::steady_clock;

template <typename Answer>
Answer none(SolveStatus status, const std::string& reason) {
  Answer answer;
  answer.status = status;
  answer.reason = reason;
  return answer;
}

}  // namespace

Patience::Patience(std::chrono::seconds at_most)
    : end_(Clock::now() + at_most),
      reason_(fmt::format("the time for one description, {} s, is used up",
                          at_most.count())) {}

Solve Patience::bound(Solve witness, SolveStatus too_late) const {
  return [witness = std::move(witness), too_late, end = end_,
          reason = reason_](const Network& network) {
    return Clock::now() < end ? witness(network) : none<Solution>(too_late, reason);
  };
}

SolveInTime Patience::bound(SolveInTime witness, SolveStatus too_late) const {
  return [witness = std::move(witness), too_late, end = end_, reason = reason_](
             const Timeline& timeline, const std::vector<double>& also_at, int closer) {
    return Clock::now() < end ? witness(timeline, also_at, closer)
                              : none<Waveform>(too_late, reason);
  };
}

SolveUntil Patience::bound(SolveUntil witness, SolveStatus too_late) const {
  return [witness = std::move(witness), too_late, end = end_, reason = reason_](
             const Timeline& timeline, const Watch& watch) {
    return Clock::now() < end ? witness(timeline, watch)
                              : none<Waveform>(too_late, reason);
  };
}

}  // namespace benchproof
