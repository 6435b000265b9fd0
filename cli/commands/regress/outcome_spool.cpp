#include "cli/commands/regress/outcome_spool.h"

#include <unistd.h>

#include <optional>
#include <stdexcept>
#include <utility>

#include "cli/render/regress/regress_json.h"

namespace benchproof {
namespace {

/// More than this is put into a file. Byte.
constexpr std::size_t kMostText = 1U << 20U;

/// So many are held as they are: together about as much.
constexpr std::size_t kMostHeld = 2048;

}  // namespace

bool OutcomeSpool::hold(std::size_t number, CircuitOutcome& outcome) {
  const std::scoped_lock lock(mutex_);
  add(sum_, outcome);
  if (!passes(outcome) || held_.size() >= kMostHeld) return false;
  outcome.file = files_[number];
  held_.emplace(number, std::move(outcome));
  return true;
}

void OutcomeSpool::put(std::size_t number, CircuitOutcome outcome) {
  if (hold(number, outcome)) return;
  const std::string text = outcome_json(outcome);
  const std::scoped_lock lock(mutex_);
  places_[number] = {spilled_ + buffer_.size(),
                     static_cast<std::uint32_t>(text.size())};
  buffer_ += text;
  if (buffer_.size() > kMostText && !is_file_bad_) spill();
}

/// Moves the buffer into the file; where that fails all that comes stays in memory.
void OutcomeSpool::spill() {
  if (!file_) file_.reset(std::tmpfile());
  is_file_bad_ =
      !file_ ||
      std::fwrite(buffer_.data(), 1, buffer_.size(), file_.get()) != buffer_.size() ||
      std::fflush(file_.get()) != 0;
  if (is_file_bad_) return;
  spilled_ += buffer_.size();
  buffer_.clear();
}

std::string OutcomeSpool::text_at(const Place& place) const {
  if (place.begin >= spilled_)
    return buffer_.substr(place.begin - spilled_, place.size);
  std::string text(place.size, '\0');
  for (std::size_t done = 0; done < text.size();) {
    const ssize_t got =
        ::pread(fileno(file_.get()), text.data() + done, text.size() - done,
                static_cast<off_t>(place.begin + done));
    if (got <= 0) throw std::runtime_error("the results cannot be read back");
    done += static_cast<std::size_t>(got);
  }
  return text;
}

void OutcomeSpool::each(const TakeCircuit& take) const {
  for (std::size_t k = 0; k < places_.size(); ++k) {
    if (const auto held = held_.find(k); held != held_.end()) take(held->second);
    if (places_[k].size == 0) continue;
    std::optional<CircuitOutcome> outcome = read_outcome_json(text_at(places_[k]));
    if (!outcome) throw std::runtime_error("the results cannot be read back");
    outcome->file = files_[k];  // JSON cannot hold every name.
    take(*outcome);
  }
}

}  // namespace benchproof
