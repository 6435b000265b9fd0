#pragma once

#include <string>

#include "core/catalogue/catalogue.h"

namespace benchproof {

/// How far a reading may be off: a share of it, and so much besides (digits). Bounds,
/// not deviations.
struct Accuracy {
  double share = 0.0;
  double absolute = 0.0;  ///< In the reading's unit.
};

/// A meter. What it has where nobody says otherwise: a usual hand-held one (common
/// practice, no source).
struct Meter {
  std::string name = "handheld";
  Accuracy volts{0.005, 0.02};
  Accuracy amps{0.015, 2e-5};
  Accuracy ohms{0.01, 0.5};
  Accuracy diode{0.02, 0.005};
  double input_ohms = 10e6;       ///< On volts.
  double ohms_test_volts = 0.2;   ///< Open leads on ohms.
  double ohms_test_amps = 1e-4;   ///< Shorted leads on ohms.
  double most_ohms = 40e6;        ///< Above it shows "open".
  double diode_amps = 1e-3;       ///< Of the diode test.
  double diode_open_volts = 3.0;  ///< From there on it shows "open".
  std::string source = "common practice, no source";
  Mark mark = Mark::practice;
};

}  // namespace benchproof
