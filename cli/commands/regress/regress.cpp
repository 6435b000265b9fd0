#include <fmt/format.h>
#include <sys/stat.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cstddef>
#include <cstdint>
#include <ctime>
#include <exception>
#include <filesystem>
#include <fstream>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <sstream>
#include <string>
#include <string_view>
#include <system_error>
#include <thread>
#include <utility>
#include <variant>
#include <vector>

#include "cli/commands/command_line/command.h"
#include "cli/commands/command_line/shared_options.h"
#include "cli/commands/files/folder.h"
#include "cli/commands/files/input.h"
#include "cli/commands/files/reading.h"
#include "cli/commands/files/write_file.h"
#include "cli/commands/judging/progress.h"
#include "cli/commands/output.h"
#include "cli/commands/regress/examiner.h"
#include "cli/commands/regress/merge.h"
#include "cli/commands/regress/outcome_spool.h"
#include "cli/commands/regress/result_cache.h"
#include "cli/render/page/page_report.h"
#include "cli/render/regress/regress_json.h"
#include "cli/render/regress/regress_tests.h"
#include "cli/render/regress/regress_text.h"
#include "core/base/threads.h"
#include "core/circuit/entries/own_catalogue.h"

namespace benchproof {
namespace {

struct RegressOptions {
  std::vector<std::string> paths;  ///< Folders and descriptions.
  std::vector<std::string> filters;
  int jobs = 0;                     ///< Solving at a time; 0: as many as processors.
  std::string changed_since;        ///< "last", a file, or a local time; empty: all.
  std::string shard;                ///< "2/4"; empty: all of the library.
  std::vector<std::string> merged;  ///< Reports of shards, in place of `paths`.
  bool record = false;
  std::string junit;  ///< A file for JUnit XML; empty: none.
  std::string pages;  ///< A folder for pages; empty: none.
  bool tap = false;
  bool json = false;
  bool all = false;
  bool allow_unsealed = false;
};

/// "2/4": the second of four. All of the library where nothing is given.
Shard parse_shard(const std::string& text) {
  Shard shard;
  if (text.empty()) return shard;
  char slash = '\0';
  std::istringstream stream(text);
  stream >> shard.part >> slash >> shard.of;
  if (!stream || slash != '/' || !stream.eof() || shard.part < 1 ||
      shard.part > shard.of || shard.of > kMostShards)
    throw UsageError("--shard", "'" + text + "' is not K/N, as in 2/4");
  return shard;
}

void check_usage(const RegressOptions& options) {
  if (options.merged.empty() && options.paths.empty())
    throw UsageError("DIR is required");
  if (!options.merged.empty() && (!options.paths.empty() || options.record))
    throw UsageError("--merge", "solves nothing: no DIR, no --record");
  if (!options.pages.empty() && (!options.merged.empty() || !options.shard.empty() ||
                                 !options.changed_since.empty()))
    throw UsageError("--report",
                     "is of a whole library: without --merge, --shard and "
                     "--changed-since");
  if (std::count(options.paths.begin(), options.paths.end(), "-") > 0)
    throw UsageError("DIR", "standard input has no place for results");
}

/// How many circuits have been looked at.
struct Count {
  std::atomic<std::size_t> done = 0;
  std::atomic<std::size_t> failed = 0;

  void add(bool passed) {
    ++done;
    if (!passed) ++failed;
  }
};

/// The numbers of files, the longest first: whatever takes long is then begun early,
/// and no thread is left with it at the end.
std::vector<std::size_t> longest_first(const std::vector<std::string>& files) {
  std::vector<std::pair<std::uintmax_t, std::size_t>> lengths;
  for (std::size_t k = 0; k < files.size(); ++k) {
    std::error_code unknown;
    const std::uintmax_t bytes = std::filesystem::file_size(files[k], unknown);
    lengths.emplace_back(unknown ? 0 : bytes, k);
  }
  std::stable_sort(lengths.begin(), lengths.end(),
                   [](const auto& a, const auto& b) { return a.first > b.first; });
  std::vector<std::size_t> order;
  for (const auto& [bytes, k] : lengths) order.push_back(k);
  return order;
}

/// The outcomes of a list of files, worked out by several threads.
class Examined {
 public:
  /// `jobs` threads are to work on them.
  Examined(const Examination& examination, const std::vector<std::string>& files,
           std::size_t jobs)
      : examination_(examination),
        files_(files),
        jobs_(jobs),
        order_(longest_first(files)),
        outcomes_(std::make_shared<OutcomeSpool>(files)),
        is_done_(files.size(), 0) {}

  /// Examines files that nobody else has begun, until there are none, with a worker of
  /// its own. For any number of threads.
  void work() {
    try {
      Examiner examiner(examination_);
      const auto is_idle = [this] { return jobs_ > 1 && next_ >= files_.size(); };
      for (std::size_t n = next_++; n < files_.size(); n = next_++) {
        const std::size_t k = order_[n];
        std::optional<CircuitOutcome> outcome = examiner.examine(files_[k], is_idle);
        const bool is_passed = !outcome || passes(*outcome);
        if (outcome) outcomes_->put(k, *std::move(outcome));  // A catalogue has none.
        is_done_[k] = 1;
        count_.add(is_passed);
      }
      const std::scoped_lock lock(words_mutex_);
      if (seal_news_.empty()) seal_news_ = examiner.seal_news();
    } catch (const std::exception&) {
      // Told by `take_outcomes`: here there may be no memory for words.
      const std::scoped_lock lock(words_mutex_);
      trouble_ = std::current_exception();
    }
  }

  /// "12 of 300 circuits, 1 not passed". For any thread.
  [[nodiscard]] std::string progress_line() const {
    const std::size_t failed = count_.failed;
    return fmt::format("{} of {} circuits{}", count_.done.load(), files_.size(),
                       failed > 0 ? fmt::format(", {} not passed", failed) : "");
  }

  /// The complaint about the seal, once all threads have ended; empty if there is none.
  [[nodiscard]] const std::string& seal_news() const { return seal_news_; }

  /// The outcomes in the order of the files, once all threads have ended.
  [[nodiscard]] std::shared_ptr<const OutcomeSpool> take_outcomes() {
    for (std::size_t k = 0; k < files_.size(); ++k) {
      if (is_done_[k]) continue;
      CircuitOutcome lost;
      lost.file = files_[k];
      lost.trouble = trouble();
      lost.is_unanswered = true;
      outcomes_->put(k, std::move(lost));
    }
    return outcomes_;
  }

 private:
  /// What ended a thread before its time; empty: nothing.
  [[nodiscard]] std::string trouble() const {
    if (!trouble_) return "";
    try {
      std::rethrow_exception(trouble_);
    } catch (const std::exception& error) {
      return exception_text(error);
    }
  }

  const Examination& examination_;
  const std::vector<std::string>& files_;
  std::size_t jobs_;
  std::vector<std::size_t> order_;  ///< In which they are begun.
  std::shared_ptr<OutcomeSpool> outcomes_;
  std::vector<char> is_done_;
  std::atomic<std::size_t> next_ = 0;
  Count count_;
  std::mutex words_mutex_;  ///< For what follows.
  std::string seal_news_;
  std::exception_ptr trouble_;
};

/// Examines all files, some at a time. `jobs` is 0 for as many as processors. Returns
/// their outcomes in the order of the files; puts what is to be told of the seal into
/// `seal_news`.
std::shared_ptr<const OutcomeSpool> examine_all(const Examination& examination,
                                                int jobs,
                                                const std::vector<std::string>& files,
                                                std::string& seal_news) {
  const std::size_t wanted =
      jobs > 0 ? static_cast<std::size_t>(jobs)
               : std::max<std::size_t>(1, std::thread::hardware_concurrency());
  Examined examined(examination, files, wanted);
  {
    const Progress progress(
        [&examined](std::chrono::seconds) { return examined.progress_line(); },
        std::chrono::milliseconds(100));
    on_threads(
        static_cast<unsigned>(std::min(wanted, std::max<std::size_t>(1, files.size()))),
        [&examined](unsigned) { examined.work(); });
  }
  seal_news = examined.seal_news();
  return examined.take_outcomes();
}

/// When a file was changed last, as seconds and nanoseconds.
using FileTime = std::pair<std::time_t, long>;

std::optional<FileTime> time_of(const std::string& path) {
  struct stat status = {};
  if (::stat(path.c_str(), &status) != 0) return std::nullopt;
  return FileTime{status.st_mtim.tv_sec, status.st_mtim.tv_nsec};
}

/// "2026-11-25", "2026-11-25 18:30", "2026-11-25T18:30:10": local time.
std::optional<FileTime> parse_time(const std::string& text) {
  for (const char* form : {"%Y-%m-%d", "%Y-%m-%d %H:%M", "%Y-%m-%d %H:%M:%S",
                           "%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S"}) {
    std::tm parts = {};
    const char* end = ::strptime(text.c_str(), form, &parts);
    if (end == nullptr || *end != '\0') continue;
    parts.tm_isdst = -1;
    const std::time_t seconds = std::mktime(&parts);
    if (seconds != -1) return FileTime{seconds, 0};
  }
  return std::nullopt;
}

/// Whether a description, its record or its own catalogue was changed after a time. A
/// file whose time is not known counts as changed.
bool is_changed_since(const std::string& path, const FileTime& since) {
  const Input input = read_input(path, Limits().bytes);
  std::vector<std::string> files{path};
  if (const auto own = own_catalogue(input.bytes))
    files.push_back(path.substr(0, path.find_last_of('/') + 1) + own->path);
  for (const BlockFile& file : read_block_files(path, input.bytes))
    files.push_back(path.substr(0, path.find_last_of('/') + 1) + file.path);
  for (const std::string& file : files) {
    const auto changed = time_of(file);
    if (!changed || *changed > since) return true;
  }
  const auto recorded = time_of(recorded_path(path));
  return recorded && *recorded > since;
}

constexpr std::string_view kLast = "last";

/// Reads the moment that --changed-since names: none for "last", and where it is not
/// given. Returns in words what is wrong with it.
std::variant<std::optional<FileTime>, std::string> moment_of(const std::string& text) {
  if (text.empty() || text == kLast) return std::optional<FileTime>();
  if (const auto time = time_of(text)) return time;
  if (const auto time = parse_time(text)) return time;
  return fmt::format(
      "'{}' is neither 'last', nor a file, nor a time as in '2026-11-25 18:30'",
      printable(text));
}

int complain(const std::string& text) {
  write_error(fmt::format("benchproof: {}\n", text));
  return kExitRefused;
}

/// Writes a report piece by piece. Returns `status`, or where it did not get through at
/// least kExitRefused.
int write_pieces(const std::function<void(const PutText&)>& put_report, int status) {
  constexpr std::size_t kBytes = 1U << 16U;
  std::string pieces;
  bool is_written = true;
  put_report([&](std::string_view piece) {
    pieces += piece;
    if (pieces.size() < kBytes) return;
    is_written = is_written && write_result(pieces);
    pieces.clear();
  });
  is_written = is_written && write_result(pieces);
  return is_written ? status : std::max(status, kExitRefused);
}

/// Writes the report in the forms asked for. Returns the exit status.
int write_report(const RegressReport& report, const RegressOptions& options) {
  int status = report.sum.status;
  if (!options.junit.empty()) {
    const std::string failure = write_file(
        options.junit, [&report](const PutText& put) { put_junit_xml(report, put); },
        Durability::none);
    if (!failure.empty())
      status = std::max(
          status, complain(fmt::format("{}: {}", printable(options.junit), failure)));
  }
  const auto put_report = [&](const PutText& put) {
    if (options.json) {
      put_regress_json(report, put);
      put("\n");
    } else if (options.tap) {
      put_tap_text(report, put);
    } else {
      put_regress_text(report, {wants_colour(), options.all}, put);
    }
  };
  return write_pieces(put_report, status);
}

/// Whether a file passes one of the filters; all do where there are none.
bool is_wanted(const std::string& file, const std::vector<std::string>& filters) {
  return filters.empty() ||
         std::any_of(filters.begin(), filters.end(), [&file](const std::string& f) {
           return matches_pattern(file, f);
         });
}

/// The files of a list that belong to a shard.
std::vector<std::string> files_of_shard(const std::vector<std::string>& files,
                                        const Shard& shard) {
  std::vector<std::string> own;
  for (std::size_t k = 0; k < files.size(); ++k)
    if (static_cast<int>(k % static_cast<std::size_t>(shard.of)) + 1 == shard.part)
      own.push_back(files[k]);
  return own;
}

/// The descriptions to prove. Tells what cannot be read and what is left over, and
/// raises `status`; none where nothing fits.
std::vector<std::string> wanted_files(const RegressOptions& options, const Shard& shard,
                                      int& status) {
  FoundFiles found = find_descriptions(options.paths);
  const auto refuse = [&status](const std::string& problem) {
    status = std::max(status, complain(problem));
  };
  for (const std::string& failure : found.failures) refuse(printable(failure));
  for (const std::string& orphan : found.orphans)
    if (shard.part == 1)
      refuse(
          fmt::format("{}: there is no description beside it; rename it with its "
                      "circuit, or remove it",
                      printable(orphan)));
  std::erase_if(found.files, [&options](const std::string& file) {
    return !is_wanted(file, options.filters);
  });
  std::vector<std::string> files = files_of_shard(found.files, shard);
  if (files.empty() && shard.of == 1)
    refuse(options.filters.empty() ? "there is no description there"
                                   : "no description has such a name");
  return files;
}

/// The results kept from earlier runs; warns where they cannot be had.
std::optional<ResultCache> open_cache() {
  std::optional<ResultCache> cache(std::in_place);
  if (!cache->failure().empty())
    write_error(fmt::format("benchproof: warning: earlier results are not known: {}\n",
                            printable(cache->failure())));
  return cache;
}

/// The files of the pages of a library, and of their index.
struct PageFiles {
  std::map<std::string, std::string> pages;  ///< By the descriptions' paths.
  std::string index;                         ///< In the same folder.
};

/// Whether a file may be written: there is none, or it is an earlier page of this
/// program.
bool may_be_replaced(const std::string& path) {
  std::error_code unknown;
  if (!std::filesystem::exists(path, unknown) && !unknown) return true;
  if (!std::filesystem::is_regular_file(path, unknown)) return false;
  constexpr std::size_t kHead = 4096;
  std::string head(kHead, '\0');
  std::ifstream file(path, std::ios::binary);
  file.read(head.data(), static_cast<std::streamsize>(head.size()));
  head.resize(static_cast<std::size_t>(file.gcount()));
  return head.find(page_mark()) != std::string::npos;
}

/// Chooses the pages' files and makes their folder. Returns in words why they cannot be
/// written; nothing that stands there is touched.
std::variant<PageFiles, std::vector<std::string>> page_files(
    const std::string& folder, const std::vector<std::string>& files) {
  std::error_code failure;
  std::filesystem::create_directories(folder, failure);
  if (failure)
    return std::vector<std::string>{
        fmt::format("{}: {}", printable(folder), failure.message())};
  PageFiles chosen;
  const std::string base = folder.ends_with('/') ? folder : folder + "/";
  chosen.index = base + "index.html";
  const std::vector<std::string> names = page_names(files);
  std::vector<std::string> problems;
  const auto check = [&problems](const std::string& path) {
    if (!may_be_replaced(path))
      problems.push_back(fmt::format(
          "{}: it is no page of 'regress', and stays as it is; choose another folder",
          printable(path)));
  };
  check(chosen.index);
  for (std::size_t k = 0; k < files.size(); ++k) {
    check(base + names[k]);
    chosen.pages[files[k]] = base + names[k];
  }
  if (!problems.empty()) return problems;
  return chosen;
}

/// Writes the index of the pages. Returns the exit status.
int write_index(const RegressReport& report, const PageFiles& files) {
  const std::size_t folder = files.index.find_last_of('/') + 1;
  PageIndex index;
  report.each([&](const CircuitOutcome& outcome) {
    const bool has_page = outcome.complaints.empty() && !outcome.is_unanswered;
    index.add({outcome, has_page ? files.pages.at(outcome.file).substr(folder) : ""});
  });
  const std::string failure =
      write_file(files.index, index.html(report.head), Durability::none);
  if (failure.empty()) return kExitGood;
  return complain(fmt::format("{}: {}", printable(files.index), failure));
}

/// Writes the report of shards put together. Returns the exit status.
int run_merge(const RegressOptions& options) {
  const auto report = merge_shards(options.merged);
  if (const auto* problems = std::get_if<std::vector<std::string>>(&report)) {
    for (const std::string& problem : *problems) complain(problem);
    return kExitRefused;
  }
  return write_report(std::get<RegressReport>(report), options);
}

/// Proves every circuit of a library, and holds each to its recorded results. Returns
/// the exit status.
int run_regress(const RegressOptions& options) {
  const Shard shard = parse_shard(options.shard);
  check_usage(options);
  if (!options.merged.empty()) return run_merge(options);
  if (options.junit.ends_with(".toml"))
    return complain(fmt::format("--junit {}: that name is a description's",
                                printable(options.junit)));
  const auto moment = moment_of(options.changed_since);
  if (const auto* problem = std::get_if<std::string>(&moment))
    return complain(*problem);
  const std::optional<FileTime>& since = std::get<0>(moment);

  int status = kExitGood;
  std::vector<std::string> files = wanted_files(options, shard, status);
  if (files.empty() && shard.of == 1) return status;

  RegressHead head;
  head.program = BENCHPROOF_VERSION;
  head.paths = options.paths;
  head.filters = options.filters;
  head.shard = shard;
  if (since)
    head.passed_over =
        static_cast<int>(std::erase_if(files, [&since](const std::string& f) {
          return !is_changed_since(f, *since);
        }));

  const std::optional<ResultCache> cache =
      options.changed_since == kLast ? open_cache() : std::nullopt;
  const Catalogue catalogue = built_in_catalogue();
  PageFiles pages;
  if (!options.pages.empty()) {
    auto chosen = page_files(options.pages, files);
    if (const auto* problems = std::get_if<std::vector<std::string>>(&chosen)) {
      for (const std::string& problem : *problems) complain(problem);
      return kExitRefused;
    }
    pages = std::get<PageFiles>(std::move(chosen));
  }
  const Examination examination{catalogue, options.record, options.allow_unsealed,
                                cache ? &*cache : nullptr,
                                options.pages.empty() ? nullptr : &pages.pages};
  std::string seal_news;
  const std::shared_ptr<const OutcomeSpool> outcomes =
      examine_all(examination, options.jobs, files, seal_news);
  write_error(seal_news);
  if (cache) cache->forget_old();
  const RegressReport report{
      std::move(head), outcomes->sum(),
      [outcomes](const TakeCircuit& take) { outcomes->each(take); }};
  if (!options.pages.empty()) status = std::max(status, write_index(report, pages));
  return std::max(status, write_report(report, options));
}

}  // namespace

Command regress_command() {
  const auto given = std::make_shared<RegressOptions>();
  Options options;
  options.argument("DIR", "folders and descriptions", given->paths)
      .names(Meaning::library);
  options.repeated("--filter", "PATTERN",
                   "only names that hold this, or are like 'led*'", given->filters);
  options.number("--jobs", "COUNT", "so many at a time; else one a processor",
                 given->jobs, 1, 64);
  options
      .text("--changed-since", "WHEN",
            "what changed since a time or a file; 'last':\n"
            "what did not pass before as it is now",
            given->changed_since)
      .names(Meaning::file);
  options.text("--shard", "K/N", "the Kth of N parts of the library", given->shard);
  options
      .list("--merge", "FILE...", "put the JSON reports of shards together",
            given->merged)
      .names(Meaning::file)
      .excludes = "--shard";
  options.flag("--record", "write the results beside the circuits that pass",
               given->record);
  options.text("--junit", "FILE", "write JUnit XML as well", given->junit)
      .names(Meaning::file);
  options
      .text("--report", "DIR", "a page of each circuit there, and an index of them",
            given->pages)
      .names(Meaning::file);
  options.flag("--tap", "as TAP 14", given->tap);
  options.flag("--json", "as JSON", given->json).excludes = "--tap";
  options.flag("--all", "every circuit, and everything that moved", given->all);
  add_unsealed(options, given->allow_unsealed);
  return {"regress", "prove a library of circuits, against records", std::move(options),
          [given] { return run_regress(*given); }};
}

}  // namespace benchproof
