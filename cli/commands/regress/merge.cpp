#include "cli/commands/regress/merge.h"

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <sys/resource.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <queue>
#include <stdexcept>
#include <system_error>
#include <utility>

#include "cli/render/regress/regress_json.h"
#include "cli/render/regress/report_pieces.h"
#include "core/base/diagnostic.h"

namespace benchproof {
namespace {

constexpr std::string_view kNotOurs = "it is not what 'regress --json' writes";

/// The circuits of one shard, as its file is read.
class ShardFile {
 public:
  explicit ShardFile(const std::string& path)
      : path_(path),
        file_(std::fopen(path.c_str(), "rbe"), &std::fclose),
        pieces_([this](char* place, std::size_t most) {
          return file_ ? std::fread(place, 1, most, file_.get()) : 0;
        }) {
    if (!file_) failure_ = fmt::format("cannot be read: {}", std::strerror(errno));
  }
  ShardFile(const ShardFile&) = delete;
  ShardFile& operator=(const ShardFile&) = delete;

  /// Goes to the next circuit. False behind the last one, and where something is wrong.
  bool next() {
    if (!failure_.empty()) return false;
    const std::optional<std::string> text = pieces_.next();
    if (!text) {
      if (pieces_.is_broken()) failure_ = kNotOurs;
      return false;
    }
    std::optional<CircuitOutcome> circuit = read_outcome_json(*text);
    // They are written in the order of their names.
    if (!circuit || (is_any_ && circuit->file <= circuit_.file)) {
      failure_ = kNotOurs;
      return false;
    }
    circuit_ = *std::move(circuit);
    is_any_ = true;
    return true;
  }

  [[nodiscard]] const CircuitOutcome& circuit() const { return circuit_; }
  [[nodiscard]] const std::string& path() const { return path_; }
  [[nodiscard]] const std::string& failure() const { return failure_; }

  /// What stands beside the circuits, once all have been gone over.
  [[nodiscard]] std::variant<RegressHead, std::string> head() const {
    if (!failure_.empty()) return failure_;
    return read_regress_head(pieces_.rest());
  }

 private:
  std::string path_;
  std::unique_ptr<std::FILE, int (*)(std::FILE*)> file_;
  ReportPieces pieces_;
  CircuitOutcome circuit_;
  bool is_any_ = false;
  std::string failure_;
};

/// A shard that was read once.
struct ShardSum {
  RegressHead head;
  RegressTally sum;
};

/// Reads a report to its end, and counts; or says what is wrong.
std::variant<ShardSum, std::string> count_shard(const std::string& path) {
  std::error_code unknown;
  if (!std::filesystem::is_regular_file(path, unknown))
    return "is no ordinary file; a report is read more than once";
  ShardFile file(path);
  ShardSum shard;
  while (file.next()) add(shard.sum, file.circuit());
  auto head = file.head();
  if (auto* problem = std::get_if<std::string>(&head))
    return "cannot be merged: " + *problem;
  shard.head = std::get<RegressHead>(std::move(head));
  return shard;
}

/// As many files are open at once as there are shards.
void raise_file_limit() {
  rlimit limit{};
  if (::getrlimit(RLIMIT_NOFILE, &limit) != 0) return;
  limit.rlim_cur = limit.rlim_max;
  static_cast<void>(::setrlimit(RLIMIT_NOFILE, &limit));
}

/// Goes over the circuits of all shards in the order of their names.
void go_over(const std::vector<std::string>& files, const TakeCircuit& take) {
  const auto comes_later = [](const ShardFile* a, const ShardFile* b) {
    return a->circuit().file > b->circuit().file;
  };
  std::vector<std::unique_ptr<ShardFile>> shards;
  std::priority_queue<ShardFile*, std::vector<ShardFile*>, decltype(comes_later)> next(
      comes_later);
  const auto advance = [&next](ShardFile* shard) {
    if (shard->next())
      next.push(shard);
    else if (!shard->failure().empty())
      throw std::runtime_error(printable(shard->path()) +
                               " was changed while it was merged");
  };
  for (const std::string& path : files) {
    shards.push_back(std::make_unique<ShardFile>(path));
    advance(shards.back().get());
  }
  while (!next.empty()) {
    ShardFile* shard = next.top();
    next.pop();
    take(shard->circuit());
    advance(shard);
  }
}

/// A word as a shell takes it.
std::string shell_word(const std::string& word) {
  const bool is_plain =
      !word.empty() && word.find_first_not_of(
                           "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
                           "0123456789_-./+,:@%") == std::string::npos;
  if (is_plain) return word;
  std::string quoted = "'";
  for (const char c : word) quoted += c == '\'' ? std::string("'\\''") : std::string{c};
  return quoted + "'";
}

/// The command that looks at a shard again.
std::string command_for(const RegressHead& head, int part) {
  std::string command = "benchproof regress";
  for (const std::string& path : head.paths) command += " " + shell_word(path);
  for (const std::string& filter : head.filters)
    command += " --filter " + shell_word(filter);
  return fmt::format("{} --shard {}/{} --json", command, part, head.shard.of);
}

/// Which shards of how many are missing, with the command for each; empty if none.
std::vector<std::string> missing_shards(const RegressHead& head,
                                        const std::vector<bool>& has_part) {
  constexpr std::size_t kMostTold = 16;
  std::vector<int> missing;
  for (std::size_t k = 0; k < has_part.size(); ++k)
    if (!has_part[k]) missing.push_back(static_cast<int>(k) + 1);
  if (missing.empty()) return {};
  if (missing.size() > kMostTold)
    return {
        fmt::format("of {} shards, {} are missing", has_part.size(), missing.size())};
  std::vector<std::string> lines = {
      fmt::format("of {} shards, {} {} missing; to look at again:", has_part.size(),
                  fmt::join(missing, ", "), missing.size() > 1 ? "are" : "is")};
  for (const int part : missing)
    lines.push_back("  " + printable(command_for(head, part)));
  return lines;
}

/// Puts shards together one after the other.
class Merging {
 public:
  void add_file(const std::string& path) {
    const std::string name = printable(path);
    const auto counted = count_shard(path);
    if (const auto* problem = std::get_if<std::string>(&counted)) {
      problems_.push_back(fmt::format("{} {}", name, *problem));
      return;
    }
    const auto& shard = std::get<ShardSum>(counted);
    if (first_.empty()) {
      first_ = name;
      head_ = shard.head;
      head_.shard = {};
      head_.passed_over = 0;
      of_ = shard.head.shard.of;
      has_part_.resize(static_cast<std::size_t>(of_));
    }
    add_shard(shard, name);
  }

  /// What is wrong; empty where nothing is.
  [[nodiscard]] std::vector<std::string> problems() const {
    std::vector<std::string> lines = problems_;
    RegressHead asked = head_;
    asked.shard.of = of_;
    for (std::string& line : missing_shards(asked, has_part_))
      lines.push_back(std::move(line));
    return lines;
  }

  [[nodiscard]] const RegressHead& head() const { return head_; }
  [[nodiscard]] const RegressTally& sum() const { return sum_; }

 private:
  void add_shard(const ShardSum& shard, const std::string& name) {
    const RegressHead& head = shard.head;
    if (head.program != head_.program || head.paths != head_.paths ||
        head.filters != head_.filters || head.shard.of != of_) {
      problems_.push_back(fmt::format(
          "{} does not belong to {}: version, paths, filters and number of shards must "
          "be the same",
          name, first_));
      return;
    }
    const auto part = static_cast<std::size_t>(head.shard.part - 1);
    if (has_part_[part]) {
      problems_.push_back(fmt::format("{} is shard {} of {} once more", name,
                                      head.shard.part, head.shard.of));
      return;
    }
    has_part_[part] = true;
    head_.passed_over += head.passed_over;
    add(sum_, shard.sum);
  }

  std::string first_;  ///< The file that the others must belong to.
  RegressHead head_;
  int of_ = 1;
  RegressTally sum_;
  std::vector<bool> has_part_;
  std::vector<std::string> problems_;
};

}  // namespace

std::variant<RegressReport, std::vector<std::string>> merge_shards(
    const std::vector<std::string>& files) {
  raise_file_limit();
  Merging merging;
  for (const std::string& file : files) merging.add_file(file);
  std::vector<std::string> problems = merging.problems();
  if (!problems.empty()) return problems;
  RegressReport report;
  report.head = merging.head();
  report.sum = merging.sum();
  report.each = [files](const TakeCircuit& take) { go_over(files, take); };
  return report;
}

}  // namespace benchproof
