#pragma once

#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/regress/case_record.h"

namespace benchproof {

/// The results of one description as they stand in a file beside it.
struct Recorded {
  Tolerance tolerance;
  std::vector<CaseRecord> cases;
};

/// The case of that name, or nothing.
[[nodiscard]] const CaseRecord* find_case(const std::vector<CaseRecord>& cases,
                                          const CaseName& name);

/// The file of records: TOML, one figure a line, in the description's order, to seven
/// digits. `description` is the name of the file that it belongs to.
[[nodiscard]] std::string recorded_text(const Recorded& recorded,
                                        std::string_view description);

/// Reads such a file, or says what is wrong with it.
[[nodiscard]] std::variant<Recorded, std::vector<Diagnostic>> read_recorded(
    std::string_view text);

/// No record is larger. Bytes.
inline constexpr std::size_t kMostRecordBytes = 16U << 20U;

}  // namespace benchproof
