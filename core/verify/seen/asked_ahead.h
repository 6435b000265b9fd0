#pragma once

#include <deque>
#include <future>
#include <map>

#include "core/network/network.h"

namespace benchproof {

/// Questions for a witness that are known before their answers are needed, for it to
/// work on another thread meanwhile.
class AskedAhead {
 public:
  /// Notes a question. The network must outlive this, where it is.
  void add(const Network& network);

  /// Has the witness answer all questions, in the order in which they were noted. Once.
  void ask(const Solve& witness);

  /// Has the answer to a question that was noted, which it must be. Waits for it: `ask`
  /// must have begun on another thread, or have returned.
  [[nodiscard]] Solve answers();

 private:
  struct Question {
    const Network* network;
    std::promise<Solution> answer;
  };

  std::deque<Question> questions_;
  std::map<const Network*, std::future<Solution>> answers_;
};

}  // namespace benchproof
