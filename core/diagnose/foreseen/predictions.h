#pragma once

#include <array>
#include <cstddef>
#include <functional>
#include <map>
#include <memory>
#include <span>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/circuit/question.h"
#include "core/diagnose/foreseen/meter.h"
#include "core/fault/fault.h"
#include "core/network/network.h"

namespace benchproof {

/// What may be there: up to two faults, by their indices; none is "as meant".
struct Suspect {
  int first = -1;
  int second = -1;
  friend bool operator==(const Suspect&, const Suspect&) = default;
};

/// "As meant", and then each fault alone.
[[nodiscard]] std::vector<Suspect> singles(std::size_t faults);
/// Each two of the faults.
[[nodiscard]] std::vector<Suspect> pairs(std::size_t faults);

/// What each suspect makes each question show. Suspects share what they show alike.
class Predictions {
 public:
  /// All of it is to be put in.
  Predictions(std::vector<Question> questions, std::vector<Suspect> suspects);
  /// `groups`: questions that are answered together, each in one of them. `keeper` owns
  /// what is shared.
  Predictions(std::vector<Question> questions, std::vector<Suspect> suspects,
              const std::vector<std::vector<std::size_t>>& groups,
              std::shared_ptr<const void> keeper);
  Predictions(const Predictions&) = delete;  // Its rows are its own.
  Predictions& operator=(const Predictions&) = delete;
  Predictions(Predictions&&) = default;
  Predictions& operator=(Predictions&&) = default;
  ~Predictions() = default;

  [[nodiscard]] const std::vector<Question>& questions() const { return questions_; }
  [[nodiscard]] const std::vector<Suspect>& suspects() const { return suspects_; }
  [[nodiscard]] const Shown& at(std::size_t suspect, std::size_t question) const {
    const Place& place = places_[question];
    return rows_[suspect * groups_ + place.group][place.number];
  }
  void put(std::size_t suspect, std::size_t question, const Shown& shown);
  /// Shares what a suspect shows at a group's questions, in their order.
  void share(std::size_t suspect, std::size_t group, const Shown* row) {
    rows_[suspect * groups_ + group] = row;
  }

  /// Suspects that show the same at every question, to a tenth of a deviation, by their
  /// indices: each class in order, classes by their first.
  [[nodiscard]] std::vector<std::vector<std::size_t>> classes() const;

 private:
  /// Where a question's answer stands.
  struct Place {
    std::size_t group = 0;
    std::size_t number = 0;
  };
  std::vector<Question> questions_;
  std::vector<Suspect> suspects_;
  std::vector<Place> places_;      ///< Of each question.
  std::vector<std::size_t> many_;  ///< Questions of each group.
  std::size_t groups_ = 1;
  std::vector<const Shown*> rows_;  ///< [suspect][group]
  std::shared_ptr<const void> keeper_;
  std::vector<Shown> all_;                         ///< Where nothing is shared.
  std::map<std::size_t, std::vector<Shown>> own_;  ///< Rows that were written to.
};

struct PredictOptions {
  unsigned threads = 2;  ///< At least 1.
  /// Without it sigma is the meter's alone, in a fraction of the time. That of a pair
  /// is as widen_pairs has it.
  bool spread = true;
  /// Solves in place of the nodal witness, and with one thread; empty: that one.
  Solve witness = {};
};

/// What suspects make questions show, at rest: voltages with the meter's input as a
/// load, averages over phases of PWM, supplies up to the current that they give,
/// resistances and diode tests of the unpowered circuit with the meter's own test
/// current.
///
/// With the power off supplies are unplugged, cells out, outputs open, and switches
/// open unless the question names a state. A circuit without a solution shows not a
/// number, and so does a question that names what is not there. One thread's work does
/// not hang on another's: the results are the same for any number of them.
[[nodiscard]] Predictions predict(const Circuit& circuit, const Meter& meter,
                                  std::vector<Question> questions,
                                  std::span<const Fault> faults,
                                  std::vector<Suspect> suspects,
                                  const PredictOptions& options = {});

/// What a pair shows with the spread that a pair has: of a figure that one of its two
/// faults alone shows, that one's, else the wider one of both.
[[nodiscard]] Shown widened(Shown pair, const Shown& one, const Shown& other);

/// The same of all pairs and questions; `alone(fault, question)` is what a fault shows
/// alone.
void widen_pairs(
    Predictions& predictions,
    const std::function<const Shown&(std::size_t fault, std::size_t question)>& alone);

/// What there is to ask of a circuit: the looks of each lamp, motor, relay and buzzer,
/// each net's voltage and each supply's current in every steady state; with the power
/// off resistances to ground and across parts, and diode tests across junctions, all
/// controllers being out of their sockets; with these in, the resistance to ground of
/// rails and of nets that they do not stand on.
[[nodiscard]] std::vector<Question> all_questions(const Circuit& circuit);

}  // namespace benchproof
