#pragma once

#include "core/circuit/circuit.h"

namespace benchproof {

// What the junctions of a part hold in runs: constant capacitances at zero bias. Farad,
// >= 0. The part's key stands before its model's parameter, then come the type and
// what the kind assumes.

/// From anode to cathode of a diode, zener or LED.
[[nodiscard]] double junction_farads(const Part& part);

struct BipolarFarads {
  double base_emitter = 0.0;
  double base_collector = 0.0;
};
[[nodiscard]] BipolarFarads bipolar_farads(const Part& part);

/// From what data sheets measure: Ciss = Cgs + Cgd, Coss = Cds + Cgd, Crss = Cgd.
struct MosFarads {
  double gate_source = 0.0;
  double gate_drain = 0.0;
  double drain_source = 0.0;
};
[[nodiscard]] MosFarads mos_farads(const Part& part);

}  // namespace benchproof
