#include "core/nodal/detail/segments.h"

#include <cmath>

namespace benchproof {

Segments::Segments(const Timeline& timeline, Values& values)
    : timeline_(timeline), values_(values) {
  bounds_.push_back(0.0);
  for (const double corner : corners_of(timeline)) bounds_.push_back(corner);
  bounds_.push_back(timeline.span);
}

void Segments::enter(std::size_t segment) {
  movers_.clear();
  ohms_move_ = false;
  length_ = length(segment);
  const double from = bounds_[segment];
  const double to = bounds_[segment + 1];
  enter(timeline_.volts, values_.volts, false, from, to);
  enter(timeline_.amps, values_.amps, false, from, to);
  enter(timeline_.ohms, values_.ohms, true, from, to);
}

void Segments::enter(const std::vector<Course>& courses, std::vector<double>& values,
                     bool by_ratio, double from, double to) {
  for (const Course& course : courses) {
    double& value = values[course.element];
    value = value_at(course, from, by_ratio);
    const double end = value_at(course, to, by_ratio);
    if (end == value) continue;
    movers_.push_back(
        {&value, value, by_ratio ? std::log(end / value) : end - value, by_ratio});
    ohms_move_ = ohms_move_ || by_ratio;
  }
}

void Segments::set_time(double seconds) {
  const double share = seconds / length_;
  for (const Mover& m : movers_) {
    *m.value =
        m.by_ratio ? m.from * std::exp(share * m.change) : m.from + share * m.change;
  }
}

}  // namespace benchproof
