// The engine answers wrongly, at every point of the protocol: the program's verdict is
// then what it is with a sound engine, or none (status 3).
#include <fmt/format.h>

#include <bit>
#include <catch2/catch.hpp>
#include <cstdint>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <optional>
#include <random>
#include <sstream>
#include <string>
#include <vector>

#include "folder.h"
#include "program.h"
#include "tests/files.h"

using namespace benchproof;
using Json = nlohmann::json;

namespace {

namespace fs = std::filesystem;

// An invented buoy: what rests, what is dimmed and what runs, each with an expectation.
const std::string kBuoy = R"(
[parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "200 mA" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["lamp"] }
r1 = { kind = "resistor", value = "220R", power = "0.25 W" }
l1 = { kind = "led", colour = "red" }
r2 = { kind = "resistor", value = "10k", power = "0.25 W" }
c1 = { kind = "capacitor", value = "100nF", rated = "16 V" }
[nets]
rail = ["jack.plus", "chip.vdd", "r2.a"]
lamp = ["chip.lamp", "r1.a"]
lit = ["r1.b", "l1.anode"]
tap = ["r2.b", "c1.a"]
ground = ["jack.minus", "chip.vss", "l1.cathode", "c1.b"]
[states.faded]
"chip.lamp" = { pwm = "40%", frequency = "500 Hz" }
[[runs]]
name = "on"
state = "faded"
rise = "100 us"
span = "5 ms"
[[expect]]
state = "faded"
part = "l1"
current = { min = "2 mA", max = "3 mA" }
[[expect]]
run = "on"
net = "tap"
reaches = { level = "2.5 V", before = "2 ms" }
)";

struct Frame {
  int kind = 0;
  std::size_t bytes = 0;
  std::size_t values = 0;
};
constexpr int kReply = 3;

/// The program beside a worker that can be told how to err.
class Faulty {
 public:
  Faulty() {
    fs::copy_file(fs::path(bin_dir()) / "benchproof", program());
    fs::create_symlink(BENCHPROOF_FAULTY_WORKER, folder_.path() + "/benchproof-worker");
    file_ = folder_.file("buoy.toml", kBuoy);
  }

  /// Verifies the buoy with a fault (none: the engine is sound).
  Ran run(const std::string& fault) {
    fs::remove(folder_.path() + "/frames");
    folder_.file("fault", fault);
    RunOptions options;
    options.program = program();
    return run_program({"verify", file_, "--json"}, options);
  }
  /// The frames that the workers of the last run sent.
  [[nodiscard]] std::vector<Frame> frames() const {
    std::istringstream log(text_of(folder_.path() + "/frames"));
    std::vector<Frame> all;
    for (Frame f; log >> f.kind >> f.bytes >> f.values;) all.push_back(f);
    return all;
  }
  [[nodiscard]] bool has_erred() const {
    return !fs::exists(folder_.path() + "/fault");
  }

 private:
  [[nodiscard]] std::string program() const { return folder_.path() + "/benchproof"; }

  Folder folder_;
  std::string file_;
};

/// The program's report on the circuit, without figures of the engine's.
Json said(const Ran& ran) {
  Json all = Json::parse(ran.out);
  Json told = {{"verdict", all.at("verdict")}};
  for (const char* list : {"states", "runs"}) {
    for (const Json& one : all.at(list)) {
      Json findings = Json::array();
      for (const Json& f : one.at("findings"))
        findings.push_back({f.at("check"), f.at("severity"), f.at("message")});
      Json expectations = Json::array();
      for (const Json& e : one.at("expectations"))
        expectations.push_back(e.at("holds"));
      told[list].push_back({one.at("name"), one.at("verdict"), findings, expectations});
    }
  }
  return told;
}

std::string hold(double value) {
  return fmt::format("{}", std::bit_cast<std::uint64_t>(value));
}

/// Faults of every sort for each frame of a sound session.
std::vector<std::string> faults_of(const std::vector<Frame>& frames) {
  std::mt19937_64 draw(20);  // Any numbers: which bits and values are spoilt.
  std::vector<std::string> all;
  for (std::size_t k = 0; k < frames.size(); ++k) {
    const Frame& frame = frames[k];
    all.push_back(fmt::format("{} end 0 0", k));
    all.push_back(fmt::format("{} twice 0 0", k));
    for (const std::size_t length : {1UL, 11UL, 12UL, 13UL, frame.bytes - 1})
      all.push_back(fmt::format("{} cut {} 0", k, length));
    if (k > 0) all.push_back(fmt::format("{} again 0 0", k));
    // Not in the payload's length: what is promised and does not come is waited for.
    for (int flip = 0; flip < 10; ++flip) {
      const std::size_t end = flip < 4 ? 24 : frame.bytes;
      const std::size_t bit = draw() % (8 * end);
      if (bit / 8 < 8 || bit / 8 >= 12)
        all.push_back(fmt::format("{} flip {} 0", k, bit));
    }
    if (frame.kind != kReply) continue;
    for (const char* what : {"fewer", "more-values", "rotate", "reverse"})
      all.push_back(fmt::format("{} {} 0 0", k, what));
    all.push_back(fmt::format("{} promise 1 0", k));
    all.push_back(fmt::format("{} promise {} 0", k, 1UL << 40U));
    for (int outcome = 2; outcome <= 4; ++outcome)
      all.push_back(fmt::format("{} outcome {} 0", k, outcome));
    for (const double value :
         {std::nan(""), HUGE_VAL, 0.0, 4.2, -1e-3, 1e300, 5e-324}) {
      all.push_back(fmt::format("{} value {} {}", k, draw() % 100000, hold(value)));
      all.push_back(fmt::format("{} all 0 {}", k, hold(value)));
    }
  }
  return all;
}

}  // namespace

TEST_CASE("a faulty engine gives the right verdict or none", "[program][engine]") {
  Faulty faulty;
  const Ran sound = faulty.run("-1 none 0 0");
  REQUIRE(sound.status == 0);
  const Json truth = said(sound);
  const std::vector<Frame> frames = faulty.frames();
  REQUIRE(frames.size() >= 4);  // A hello, both phases of the state, the run.

  int withheld = 0;
  int right = 0;
  // Each takes half a second and more.
  const std::size_t step = one_in(is_sanitized() ? sanitized_step() : 2);
  const std::vector<std::string> faults = faults_of(frames);
  for (std::size_t k = 0; k < faults.size(); k += step) {
    const std::string& fault = faults[k];
    CAPTURE(fault);
    const Ran ran = faulty.run(fault);
    if (ran.status == 3) {
      ++withheld;
      CHECK(Json::parse(ran.out)["verdict"] != truth["verdict"]);
      continue;
    }
    ++right;
    CAPTURE(ran.err);
    CHECK(ran.status == sound.status);
    CHECK(said(ran) == truth);
  }
  WARN(fmt::format("{} faults of the engine: {} verdicts withheld, {} right",
                   withheld + right, withheld, right));
  CHECK(withheld * step > 25);
  CHECK(right * step > 30);
}

TEST_CASE("a worker that fails once is replaced, and the answer right",
          "[program][engine]") {
  Faulty faulty;
  const Ran sound = faulty.run("-1 none 0 0");
  const Json truth = said(sound);
  const std::vector<Frame> frames = faulty.frames();
  for (std::size_t k = 1; k < frames.size(); ++k) {
    for (const std::string& what :
         {std::string("end 0 0"), fmt::format("cut {} 0", frames[k].bytes / 2),
          std::string("flip 0 0"), std::string("fewer 0 0")}) {
      CAPTURE(k, what);
      const Ran ran = faulty.run(fmt::format("{} {} once", k, what));
      CHECK(faulty.has_erred());
      CHECK(ran.status == sound.status);
      CHECK(said(ran) == truth);
    }
  }
}
