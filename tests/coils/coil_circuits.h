#pragma once

#include <string>
#include <vector>

namespace benchproof::test {

/// A transistor that switches a coil, as a description with one run. Its nets are
/// `rail`, `switched` (between coil and transistor), `out` and others; its coil is the
/// part `coil`.
struct CoilCircuit {
  std::string name;    ///< Number and all that was chosen: safe as a file's name.
  std::string driver;  ///< The transistor.
  std::string load;    ///< The coil.
  std::string guard;   ///< What takes over the coil's current, "none" for nothing.
  std::string mode;    ///< "on", "off" or "pwm".
  std::string text;    ///< The description.
};

/// Every transistor with every guard in every mode, each several times with another
/// coil, supply and resistor that fit the transistor. Always the same list in the same
/// order. The harbour is invented; values are those of the E series and of coils that
/// are sold.
[[nodiscard]] std::vector<CoilCircuit> coil_circuits();

}  // namespace benchproof::test
