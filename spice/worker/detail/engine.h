#pragma once

#include <string>
#include <string_view>

#include "spice/worker/protocol.h"

namespace benchproof::worker {

/// The last of what the engine printed, bounded.
class EngineLog {
 public:
  /// `line` is as the engine hands it over: "stderr ..." or "stdout ...". Only
  /// complaints (stderr) are kept, without the prefix; control characters become '?'.
  void add(std::string_view line);
  /// Adds a line of our own.
  void note(std::string_view line);
  void clear() { text_.clear(); }
  [[nodiscard]] const std::string& text() const { return text_; }

 private:
  std::string text_;
};

/// The one engine of this process: the library keeps its state in globals, so make no
/// second one, and do not move this one (the engine holds its address).
class Engine {
 public:
  Engine() = default;
  Engine(const Engine&) = delete;
  Engine& operator=(const Engine&) = delete;

  /// @return empty, or why the engine did not start.
  [[nodiscard]] std::string start();

  /// Loads the deck, or changes values of the circuit that is held, runs it and reads
  /// the vectors. A circuit at rest that is solved without a word is held for the next
  /// request, any other freed again.
  ///
  /// The engine's return values are not believed: it returns 0 for a deck that it did
  /// not understand and for an analysis that failed. Solved means that a new plot of
  /// the expected kind exists and holds every vector asked for, real and finite: at
  /// rest of length 1, in a transient of that of the times, which rise to the span.
  /// A transient of more than wire::kMaxValues is stopped there.
  [[nodiscard]] wire::Reply run(const wire::Request& request);

 private:
  void load(const std::vector<std::string>& deck);
  [[nodiscard]] bool change(const std::vector<wire::Change>& changes);
  void settle(const wire::Request& request, wire::Reply& reply);
  void follow(const wire::Request& request, wire::Reply& reply);
  [[nodiscard]] std::string new_plot(std::string_view kind);

  EngineLog log_;
  std::string plot_before_;  ///< The current one before this request's analysis.
  bool is_held_ = false;     ///< The last request's circuit.
  bool has_asked_to_exit_ = false;
};

}  // namespace benchproof::worker
