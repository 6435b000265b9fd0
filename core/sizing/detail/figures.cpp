#include "core/sizing/detail/figures.h"

#include <cstddef>

namespace benchproof {

Figures::Figures(const Circuit& circuit, const SizeRequest& request,
                 const Witnesses& witnesses)
    : request_(request), witnesses_(witnesses), circuit_(circuit) {
  if (request.state >= 0)
    rest_.emplace(request.goal, circuit_, circuit_.states[request.state]);
}

double Figures::at(const std::vector<double>& values, double within) {
  return rest_ ? at_rest(values) : in_run(values, within);
}

std::vector<double> Figures::at_each(const std::vector<std::vector<double>>& choices,
                                     double within) {
  std::vector<double> figures(choices.size());
  if (rest_) {
    for (std::size_t k = 0; k < choices.size(); ++k) figures[k] = at(choices[k]);
  } else {
    witnesses_.side_by_side(choices.size(), [&](std::size_t k) {
      figures[k] = in_run(choices[k], within);
    });
  }
  return figures;
}

double Figures::at_rest(const std::vector<double>& values) {
  put_values(circuit_, request_.keys, values);
  for (std::size_t k = 0; k < values.size(); ++k) rest_->refresh(request_.keys[k].part);
  // Where there may be several solutions an answer would depend on what was asked
  // before.
  return rest_->by(rest_->has_one_solution() ? witnesses_.nodal_near
                                             : witnesses_.nodal);
}

double Figures::in_run(const std::vector<double>& values, double within) const {
  Circuit tried = circuit_;
  put_values(tried, request_.keys, values);
  return time_reached(request_.goal, tried, witnesses_.nodal_until, within);
}

}  // namespace benchproof
