#include "core/verify/seen/asked_ahead.h"

#include <exception>

namespace benchproof {

void AskedAhead::add(const Network& network) {
  questions_.push_back({&network, {}});
  answers_[&network] = questions_.back().answer.get_future();
}

void AskedAhead::ask(const Solve& witness) {
  for (Question& question : questions_) {
    try {
      question.answer.set_value(witness(*question.network));
    } catch (...) {
      question.answer.set_exception(std::current_exception());
    }
  }
}

Solve AskedAhead::answers() {
  return [this](const Network& network) { return answers_.at(&network).get(); };
}

}  // namespace benchproof
