// Simulated repair: what is built in must come out. The random series begins at
// BENCHPROOF_SEED (20), and each template's own is told from it by its name.
#include <fmt/format.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <functional>
#include <iterator>
#include <random>
#include <string>
#include <vector>

#include "core/circuit/read/reader.h"
#include "tests/known_types.h"
#include "tests/repair/simulated_repair.h"

using namespace benchproof;
using namespace benchproof::test;

namespace {

namespace fs = std::filesystem;

std::uint64_t from_environment_or(const char* name, std::uint64_t otherwise) {
  const char* text = std::getenv(name);
  return text != nullptr ? std::strtoull(text, nullptr, 10) : otherwise;
}

Circuit circuit_of(const fs::path& path) {
  static const Catalogue catalogue = built_in_catalogue();
  std::ifstream file(path);
  const std::string text{std::istreambuf_iterator<char>(file), {}};
  ReadResult read = read_circuit(text, path.filename().string(), catalogue);
  REQUIRE(read.circuit.has_value());
  return *std::move(read.circuit);
}

/// The name's own number: of FNV-1a, so that it is the same everywhere.
std::uint64_t number_of(const std::string& name) {
  std::uint64_t number = 14695981039346656037ULL;
  for (const char c : name)
    number = (number ^ static_cast<unsigned char>(c)) * 1099511628211ULL;
  return number;
}

struct Tally {
  std::size_t tried = 0;
  std::size_t shown = 0;
  std::size_t right = 0;
  std::size_t readings = 0;
  std::size_t most = 0;
  std::size_t by_eye = 0;

  void add(const Repair& repair) {
    ++tried;
    if (!repair.can_be_shown) return;
    ++shown;
    right += repair.is_right ? 1 : 0;
    readings += repair.readings;
    most = std::max(most, repair.readings);
    by_eye += repair.by_eye;
  }
  void add(const Tally& other) {
    tried += other.tried;
    shown += other.shown;
    right += other.right;
    readings += other.readings;
    most = std::max(most, other.most);
    by_eye += other.by_eye;
  }
  [[nodiscard]] std::string row(const std::string& name) const {
    const double count = static_cast<double>(std::max<std::size_t>(shown, 1));
    return fmt::format("{:28} {:6} {:6} {:7.1f} % {:9.2f} {:5} {:8.2f}\n", name, tried,
                       shown, 100.0 * static_cast<double>(right) / count,
                       static_cast<double>(readings) / count, most,
                       static_cast<double>(by_eye) / count);
  }
};

constexpr const char* kHead =
    "circuit                       tried  shown     right  readings  most   by eye\n";

std::string miss_text(const Repair& done) {
  return fmt::format("  {} was taken for {} ({:.3f}, {} readings)\n{}", done.truth,
                     done.found, done.probability, done.readings, done.course);
}

/// Repairs of single faults of one circuit, every `step`th.
Tally repair_singles(const Bench& bench, const std::string& name, std::size_t step,
                     std::string& wrong) {
  std::mt19937_64 random(number_of(name) + from_environment_or("BENCHPROOF_SEED", 20));
  Tally tally;
  for (std::size_t f = random() % step; f < bench.faults.size(); f += step) {
    const Repair done = repair(bench, {static_cast<int>(f), -1}, 12, random);
    tally.add(done);
    if (done.can_be_shown && !done.is_right) wrong += miss_text(done);
  }
  return tally;
}

/// Repairs of pairs of faults drawn at random.
Tally repair_pairs(const Bench& bench, const std::string& name, std::size_t count,
                   std::string& wrong) {
  std::mt19937_64 random(number_of(name) + 1 +
                         from_environment_or("BENCHPROOF_SEED", 20));
  Tally tally;
  for (std::size_t k = 0; k < count && bench.faults.size() > 1; ++k) {
    const auto a = static_cast<int>(random() % bench.faults.size());
    const auto b = static_cast<int>(random() % bench.faults.size());
    if (a == b) continue;
    const Repair done = repair(bench, {std::min(a, b), std::max(a, b)}, 20, random);
    tally.add(done);
    if (done.can_be_shown && !done.is_right) wrong += miss_text(done);
  }
  return tally;
}

}  // namespace

TEST_CASE("a fault that is built into a copy is found", "[repair]") {
  // Three small templates, every eighth fault: the whole is [whole] of tests/long.
  Tally all;
  std::string wrong;
  std::string table = kHead;
  for (const char* name : {"led-single", "night-switch", "supply-5v-fixed"}) {
    const Bench bench = bench_of(circuit_of(fs::path(BENCHPROOF_SOURCE_DIR) /
                                            "circuits" / (std::string(name) + ".toml")),
                                 known_types());
    const Tally tally = repair_singles(bench, name, 8, wrong);
    table += tally.row(name);
    all.add(tally);
  }
  CAPTURE(table, wrong);
  REQUIRE(all.shown >= 10);
  // Asked of the whole are 97 %, at five readings on average.
  CHECK(static_cast<double>(all.right) >= 0.9 * static_cast<double>(all.shown));
  CHECK(static_cast<double>(all.readings) <= 5.0 * static_cast<double>(all.shown));
}

TEST_CASE("every fault of every template is found", "[.][whole]") {
  // BENCHPROOF_STEP: every so many faults; BENCHPROOF_SAMPLES: pairs of each template;
  // BENCHPROOF_PART "K/N": of the templates in order, those whose number is K of N.
  const std::size_t step = from_environment_or("BENCHPROOF_STEP", 1);
  const std::size_t pairs = from_environment_or("BENCHPROOF_SAMPLES", 10);
  std::vector<fs::path> paths;
  for (const auto& entry :
       fs::directory_iterator(fs::path(BENCHPROOF_SOURCE_DIR) / "circuits"))
    if (entry.path().extension() == ".toml" &&
        entry.path().string().find(".recorded.") == std::string::npos)
      paths.push_back(entry.path());
  std::sort(paths.begin(), paths.end());
  const std::size_t parts = from_environment_or("BENCHPROOF_OF", 1);
  const std::size_t part = from_environment_or("BENCHPROOF_PART", 0);
  Tally singles_of_all;
  Tally pairs_of_all;
  fmt::print("{}", kHead);
  for (std::size_t k = part; k < paths.size(); k += parts) {
    const std::string name = paths[k].stem().string();
    const auto begun = std::chrono::steady_clock::now();
    const Bench bench = bench_of(circuit_of(paths[k]), known_types());
    std::string wrong;
    const Tally single = repair_singles(bench, name, step, wrong);
    singles_of_all.add(single);
    fmt::print("{}", single.row(name));
    const Tally pair = repair_pairs(bench, name, pairs, wrong);
    pairs_of_all.add(pair);
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - begun;
    fmt::print("{}{}  ({:.1f} s)\n", pair.row("  pairs"), wrong, took.count());
    std::fflush(stdout);
  }
  fmt::print("{}{}", singles_of_all.row("all singles"), pairs_of_all.row("all pairs"));
  CHECK(static_cast<double>(singles_of_all.right) >=
        0.97 * static_cast<double>(singles_of_all.shown));
  CHECK(static_cast<double>(singles_of_all.readings) <=
        5.0 * static_cast<double>(singles_of_all.shown));
  CHECK(static_cast<double>(pairs_of_all.right) >=
        0.85 * static_cast<double>(pairs_of_all.shown));
  CHECK(static_cast<double>(pairs_of_all.readings) <=
        12.0 * static_cast<double>(pairs_of_all.shown));
}
