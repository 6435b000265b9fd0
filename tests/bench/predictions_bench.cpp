// How long it takes to foretell what every fault of a circuit makes a meter show, and
// how many faults of each mode that is: of the demo alone with all pairs, of every
// template alone. The answers are checked first: nothing of the circuit as meant may be
// without a figure under power.
//
//     bench_predictions [threads]

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <optional>
#include <set>

#include "core/circuit/read/reader.h"
#include "core/diagnose/predictions.h"

using namespace benchproof;

namespace {

const Catalogue& types() {
  static const Catalogue catalogue = built_in_catalogue();
  return catalogue;
}

std::optional<Circuit> circuit_of(const std::filesystem::path& path) {
  std::ifstream file(path);
  const std::string text{std::istreambuf_iterator<char>(file), {}};
  return read_circuit(text, path.string(), types()).circuit;
}

/// The least time of some tries. Millisecond.
template <typename Work>
double least_ms(int tries, const Work& work) {
  double least = HUGE_VAL;
  for (int k = 0; k < tries; ++k) {
    const auto start = std::chrono::steady_clock::now();
    work();
    const std::chrono::duration<double, std::milli> taken =
        std::chrono::steady_clock::now() - start;
    least = std::min(least, taken.count());
  }
  return least;
}

/// "bridge 25, open 19 ..."
std::string by_mode(const std::vector<Fault>& faults) {
  std::map<FaultMode, std::size_t> counts;
  for (const Fault& fault : faults) ++counts[fault.mode];
  std::string text;
  for (const auto& [mode, count] : counts)
    text += fmt::format("{}{} {}", text.empty() ? "" : ", ", word_of(mode), count);
  return text;
}

bool measure(const std::filesystem::path& path, unsigned threads, bool with_pairs) {
  const auto circuit = circuit_of(path);
  if (!circuit) return true;
  const std::vector<Fault> faults = faults_of(*circuit, types());
  const std::vector<Question> questions = all_questions(*circuit);
  PredictOptions options;
  options.threads = threads;
  const auto run = [&](std::vector<Suspect> suspects) {
    return predict(*circuit, {}, questions, faults, std::move(suspects), options);
  };
  const Predictions single = run(singles(faults.size()));
  for (std::size_t q = 0; q < questions.size(); ++q) {
    if (!questions[q].powered || !std::isnan(single.at(0, q).value)) continue;
    fmt::print("{}: no answer as meant\n", path.filename().string());
    return false;
  }
  fmt::print("{}: {} questions, {} faults ({}), {} classes: {:.0f} ms\n",
             path.filename().string(), questions.size(), faults.size(), by_mode(faults),
             single.classes().size(),
             least_ms(5, [&] { (void)run(singles(faults.size())); }));
  if (!with_pairs) return true;
  const std::size_t count = faults.size();
  fmt::print("{} pairs: {:.0f} ms\n", pairs(count).size(),
             least_ms(3, [&] { (void)run(pairs(count)); }));
  return true;
}

}  // namespace

int main(int argc, char** argv) {
  namespace fs = std::filesystem;
  const unsigned threads =
      argc > 1 ? static_cast<unsigned>(std::max(1, std::atoi(argv[1]))) : 2U;
  const fs::path folder = BENCHPROOF_SOURCE_DIR "/circuits";
  bool is_fine = measure(folder / "harbour-light.toml", threads, true);
  std::set<fs::path> files;
  for (const auto& entry : fs::directory_iterator(folder))
    if (entry.path().extension() == ".toml" &&
        entry.path().string().find(".recorded.") == std::string::npos)
      files.insert(entry.path());
  for (const fs::path& path : files) is_fine = measure(path, threads, false) && is_fine;
  return is_fine ? 0 : 1;
}
