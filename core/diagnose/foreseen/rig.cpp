#include "core/diagnose/foreseen/detail/rig.h"

#include <utility>

namespace benchproof {
namespace {

/// The structure with strays from every node to ground, and then the meters.
std::shared_ptr<const Structure> with_meters(const Structure& plain,
                                             const std::vector<Probe>& probes) {
  auto structure = std::make_shared<Structure>(plain);
  for (std::size_t node = 1; node < plain.nodes.size(); ++node)
    structure->resistors.push_back({static_cast<int>(node), 0, {}});
  for (const Probe& probe : probes) {
    structure->resistors.push_back({probe.a, probe.b, {}});
    structure->current_sources.push_back({probe.a, probe.b, {}});
  }
  return structure;
}

}  // namespace

Rig::Rig(PiecePlan plan, const std::vector<Probe>& probes, NodalOptions options,
         Solve witness)
    : plan_(std::make_shared<const PiecePlan>(std::move(plan))),
      probes_(probes),
      structure_(with_meters(*plan_->plan.structure, probes)),
      first_stray_(plan_->plan.structure->resistors.size()),
      first_ohms_(structure_->resistors.size() - probes.size()),
      first_amps_(structure_->current_sources.size() - probes.size()),
      solver_(structure_, options),
      witness_(std::move(witness)),
      differentials_(probes.size()) {}

void Rig::finish(Network& network, double celsius) const {
  network.values.ohms.resize(first_ohms_, kStrayOhms);
  network.values.ohms.resize(structure_->resistors.size(), kNoMeterOhms);
  network.values.amps.resize(structure_->current_sources.size(), 0.0);
  network.structure = structure_;
  network.celsius = celsius;
}

void Rig::put_stray(Network& network, int node, double ohms) const {
  if (node > 0)
    network.values.ohms[first_stray_ + static_cast<std::size_t>(node) - 1] = ohms;
}

void Rig::put_meter(Network& network, std::size_t probe, double ohms,
                    double amps) const {
  network.values.ohms[first_ohms_ + probe] = ohms;
  network.values.amps[first_amps_ + probe] = amps;
}

std::optional<Slopes> Rig::slopes(const Network& network, const Solution& solution,
                                  const std::vector<Differential>& figures) {
  if (!sensitivities_) sensitivities_.emplace(structure_);
  return sensitivities_->at(network, solution, figures);
}

double Rig::volts(const Solution& solution, std::size_t probe) const {
  return solution.volts[static_cast<std::size_t>(probes_[probe].a)] -
         solution.volts[static_cast<std::size_t>(probes_[probe].b)];
}

const Differential& Rig::differential(std::size_t probe) {
  std::optional<Differential>& known = differentials_[probe];
  if (!known) {
    known = no_differential(*structure_);
    known->by_volts[static_cast<std::size_t>(probes_[probe].a)] += 1.0;
    known->by_volts[static_cast<std::size_t>(probes_[probe].b)] -= 1.0;
  }
  return *known;
}

Differential Rig::differential_of(int part, int pin) const {
  return differential_of_amps(*structure_, part, pin);
}

}  // namespace benchproof
