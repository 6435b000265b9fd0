#include "cli/commands/regress/examiner.h"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cstddef>
#include <exception>
#include <filesystem>
#include <system_error>
#include <utility>
#include <variant>

#include "cli/commands/files/folder.h"
#include "cli/commands/files/input.h"
#include "cli/commands/files/reading.h"
#include "cli/commands/files/write_file.h"
#include "cli/commands/judging/page_of.h"
#include "cli/commands/judging/witnesses.h"
#include "cli/commands/output.h"
#include "cli/render/page/page_report.h"
#include "cli/render/regress/regress_json.h"
#include "cli/render/verify/text.h"
#include "core/base/pieces.h"
#include "core/base/toml_tree.h"
#include "core/catalogue/read/read_types.h"
#include "core/circuit/entries/own_catalogue.h"
#include "core/circuit/readings/readings.h"
#include "core/regress/recorded.h"
#include "core/verify/hand_rules.h"

namespace benchproof {
namespace {

/// A file of recorded results.
struct RecordFile {
  std::string path;
  std::string bytes;    ///< Empty where there is none.
  std::string failure;  ///< It is there, but cannot be read.
  bool is_there = false;
};

RecordFile read_record_file(const std::string& description) {
  RecordFile file;
  file.path = recorded_path(description);
  file.is_there = ::access(file.path.c_str(), F_OK) == 0;
  if (!file.is_there) return file;
  std::error_code unknown;
  if (!std::filesystem::is_regular_file(file.path, unknown)) {
    file.failure = fmt::format("{} is no ordinary file", file.path);
    return file;
  }
  Input input = read_input(file.path, kMostRecordBytes);
  file.bytes = std::move(input.bytes);
  if (!input.failure.empty())
    file.failure = fmt::format("{} {}", file.path, input.failure);
  return file;
}

/// A file of a user's own types is no description, though it ends in ".toml", nor is
/// one of readings.
bool is_other_file(const std::string& text) {
  constexpr int kNesting = 16;
  const auto parsed = parse_toml(text, kNesting);
  const TomlNode* root = std::get_if<TomlNode>(&parsed);
  if (root == nullptr) return false;
  const bool has_types =
      find_entry(*root, "type") != nullptr || find_entry(*root, "family") != nullptr;
  return is_readings_file(*root) ||
         (has_types && find_entry(*root, "parts") == nullptr &&
          find_entry(*root, "nets") == nullptr);
}

/// The files that a result depends on, as they are now, and the key of that result:
/// empty where no results are kept, or a file cannot be read.
struct Versions {
  std::string description;
  std::string own_catalogue;
  std::vector<BlockFile> block_files;
  std::string key;
};

Versions versions_of(const Examination& examination, const std::string& path,
                     const RecordFile& record) {
  Versions versions;
  if (examination.cache == nullptr || examination.is_recording) return versions;
  const Limits limits;
  Input input = read_input(path, limits.bytes);
  bool is_read = input.failure.empty() && record.failure.empty();
  versions.description = std::move(input.bytes);
  // Most have no catalogue of their own, and need not be parsed to know.
  if (is_read && versions.description.find("catalogue") != std::string::npos) {
    if (const auto own = own_catalogue(versions.description, limits)) {
      Input beside = read_beside(path, own->path, CatalogueLimits().bytes);
      is_read = beside.failure.empty();
      versions.own_catalogue = std::move(beside.bytes);
    }
  }
  if (is_read) {
    versions.block_files = read_block_files(path, versions.description);
    std::vector<std::string_view> texts = {versions.description, versions.own_catalogue,
                                           record.bytes,
                                           record.is_there ? "recorded" : ""};
    for (const BlockFile& file : versions.block_files) {
      is_read = is_read && file.failure.empty();
      texts.push_back(file.text);
    }
    if (is_read) versions.key = cache_key(texts);
  }
  return versions;
}

bool has_same_blocks(const std::vector<BlockFile>& one,
                     const std::vector<BlockFile>& other) {
  return std::equal(one.begin(), one.end(), other.begin(), other.end(),
                    [](const BlockFile& a, const BlockFile& b) {
                      return a.path == b.path && a.text == b.text;
                    });
}

std::optional<CircuitOutcome> known_outcome(const ResultCache* cache,
                                            const Versions& versions,
                                            const std::string& path) {
  if (versions.key.empty()) return std::nullopt;
  const auto text = cache->find(versions.key);
  if (!text) return std::nullopt;
  std::optional<CircuitOutcome> outcome = read_outcome_json(*text);
  if (!outcome) return std::nullopt;
  outcome->file = path;
  outcome->is_kept = true;
  return outcome;
}

/// Reads a record; tells in the outcome's `trouble` why it cannot.
std::optional<Recorded> read_record(const RecordFile& file, CircuitOutcome& outcome) {
  if (!file.failure.empty()) {
    outcome.trouble = file.failure;
    return std::nullopt;
  }
  auto recorded = read_recorded(file.bytes);
  if (const auto* complaints = std::get_if<std::vector<Diagnostic>>(&recorded)) {
    for (const Diagnostic& complaint : *complaints)
      outcome.trouble +=
          fmt::format("{}{}: {}", outcome.trouble.empty() ? "" : "; ",
                      place_text(complaint, file.path), complaint.message);
    outcome.trouble += "; remove it and let --record write it anew";
    return std::nullopt;
  }
  return std::get<Recorded>(std::move(recorded));
}

/// The name of a circuit's description without its folder.
std::string name_of(const CircuitOutcome& outcome) {
  return outcome.file.substr(outcome.file.find_last_of('/') + 1);
}

/// What stands in a record. One that is what would be written now, as most are, need
/// not be read.
std::optional<Recorded> recorded_in(const RecordFile& file,
                                    const std::vector<CaseRecord>& now,
                                    CircuitOutcome& outcome) {
  Recorded as_now{{}, now};
  if (file.bytes == recorded_text(as_now, name_of(outcome))) return as_now;
  return read_record(file, outcome);
}

void compare_with_record(const RecordFile& file, const std::vector<CaseRecord>& records,
                         CircuitOutcome& outcome) {
  const std::optional<Recorded> recorded = recorded_in(file, records, outcome);
  if (!recorded) return;
  hold_against(*recorded, records, outcome);
  outcome.recording = Recording::compared;
}

/// Writes a record, unless the description or the record changed since they were read.
void write_record(const RecordFile& file, const FileReport& base,
                  std::vector<CaseRecord>& records, CircuitOutcome& outcome) {
  if (!passes(outcome)) {
    outcome.recording = Recording::withheld;
    return;
  }
  Recorded recorded;
  if (file.is_there) {
    const std::optional<Recorded> before = read_record(file, outcome);
    if (!before) return;
    recorded.tolerance = before->tolerance;  // As the user set it.
  }
  recorded.cases = std::move(records);
  const std::string text = recorded_text(recorded, name_of(outcome));
  outcome.recording = Recording::unchanged;
  if (file.is_there && text == file.bytes) return;
  const RecordFile now = read_record_file(outcome.file);
  if (now.is_there && now.bytes == text) return;  // Another program recorded it, too.
  std::string failure;
  if (read_input(outcome.file, Limits().bytes).bytes != base.source)
    failure = "the description was changed by someone else meanwhile";
  else if (now.is_there != file.is_there || now.bytes != file.bytes)
    failure = "it was changed by someone else meanwhile";
  else if (text.size() > kMostRecordBytes)
    failure = "the record would be larger than 16 MiB; leave out states or variants";
  else
    failure = write_file(file.path, text);
  if (!failure.empty()) {
    outcome.trouble = fmt::format("{}: {}", file.path, failure);
    outcome.recording = Recording::withheld;
  } else {
    outcome.recording = Recording::written;
  }
}

}  // namespace

Examiner::Examiner(const Examination& examination)
    : examination_(examination), session_(engine_options(examination.allow_unsealed)) {
  if (examination.cache == nullptr) session_.start();  // Else there may be no need.
}

std::optional<CircuitOutcome> Examiner::examine(const std::string& path,
                                                const std::function<bool()>& is_idle) {
  CircuitOutcome outcome;
  outcome.file = path;
  try {
    const RecordFile record = read_record_file(path);
    const Versions versions = versions_of(examination_, path, record);
    if (std::optional<CircuitOutcome> known =
            known_outcome(examination_.cache, versions, path))
      return known;
    FileReport base = read_description(path, examination_.catalogue, {}, {});
    if (!base.circuit && is_other_file(base.source)) return std::nullopt;
    std::vector<CaseRecord> records;
    const bool has_use = examination_.is_recording || record.is_there;
    judge_all(base, is_idle, outcome, has_use ? &records : nullptr);
    if (examination_.is_recording) {
      write_record(record, base, records, outcome);
    } else if (record.is_there && base.circuit) {
      compare_with_record(record, records, outcome);
    }
    if (examination_.pages != nullptr && base.circuit) write_page(base, outcome);
    // Unless someone changed a file just now.
    const bool is_same = base.source == versions.description &&
                         base.own_catalogue.source == versions.own_catalogue &&
                         has_same_blocks(base.block_files, versions.block_files);
    if (!versions.key.empty() && is_same && passes(outcome))
      examination_.cache->keep(versions.key, outcome_json(outcome));
  } catch (const std::exception& error) {
    outcome.trouble = exception_text(error);
    outcome.is_unanswered = true;
  }
  return outcome;
}

std::string Examiner::seal_news() const { return seal_text(session_); }

/// Judges the description as it stands and in each variant.
void Examiner::judge_all(FileReport& base, const std::function<bool()>& is_idle,
                         CircuitOutcome& outcome, std::vector<CaseRecord>* records) {
  judge_version(base, is_idle(), outcome, records);
  if (!base.circuit) return;
  for (const Variant& variant : base.circuit->variants) {
    Wishes asked;
    asked.variant = variant.name;
    FileReport version = read_version(base, examination_.catalogue, asked);
    judge_version(version, is_idle(), outcome, records);
  }
}

/// Writes the page of a description that was judged; what goes wrong is told as the
/// circuit's trouble.
void Examiner::write_page(FileReport& base, CircuitOutcome& outcome) {
  // There are many circuits: fewer copies than `report` makes.
  constexpr std::size_t kCopies = 5'000;
  put_by_hand(*base.circuit, base.verification);
  explain(base, session_);
  const PageReport page = page_of(base, examination_.catalogue, session_,
                                  std::min(kCopies, usual_copies(*base.circuit)));
  const std::string& path = examination_.pages->at(outcome.file);
  if (const std::string failure = write_file(path, page_html(page), Durability::none);
      !failure.empty())
    outcome.trouble +=
        fmt::format("{}{}: {}", outcome.trouble.empty() ? "" : "; ", path, failure);
}

void Examiner::judge_version(FileReport& version, bool runs_at_once,
                             CircuitOutcome& outcome,
                             std::vector<CaseRecord>* records) {
  if (!version.circuit) {
    std::vector<std::string> lines = lines_of(complaints_text(version, false));
    if (lines.back().empty()) lines.pop_back();
    std::move(lines.begin(), lines.end(), std::back_inserter(outcome.complaints));
    return;
  }
  judge(version, session_, {}, {}, runs_at_once);
  for (CaseOutcome& each :
       case_outcomes({&*version.circuit, &version.verification, &version.runs}))
    outcome.cases.push_back(std::move(each));
  if (records == nullptr) return;
  for (CaseRecord& each :
       case_records(*version.circuit, version.verification, version.runs))
    records->push_back(std::move(each));
}

}  // namespace benchproof
