#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/catalogue/catalogue.h"

namespace benchproof {

/// Which lead of a part is which pin.
struct Pinout {
  std::vector<std::string> types;  ///< By name; empty: any other of the kind.
  KindId kind = KindId::resistor;
  std::string package;             ///< "TO-92"
  std::string seen;                ///< How one looks at it, and counts leads.
  std::vector<std::string> leads;  ///< The pins of the kind, lead by lead; "-": none.
  Mark mark = Mark::practice;
  std::string source;
  std::string note;     ///< May be empty.
  std::string differs;  ///< Which parts differ, for who buys one; may be empty.
};

/// What a file of pinouts came to.
struct ReadPinouts {
  std::vector<Pinout>
      pinouts;  ///< In the file's order; of use without complaints only.
  std::vector<Diagnostic> diagnostics;
};

/// Reads a file by the rules of reference/pinouts/README.md; types and pins have to be
/// the catalogue's. All complaints come in one run.
[[nodiscard]] ReadPinouts read_pinouts(std::string_view text,
                                       const Catalogue& catalogue);

/// The pinouts of reference/pinouts.
/// @throws std::runtime_error where the file is not as it should be.
[[nodiscard]] std::vector<Pinout> built_in_pinouts(const Catalogue& catalogue);

/// The orders that are told of a type, its own first.
[[nodiscard]] std::vector<const Pinout*> pinouts_of(const std::vector<Pinout>& pinouts,
                                                    std::string_view type);

}  // namespace benchproof
