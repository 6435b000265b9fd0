#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "core/regress/outcome.h"

namespace benchproof {

/// Into so many parts a library may be cut.
inline constexpr int kMostShards = 10'000;

/// One part of several that a library is looked at in.
struct Shard {
  int part = 1;  ///< From 1.
  int of = 1;
  friend bool operator==(const Shard&, const Shard&) = default;
};

/// The exit status that a circuit comes to (see cli/commands/output.h).
[[nodiscard]] int exit_status(const CircuitOutcome& outcome);

/// The figures that a report sums up.
struct RegressTally {
  int status = 0;  ///< The worst exit status.
  int circuits = 0;
  int passed = 0;
  int kept = 0;  ///< Of those passed: known from an earlier run.
  int states = 0;
  int runs = 0;
  int variants = 0;
  int expectations = 0;
  int published = 0;
  int compared = 0;  ///< Circuits with a record that was not written now.
  int written = 0;   ///< Records written.
};

/// Counts one more circuit, or those of another part of the library.
void add(RegressTally& sum, const CircuitOutcome& circuit);
void add(RegressTally& sum, const RegressTally& other);

/// What a report says besides its circuits.
struct RegressHead {
  std::string program;             ///< Its version.
  std::vector<std::string> paths;  ///< As the user named them.
  std::vector<std::string> filters;
  Shard shard;
  int passed_over = 0;  ///< Left alone: older than asked for.
};

/// Shows circuits one after the other, in the order of their names. Of a library there
/// may be more than fit into memory.
using TakeCircuit = std::function<void(const CircuitOutcome&)>;
using EachCircuit = std::function<void(const TakeCircuit&)>;

/// All that `regress` has to say.
struct RegressReport {
  RegressHead head;
  RegressTally sum;  ///< Of all circuits.
  EachCircuit each;  ///< Goes over them, as often as it is asked to.
};

/// Takes a piece of a text that is written as it comes.
using PutText = std::function<void(std::string_view)>;

/// "net 'rail' was 5.002 V, is 4.903 V; it may move by 500 uV".
[[nodiscard]] std::string moved_text(const Moved& moved);

/// The reasons why a case did not pass, a line each: its problems, then what moved.
[[nodiscard]] std::vector<std::string> failure_lines(const CaseOutcome& outcome);

/// The problems of a circuit that belong to no case.
[[nodiscard]] std::vector<std::string> failure_lines(const CircuitOutcome& outcome);

/// One word for what became of a circuit: "passed", "moved", "fault", "refused",
/// "trouble", or the word of a verdict that was withheld.
[[nodiscard]] std::string_view outcome_word(const CircuitOutcome& outcome);

}  // namespace benchproof
