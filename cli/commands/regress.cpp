#include "cli/commands/regress.h"

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <sys/stat.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cstddef>
#include <ctime>
#include <exception>
#include <mutex>
#include <optional>
#include <system_error>
#include <thread>
#include <utility>
#include <variant>

#include "cli/commands/examiner.h"
#include "cli/commands/folder.h"
#include "cli/commands/input.h"
#include "cli/commands/output.h"
#include "cli/commands/progress.h"
#include "cli/commands/result_cache.h"
#include "cli/commands/write_file.h"
#include "cli/render/regress_json.h"
#include "cli/render/regress_tests.h"
#include "cli/render/regress_text.h"
#include "core/circuit/read/own_catalogue.h"

namespace benchproof {
namespace {

/// How many circuits have been looked at.
struct Count {
  std::atomic<std::size_t> done = 0;
  std::atomic<std::size_t> failed = 0;

  void add(bool passed) {
    ++done;
    if (!passed) ++failed;
  }
};

/// Looks at all files, some at a time, each by a thread with a worker of its own.
/// Returns their outcomes in the order of the files; puts what is to be told of the
/// seal into `news`.
std::vector<CircuitOutcome> examine_all(const Examination& examination,
                                        const std::vector<std::string>& files,
                                        std::string& news) {
  std::vector<std::optional<CircuitOutcome>> outcomes(files.size());
  std::vector<char> is_done(files.size(), 0);
  std::atomic<std::size_t> next = 0;
  std::mutex news_mutex;
  std::string trouble;
  Count count;
  const auto work = [&] {
    try {
      Examiner examiner(examination);
      for (std::size_t k = next++; k < files.size(); k = next++) {
        outcomes[k] = examiner.examine(files[k]);
        is_done[k] = 1;
        count.add(!outcomes[k] || passes(*outcomes[k]));
      }
      const std::scoped_lock lock(news_mutex);
      if (news.empty()) news = examiner.seal_news();
    } catch (const std::exception& error) {
      const std::scoped_lock lock(news_mutex);
      trouble = told(error);
    }
  };
  const std::size_t wanted =
      examination.options.jobs > 0
          ? static_cast<std::size_t>(examination.options.jobs)
          : std::max<std::size_t>(1, std::thread::hardware_concurrency());
  {
    const Progress progress(
        [&count, total = files.size()](std::chrono::seconds) {
          const std::size_t failed = count.failed;
          return fmt::format("{} of {} circuits{}", count.done.load(), total,
                             failed > 0 ? fmt::format(", {} not passed", failed) : "");
        },
        std::chrono::milliseconds(100));
    std::vector<std::jthread> threads;
    try {
      for (std::size_t k = 0; k < std::min(wanted, files.size()); ++k)
        threads.emplace_back(work);
    } catch (const std::system_error&) {
      // Threads that cannot be had are done without.
    }
    if (threads.empty()) work();
  }
  std::vector<CircuitOutcome> found;
  for (std::size_t k = 0; k < files.size(); ++k) {
    if (!is_done[k]) {
      outcomes[k].emplace();
      outcomes[k]->file = files[k];
      outcomes[k]->trouble = trouble;
    }
    if (outcomes[k]) found.push_back(std::move(*outcomes[k]));
  }
  return found;
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

/// Whether a description, its record or its own catalogue was changed after a time.
/// One of which that cannot be told counts as changed.
bool is_changed_since(const std::string& path, const FileTime& since) {
  const Input input = read_input(path, Limits().bytes);
  std::vector<std::string> files{path};
  if (const auto own = own_catalogue(input.bytes))
    files.push_back(path.substr(0, path.find_last_of('/') + 1) + own->path);
  for (const std::string& file : files) {
    const auto changed = time_of(file);
    if (!changed || *changed > since) return true;
  }
  const auto recorded = time_of(recorded_path(path));
  return recorded && *recorded > since;
}

constexpr std::string_view kLast = "last";

/// The moment that --changed-since names; nothing for "last" and where it is not given.
/// Or what is wrong with it.
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

/// Reads the reports of shards and puts them together; or says what is wrong.
std::variant<RegressReport, std::string> merged(const std::vector<std::string>& files) {
  constexpr std::size_t kMostBytes = 32U << 20U;  // Of some 15,000 circuits.
  RegressReport sum;
  std::vector<bool> has_part;
  for (const std::string& file : files) {
    const std::string name = printable(file);
    const Input input = read_input(file, kMostBytes);
    if (!input.failure.empty()) return fmt::format("{} {}", name, input.failure);
    if (input.bytes.size() > kMostBytes)
      return fmt::format("{} is larger than 32 MiB", name);
    auto read = read_regress_json(input.bytes);
    if (const auto* problem = std::get_if<std::string>(&read))
      return fmt::format("{} cannot be merged: {}", name, *problem);
    auto& report = std::get<RegressReport>(read);
    const Shard& shard = report.shard;
    if (has_part.empty()) {
      sum.program = report.program;
      sum.paths = report.paths;
      sum.filters = report.filters;
      has_part.resize(static_cast<std::size_t>(std::max(1, shard.of)));
    }
    if (report.program != sum.program || report.paths != sum.paths ||
        report.filters != sum.filters ||
        static_cast<std::size_t>(shard.of) != has_part.size())
      return fmt::format(
          "{} does not belong to {}: version, paths, filters and number of shards must "
          "be the same",
          name, printable(files.front()));
    const auto part = static_cast<std::size_t>(shard.part - 1);
    if (part >= has_part.size()) return fmt::format("{} is no shard", name);
    if (has_part[part])
      return fmt::format("{} is shard {} of {} once more", name, shard.part, shard.of);
    has_part[part] = true;
    sum.passed_over += report.passed_over;
    std::move(report.circuits.begin(), report.circuits.end(),
              std::back_inserter(sum.circuits));
  }
  std::vector<std::size_t> missing;
  for (std::size_t k = 0; k < has_part.size(); ++k)
    if (!has_part[k]) missing.push_back(k + 1);
  constexpr std::size_t kMostTold = 16;
  if (missing.size() > kMostTold)
    return fmt::format("of {} shards, {} are missing", has_part.size(), missing.size());
  if (!missing.empty())
    return fmt::format("of {} shards, {} {} missing", has_part.size(),
                       fmt::join(missing, ", "), missing.size() > 1 ? "are" : "is");
  std::sort(
      sum.circuits.begin(), sum.circuits.end(),
      [](const CircuitOutcome& a, const CircuitOutcome& b) { return a.file < b.file; });
  return sum;
}

/// Writes the report in the forms asked for. Returns the exit status.
int write_report(const RegressReport& report, const RegressOptions& options) {
  int status = exit_status(report);
  if (!options.junit.empty()) {
    const std::string failure =
        write_file(options.junit, junit_xml(report), Durability::none);
    if (!failure.empty())
      status = std::max(
          status, complain(fmt::format("{}: {}", printable(options.junit), failure)));
  }
  const std::string text = options.json ? regress_json(report) + "\n"
                           : options.tap
                               ? tap_text(report)
                               : regress_text(report, {wants_colour(), options.all});
  return write_result(text) ? status : std::max(status, kExitRefused);
}

}  // namespace

int run_regress(const RegressOptions& options) {
  if (!options.merged.empty()) {
    const auto report = merged(options.merged);
    if (const auto* problem = std::get_if<std::string>(&report))
      return complain(*problem);
    return write_report(std::get<RegressReport>(report), options);
  }
  if (options.junit.ends_with(".toml"))
    return complain(fmt::format("--junit {}: that name is a description's",
                                printable(options.junit)));
  const auto moment = moment_of(options.changed_since);
  if (const auto* problem = std::get_if<std::string>(&moment))
    return complain(*problem);
  const std::optional<FileTime>& since = std::get<0>(moment);

  FoundFiles found = find_descriptions(options.paths);
  int status = kExitGood;
  for (const std::string& failure : found.failures)
    status = std::max(status, complain(printable(failure)));
  for (const std::string& orphan : found.orphans)
    if (options.shard.part == 1)
      status = std::max(status, complain(fmt::format(
                                    "{}: there is no description beside it; rename it "
                                    "with its circuit, or remove it",
                                    printable(orphan))));
  std::erase_if(found.files, [&options](const std::string& file) {
    return !options.filters.empty() &&
           std::none_of(options.filters.begin(), options.filters.end(),
                        [&file](const std::string& f) { return matches(file, f); });
  });
  std::vector<std::string> files;
  for (std::size_t k = 0; k < found.files.size(); ++k)
    if (static_cast<int>(k % static_cast<std::size_t>(options.shard.of)) + 1 ==
        options.shard.part)
      files.push_back(found.files[k]);
  if (files.empty() && options.shard.of == 1)
    return std::max(
        status, complain(options.filters.empty() ? "there is no description there"
                                                 : "no description has such a name"));

  RegressReport report;
  report.program = BENCHPROOF_VERSION;
  report.paths = options.paths;
  report.filters = options.filters;
  report.shard = options.shard;
  if (since)
    report.passed_over =
        static_cast<int>(std::erase_if(files, [&since](const std::string& f) {
          return !is_changed_since(f, *since);
        }));

  std::optional<ResultCache> cache;
  if (options.changed_since == kLast) {
    cache.emplace();
    if (!cache->failure().empty())
      write_error(
          fmt::format("benchproof: warning: earlier results are not known: {}\n",
                      printable(cache->failure())));
  }
  const Catalogue catalogue = built_in_catalogue();
  std::string news;
  report.circuits =
      examine_all({options, catalogue, cache ? &*cache : nullptr}, files, news);
  write_error(news);
  if (cache) cache->forget_old();
  return std::max(status, write_report(report, options));
}

}  // namespace benchproof
