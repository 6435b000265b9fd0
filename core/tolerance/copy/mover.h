#pragma once

#include <cstddef>
#include <vector>

#include "core/network/network.h"
#include "core/network/slots.h"
#include "core/tolerance/copy/spreads.h"

namespace benchproof {

/// Moves the values of one phase's network to the places of all spreads.
///
/// What a number of the circuit feeds moves in proportion to it, by an exponential of
/// it (a junction's curve along its voltage), or in a way of its own; which of these is
/// found out from networks lowered at places over the whole spread. What moves in a way
/// of its own is lowered anew each time, and so are numbers that do not move apart from
/// each other: whether they do is asked of places of all together.
class Mover {
 public:
  /// One mover a phase. `spreads` and `posed` must outlive them.
  static std::vector<Mover> of(const std::vector<Spread>& spreads,
                               const PosedState& posed);

  /// Puts the nominal network, or one that was moved, to these places: one a spread.
  void move(const double* places, Network& network) const;

  /// Whether a spread moves anything here.
  [[nodiscard]] bool is_moved_by(std::size_t spread) const { return moves_[spread]; }
  /// Spreads that are lowered anew each time.
  [[nodiscard]] const std::vector<std::size_t>& lowered() const { return lowered_; }

 private:
  enum class Law { share, amount, exponential };
  struct Move {
    std::size_t spread = 0;
    Slot slot;
    Law law = Law::share;
    double rate = 0.0;     ///< Per unit of place.
    double nominal = 0.0;  ///< The place at which the network is as posed.
  };

  struct Samples;
  struct Course;
  void take(std::size_t spread, const Samples& samples, std::size_t phase);
  static bool find_law(const Course& course, double as_posed, Move& move);
  void remember_touched();
  bool lower_what_crosses(const std::vector<std::size_t>& all, const double* places,
                          const Network& wanted);

  const std::vector<Spread>* spreads_ = nullptr;
  const PosedState* posed_ = nullptr;
  std::size_t phase_ = 0;
  std::vector<bool> moves_;
  std::vector<Slot> touched_;     ///< All slots that moves change ...
  std::vector<double> as_posed_;  ///< ... and what stands there.
  std::vector<Move> list_;
  std::vector<std::size_t> lowered_;
  std::size_t ambient_ = 0;  ///< Index of the ambient's spread; else size.
  double celsius_ = 0.0;
};

}  // namespace benchproof
