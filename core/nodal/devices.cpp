#include "core/nodal/detail/devices.h"

#include "core/nodal/detail/device_steps.h"

namespace benchproof {
namespace {

DiodeAt at_temperature(const DiodeModel& m, double celsius) { return at(m, celsius); }
BipolarAt at_temperature(const BipolarModel& m, double celsius) {
  return at(m, celsius);
}
MosAt at_temperature(const MosModel& m, double celsius) { return at(m, celsius); }
RegulatorAt at_temperature(const RegulatorModel& m, double /*celsius*/) {
  return at(m);
}

}  // namespace

template <class Kind>
void DevicesOf<Kind>::bind(const Network& network) {
  const auto& models = network.values.*Kind::kModels;
  const bool is_bound = bound_.size() == models.size() && celsius_ == network.celsius;
  for (std::size_t k = 0; k < devices_.size(); ++k)
    if (!is_bound || bound_[k] != models[k])
      devices_[k] = at_temperature(models[k], network.celsius);
  bound_ = models;
  celsius_ = network.celsius;
}

template <class Kind>
int DevicesOf<Kind>::node_beyond(double most) const {
  for (std::size_t k = 0; k < devices_.size(); ++k) {
    if (device_steps::junction_amps(found_[k]) > most)
      return device_steps::last_node(elements_[k]);
  }
  return -1;
}

template class DevicesOf<DiodeKindOf<double>>;
template class DevicesOf<BipolarKindOf<double>>;
template class DevicesOf<MosKindOf<double>>;
template class DevicesOf<RegulatorKindOf<double>>;

}  // namespace benchproof
