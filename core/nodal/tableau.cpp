#include "core/nodal/tableau.h"

#include <cmath>

namespace benchproof {

Tableau esdirk4() {
  Tableau t;
  t.stages = 6;
  t.error_order = 4;
  t.c = {0.0, 1.0 / 2.0, 83.0 / 250.0, 31.0 / 50.0, 17.0 / 20.0, 1.0};
  t.a[1] = {1.0 / 4.0, 1.0 / 4.0};
  t.a[2] = {8611.0 / 62500.0, -1743.0 / 31250.0, 1.0 / 4.0};
  t.a[3] = {5012029.0 / 34652500.0, -654441.0 / 2922500.0, 174375.0 / 388108.0,
            1.0 / 4.0};
  t.a[4] = {15267082809.0 / 155376265600.0, -71443401.0 / 120774400.0,
            730878875.0 / 902184768.0, 2285395.0 / 8070912.0, 1.0 / 4.0};
  t.a[5] = {82889.0 / 524892.0, 0.0,      15625.0 / 83664.0, 69875.0 / 102672.0,
            -2260.0 / 8211.0,   1.0 / 4.0};
  t.embedded = {4586570599.0 / 29645900160.0, 0.0,
                178811875.0 / 945068544.0,    814220225.0 / 1159782912.0,
                -3700637.0 / 11593932.0,      61727.0 / 225920.0};
  return t;
}

Tableau tr_bdf2() {
  const double diagonal = 1.0 - std::sqrt(0.5);
  const double w = std::sqrt(2.0) / 4.0;
  Tableau t;
  t.stages = 3;
  t.error_order = 3;
  t.c = {0.0, 2.0 * diagonal, 1.0};
  t.a[1] = {diagonal, diagonal};
  t.a[2] = {w, w, diagonal};
  t.embedded = {(1.0 - w) / 3.0, (1.0 + 3.0 * w) / 3.0, diagonal / 3.0};
  return t;
}

}  // namespace benchproof
