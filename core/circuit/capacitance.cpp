#include "core/circuit/capacitance.h"

#include <algorithm>

namespace benchproof {
namespace {

/// The model that a description gives the part, or null.
template <typename Model>
const Model* given_model(const Part& part) {
  const auto found = part.settings.find("model");
  if (found == part.settings.end()) return nullptr;
  const auto* device = std::get_if<DeviceModel>(&found->second.value);
  return device != nullptr ? std::get_if<Model>(device) : nullptr;
}

/// What comes of the figure of that key, before which a told parameter stands unless
/// the description gives the key itself.
double farads_or(const Part& part, std::string_view key, std::optional<double> told,
                 double by_key) {
  return told && !part.settings.contains(key) ? *told : by_key;
}
double farads_or(const Part& part, std::string_view key, std::optional<double> told) {
  return farads_or(part, key, told, number_of(part, key).value_or(0.0));
}

}  // namespace

double junction_farads(const Part& part) {
  const auto* model = given_model<DiodeModel>(part);
  return farads_or(part, "junction_capacitance",
                   model != nullptr ? model->cjo : std::nullopt);
}

BipolarFarads bipolar_farads(const Part& part) {
  const BipolarModel none;
  const auto* given = given_model<BipolarModel>(part);
  const BipolarModel& model = given != nullptr ? *given : none;
  return {farads_or(part, "emitter_capacitance", model.cje),
          farads_or(part, "collector_capacitance", model.cjc)};
}

MosFarads mos_farads(const Part& part) {
  const MosModel none;
  const auto* given = given_model<MosModel>(part);
  const MosModel& model = given != nullptr ? *given : none;
  // The model tells what lies between two pins, the keys what a sheet measures.
  const double reverse = number_of(part, "reverse_capacitance").value_or(0.0);
  const auto beside = [&](std::string_view key) {
    return std::max(number_of(part, key).value_or(0.0) - reverse, 0.0);
  };
  return {
      farads_or(part, "input_capacitance", model.cgs, beside("input_capacitance")),
      farads_or(part, "reverse_capacitance", model.cgd, reverse),
      farads_or(part, "output_capacitance", model.cds, beside("output_capacitance"))};
}

}  // namespace benchproof
