#include "core/device/bipolar.h"

#include <algorithm>
#include <cmath>

#include "core/device/constants.h"
#include "core/device/exponential.h"

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

BipolarConduction conduct(const BipolarAt& t, double vbe, double vbc) {
  const double be = std::clamp(vbe, -kLargestVolts, kLargestVolts);
  const double bc = std::clamp(vbc, -kLargestVolts, kLargestVolts);
  Conduction f = junction_law(t.is, t.nvt_forward, be);
  Conduction r = junction_law(t.is, t.nvt_reverse, bc);
  f = {f.amps + t.leak_forward * be, f.siemens + t.leak_forward};
  r = {r.amps + t.leak_reverse * bc, r.siemens + t.leak_reverse};
  double early = 1.0 - bc * t.inverse_early;
  double early_slope = -t.inverse_early;
  if (early < 1e-3) {
    early = 1e-3;
    early_slope = 0.0;
  }
  const double transport = f.amps - r.amps;
  BipolarConduction c;
  c.collector = transport * early - r.amps / t.br;
  c.collector_by_be = f.siemens * early;
  c.collector_by_bc = -r.siemens * early + transport * early_slope - r.siemens / t.br;
  c.base = f.amps / t.bf + r.amps / t.br;
  c.base_by_be = f.siemens / t.bf;
  c.base_by_bc = r.siemens / t.br;
  return c;
}

}  // namespace benchproof
