#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cli/commands/regress.h"
#include "cli/commands/result_cache.h"
#include "cli/render/report.h"
#include "core/catalogue/catalogue.h"
#include "core/regress/case_record.h"
#include "core/regress/outcome.h"
#include "spice/session/engine_session.h"

namespace benchproof {

/// What all circuits of a library are looked at with.
struct Examination {
  const RegressOptions& options;
  const Catalogue& catalogue;
  const ResultCache* cache = nullptr;  ///< Nothing: every circuit is solved.
};

/// Looks at the circuits of a library one after the other, each in all its variants,
/// with a worker of its own. For one thread, which must outlive it.
class Examiner {
 public:
  explicit Examiner(const Examination& examination);

  /// What becomes of the description at a path, its record compared or written. Nothing
  /// where the file is no description but a catalogue of types.
  [[nodiscard]] std::optional<CircuitOutcome> examine(const std::string& path);

  /// What is amiss with the worker's seal; empty when nothing is.
  [[nodiscard]] std::string seal_news() const;

 private:
  void judge_all(FileReport& base, CircuitOutcome& outcome,
                 std::vector<CaseRecord>& records);
  void judge_version(FileReport& version, CircuitOutcome& outcome,
                     std::vector<CaseRecord>& records);

  const Examination& examination_;
  EngineSession session_;
};

}  // namespace benchproof
