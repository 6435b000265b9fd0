// How long it takes to foretell what every fault of a circuit makes a meter show, and
// how many faults of each mode that is: of the demo alone with all pairs, of every
// template alone. The answers are checked first: nothing of the circuit as meant may be
// without a figure under power. Then the sheet of a harbour of 175 parts, and a
// diagnosis there, which must have the cold joint that the readings are of in its
// leading group.
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
#include <string>
#include <vector>

#include "core/circuit/read/reader.h"
#include "core/diagnose/diagnosis.h"
#include "core/diagnose/likelihood.h"
#include "core/diagnose/sheet.h"
#include "tests/known_types.h"

using namespace benchproof;

namespace {

std::optional<Circuit> circuit_of(const std::filesystem::path& path) {
  std::ifstream file(path);
  const std::string text{std::istreambuf_iterator<char>(file), {}};
  return read_circuit(text, path.string(), known_types()).circuit;
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
  const std::vector<Fault> faults = faults_of(*circuit, known_types());
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

/// A made-up harbour: ten chips, each of which switches six lamps with a resistor and a
/// lantern with a transistor.
std::string long_harbour() {
  std::string parts = R"([parts]
jack = { kind = "dc-supply", voltage = "12 V", current = "2 A", regulated = true }
guard = { kind = "diode", type = "1N5819" }
bulk = { kind = "capacitor", value = "470uF", rated = "25 V", polarised = true }
reg = { kind = "regulator", type = "7805" }
hold = { kind = "capacitor", value = "22uF", rated = "16 V", polarised = true }
)";
  std::string nets;
  std::string night = "[states.night]\n";
  std::string rail = "\"reg.out\", \"hold.plus\"";
  std::string raw = "\"guard.cathode\", \"bulk.plus\", \"reg.in\"";
  std::string ground = "\"jack.minus\", \"bulk.minus\", \"reg.common\", \"hold.minus\"";
  const auto add = [](std::string& list, const std::string& pin) {
    list += ", \"" + pin + "\"";
  };
  constexpr int kChips = 10;
  constexpr int kOutputs = 7;
  for (int c = 0; c < kChips; ++c) {
    parts += fmt::format(
        "chip{0} = {{ kind = \"controller\", type = \"cmos-5v\", outputs = [\"o0\", "
        "\"o1\", \"o2\", \"o3\", \"o4\", \"o5\", \"o6\"] }}\n"
        "by{0} = {{ kind = \"capacitor\", value = \"100nF\" }}\n",
        c);
    add(rail, fmt::format("chip{}.vdd", c));
    add(rail, fmt::format("by{}.a", c));
    add(ground, fmt::format("chip{}.vss", c));
    add(ground, fmt::format("by{}.b", c));
    for (int k = 0; k < kOutputs; ++k) {
      const std::string lamp = fmt::format("l{}_{}", c, k);
      if ((c + k) % 4 != 3) night += fmt::format("\"chip{}.o{}\" = \"high\"\n", c, k);
      nets += fmt::format("{0}_p = [\"chip{1}.o{2}\", \"{0}_r.a\"]\n", lamp, c, k);
      if (k + 1 < kOutputs) {
        parts += fmt::format(
            "{0}_r = {{ kind = \"resistor\", value = \"330R\" }}\n"
            "{0} = {{ kind = \"led\", colour = \"red\" }}\n",
            lamp);
        nets += fmt::format("{0}_l = [\"{0}_r.b\", \"{0}.anode\"]\n", lamp);
        add(ground, lamp + ".cathode");
        continue;
      }
      parts += fmt::format(
          "{0}_r = {{ kind = \"resistor\", value = \"1k\" }}\n"
          "{0}_q = {{ kind = \"transistor\", type = \"BC547\" }}\n"
          "{0} = {{ kind = \"lamp\", voltage = \"12 V\", current = \"50 mA\" }}\n",
          lamp);
      nets += fmt::format(
          "{0}_b = [\"{0}_r.b\", \"{0}_q.base\"]\n"
          "{0}_k = [\"{0}_q.collector\", \"{0}.b\"]\n",
          lamp);
      add(raw, lamp + ".a");
      add(ground, lamp + "_q.emitter");
    }
  }
  return parts + "[nets]\ninlet = [\"jack.plus\", \"guard.anode\"]\nraw = [" + raw +
         "]\nrail = [" + rail + "]\nground = [" + ground + "]\n" + nets + night +
         "[states.day]\n";
}

/// A reading of what a fault shows, to the last digit.
TakenReading reading_of(const Circuit& circuit, const std::vector<Fault>& faults,
                        int fault, const Question& question) {
  const Predictions there = predict(circuit, {}, {question}, faults, {{fault, -1}}, {});
  TakenReading taken = taken_of(question, there.at(0, 0), 0.0);
  taken.last_digit = 0.01;
  return taken;
}

bool measure_large(unsigned threads) {
  const auto circuit = read_circuit(long_harbour(), "long harbour", known_types()).circuit;
  if (!circuit) return false;
  const std::vector<Fault> faults = faults_of(*circuit, known_types());
  const auto bad = std::find_if(faults.begin(), faults.end(), [](const Fault& fault) {
    return fault.id == "joint l3_2.anode";
  });
  if (bad == faults.end()) return false;
  const auto number = static_cast<int>(bad - faults.begin());
  std::vector<TakenReading> readings;
  Question question;
  question.state = "night";
  question.asks = Asks::looks;
  question.part = "l3_2";
  readings.push_back(reading_of(*circuit, faults, number, question));
  question.part.clear();
  question.asks = Asks::voltage;
  for (const char* net : {"rail", "l3_2_p", "l3_2_l"}) {
    question.net = net;
    readings.push_back(reading_of(*circuit, faults, number, question));
  }
  DiagnoseOptions options;
  options.predict.threads = threads;
  const auto look = [&] { return diagnose(*circuit, faults, {}, readings, options); };
  const Diagnosis diagnosis = look();
  const std::vector<Cause>& causes = diagnosis.groups.front().causes;
  const bool is_found =
      std::any_of(causes.begin(), causes.end(), [number](const Cause& cause) {
        return cause.suspect == Suspect{number, -1};
      });
  if (!is_found) {
    fmt::print("long harbour: the cold joint was not found\n");
    return false;
  }
  fmt::print("long harbour: {} parts, {} faults; diagnosis {:.0f} ms\n",
             circuit->parts.size(), faults.size(), least_ms(3, [&] { (void)look(); }));
  fmt::print("long harbour: sheet {:.0f} ms\n", least_ms(1, [&] {
               (void)sheet_of(*circuit, faults, {}, options.predict);
             }));
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
  is_fine = measure_large(threads) && is_fine;
  return is_fine ? 0 : 1;
}
