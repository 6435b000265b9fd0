#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/circuit/circuit.h"
#include "core/circuit/read/reader.h"
#include "core/repair/one_mistake.h"
#include "core/verify/runs/hold_expected.h"
#include "core/verify/runs/verify_runs.h"
#include "core/verify/verify.h"

namespace benchproof {

/// A catalogue file of the user's own, and what is wrong with it.
struct CatalogueReport {
  std::string file;    ///< As it is told to the user; empty where there is none.
  std::string source;  ///< Its text.
  std::vector<Diagnostic> complaints;  ///< Of places in that file.
};

/// Complaints about a change have this in place of a file's name.
inline constexpr std::string_view kChangesName = "--set";

/// All that `verify` has to say about one description.
struct FileReport {
  std::string file;                    ///< As the user named it, or "standard input".
  std::string source;                  ///< Its text.
  std::string changes;                 ///< The changes of --set, one a line.
  std::vector<Diagnostic> complaints;  ///< Of the description and the changes.
  std::optional<Circuit> circuit;      ///< Empty when refused.
  Verification verification;           ///< Points into `circuit`.
  std::optional<OneMistake> one_mistake = {};
  std::vector<RunResult> runs;  ///< Point into `circuit`.
  /// The expected findings that were looked for; point into `circuit`.
  std::vector<ExpectedFindingResult> expected = {};
  /// The file that the description names as its catalogue.
  CatalogueReport own_catalogue = {};
  std::vector<BlockFile> block_files = {};  ///< From which it takes blocks.
  /// With the description's own types, where it has some; `circuit` points into it.
  std::shared_ptr<const Catalogue> catalogue = {};
};

/// The text that a complaint is about, and what it is called.
struct NamedText {
  std::string name;
  std::string_view text;
};
[[nodiscard]] NamedText text_of(const FileReport& report, const Diagnostic& complaint);

/// The changes asked for beside the description, "quay_r.value=470R" each.
[[nodiscard]] std::vector<std::string> changes_of(const FileReport& report);

/// The name of what was judged, safe to print: file, variant and changes, as in
/// "lamp.toml, variant 'dim', with quay_r.value=470R".
[[nodiscard]] std::string version_name(const FileReport& report);

/// The worst verdict of all states and runs.
[[nodiscard]] Verdict verdict_of(const FileReport& report);

/// The word for a verdict: "good", "caution", "fault", "disagreement", "engine-failed",
/// "nodal-failed".
[[nodiscard]] std::string_view verdict_word(Verdict verdict);

}  // namespace benchproof
