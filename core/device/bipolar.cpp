#include "core/device/bipolar.h"

#include <cmath>

#include "core/device/constants.h"

namespace benchproof {

BipolarAt at(const BipolarModel& model, double celsius) {
  const double vt = thermal_voltage(celsius);
  const double ratio = (celsius + kZeroCelsius) / (model.tnom + kZeroCelsius);
  BipolarAt t;
  t.sign = model.is_pnp ? -1.0 : 1.0;
  t.is = model.is;
  if (ratio != 1.0) {
    t.is = moved_saturation(
        model.is, (ratio - 1.0) * model.eg / vt + model.xti * std::log(ratio));
  }
  t.bf = model.bf;
  t.br = model.br;
  t.nvt_forward = model.nf * vt;
  t.nvt_reverse = model.nr * vt;
  t.inverse_early = 1.0 / model.vaf;
  t.leak_forward = kJunctionLeak * (is_ideal(model) ? model.bf : 1.0);
  t.leak_reverse = kJunctionLeak * (is_ideal(model) ? model.br : 1.0);
  t.critical = critical_volts(t.is, t.nvt_forward);
  return t;
}

}  // namespace benchproof
