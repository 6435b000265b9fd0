#pragma once

#include <vector>

#include "core/network/timeline.h"

namespace benchproof {

/// The values of a timeline between two neighbouring corners, where each is straight
/// (resistances: their logarithms). Time counts from the segment's start, so that short
/// segments late in a long run lose nothing to rounding.
class Segments {
 public:
  /// `values` are those that move; both must outlive this.
  Segments(const Timeline& timeline, Values& values);

  [[nodiscard]] std::size_t count() const { return bounds_.size() - 1; }
  [[nodiscard]] double start(std::size_t segment) const { return bounds_[segment]; }
  [[nodiscard]] double end(std::size_t segment) const { return bounds_[segment + 1]; }
  [[nodiscard]] double length(std::size_t segment) const {
    return bounds_[segment + 1] - bounds_[segment];
  }

  /// Makes a segment the current one, its values those at its start.
  void enter(std::size_t segment);
  /// Sets the values `seconds` after the current segment's start.
  void set_time(double seconds);
  /// Whether any resistance moves in the current segment.
  [[nodiscard]] bool ohms_move() const { return ohms_move_; }

 private:
  struct Mover {
    double* value = nullptr;
    double from = 0.0;
    double change = 0.0;  ///< Over the segment; of the logarithm for resistors.
    bool by_ratio = false;
  };
  void enter(const std::vector<Course>& courses, std::vector<double>& values,
             bool by_ratio, double from, double to);

  const Timeline& timeline_;
  Values& values_;
  std::vector<double> bounds_;
  std::vector<Mover> movers_;
  double length_ = 0.0;
  bool ohms_move_ = false;
};

}  // namespace benchproof
