#pragma once

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "cli/commands/regress/result_cache.h"
#include "cli/render/verify/report.h"
#include "core/catalogue/catalogue.h"
#include "core/regress/case_record.h"
#include "core/regress/outcome.h"
#include "spice/session/engine_session.h"

namespace benchproof {

/// The settings and tools that all circuits of a library share.
struct Examination {
  const Catalogue& catalogue;
  bool is_recording = false;  ///< Results are written, not compared.
  bool allow_unsealed = false;
  const ResultCache* cache = nullptr;  ///< Null: every circuit is solved.
  /// The files to write pages into, by the description's path; null: none are written.
  const std::map<std::string, std::string>* pages = nullptr;
};

/// Judges the circuits of a library one after the other, each in all its variants,
/// with a worker of its own. For one thread, which must outlive it.
class Examiner {
 public:
  explicit Examiner(const Examination& examination);

  /// Judges the description at a path, and compares or writes its record. Returns
  /// nothing where the file is no description but a catalogue of types. While `is_idle`
  /// says that a processor is, several of its runs are judged at once.
  [[nodiscard]] std::optional<CircuitOutcome> examine(
      const std::string& path, const std::function<bool()>& is_idle);

  /// The complaint about the worker's seal; empty if there is none.
  [[nodiscard]] std::string seal_news() const;

 private:
  /// `records` is null where nobody asks for them.
  void judge_all(FileReport& base, const std::function<bool()>& is_idle,
                 CircuitOutcome& outcome, std::vector<CaseRecord>* records);
  void write_page(FileReport& base, CircuitOutcome& outcome);
  void judge_version(FileReport& version, bool runs_at_once, CircuitOutcome& outcome,
                     std::vector<CaseRecord>* records);

  const Examination& examination_;
  EngineSession session_;
};

}  // namespace benchproof
