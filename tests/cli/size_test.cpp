#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>

#include "flat.h"
#include "folder.h"
#include "program.h"
#include "screen.h"

using namespace benchproof;
using Catch::Contains;
using Catch::Matchers::WithinRel;
using Json = nlohmann::json;

namespace {

/// A description with what an editor by hand leaves behind: odd spacing, comments,
/// letters beyond ASCII, lines that end in CR LF, a byte order mark.
const std::string kOdd =
    "\xEF\xBB\xBF[parts]\r\n"
    "s   = { kind = \"dc-supply\", voltage = \"12 V\" }  # Ω stays\r\n"
    "a={kind=\"resistor\",label=\"é, oben\",value   =   '10 kohm' , power=\"0.25 "
    "W\"}\r\n"
    "b = { kind = \"resistor\", value = \"10k\" }\r\n"
    "\r\n[nets]\r\nin = [\"s.plus\", \"a.a\"]\r\ntap = [\"a.b\", \"b.a\"]\r\n"
    "ground = [\"s.minus\", \"b.b\"]";

/// A file in a folder of its own.
class File {
 public:
  explicit File(const std::string& text) {
    std::string name =
        (std::filesystem::temp_directory_path() / "size-XXXXXX").string();
    REQUIRE(::mkdtemp(name.data()) != nullptr);
    folder_ = name;
    std::ofstream(path(), std::ios::binary) << text;
  }
  ~File() { std::filesystem::remove_all(folder_); }
  File(const File&) = delete;
  File& operator=(const File&) = delete;

  [[nodiscard]] std::string path() const { return folder_ / "odd.toml"; }
  [[nodiscard]] std::string text() const {
    std::ifstream in(path(), std::ios::binary);
    std::stringstream all;
    all << in.rdbuf();
    return all.str();
  }
  [[nodiscard]] long files() const {
    return std::distance(std::filesystem::directory_iterator(folder_), {});
  }

 private:
  std::filesystem::path folder_;
};

}  // namespace

TEST_CASE("size says which standard value to take, within 80 columns",
          "[program][size]") {
  const Ran ran = run_program(
      {"size", kDemo, "--part", "quay1_r", "--want", "quay1 current = 4 mA"});
  CAPTURE(ran.out, ran.err);
  CHECK(ran.status == 0);
  CHECK(ran.err.empty());
  CHECK_THAT(ran.out, Contains("take 110 ohm") && Contains("brown brown brown gold") &&
                          Contains("100 ohm") && Contains("in state 'night'"));
  std::istringstream lines(ran.out);
  for (std::string line; std::getline(lines, line);) CHECK(line.size() <= 80);
}

TEST_CASE("size assumes no tolerance where one is given", "[program][size]") {
  const Ran ran = run_program({"size", "circuits/harbour-light.toml", "--part",
                               "quay1_r", "--want", "quay1 current = 4 mA"});
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Contains("over its tolerance") && !Contains("assumed"));
}

TEST_CASE("size --write changes the one value and nothing else", "[program][size]") {
  const std::string part = GENERATE("a", "b");
  const File file(kOdd);
  ::chmod(file.path().c_str(), 0640);
  const Ran ran =
      run_program({"size", file.path(), "--part", part, "--want",
                   part == "a" ? "tap voltage = 9 V" : "tap voltage = 3 V", "--write"});
  CAPTURE(ran.out, ran.err);
  CHECK(ran.status == 0);
  CHECK(file.text() == (part == "a" ? with(kOdd, "'10 kohm'", "'3.3 kohm'")
                                    : with(kOdd, "\"10k\"", "\"3k3\"")));
  struct stat status = {};
  REQUIRE(::stat(file.path().c_str(), &status) == 0);
  CHECK((status.st_mode & 07777U) == 0640U);
  CHECK(file.files() == 1);
  CHECK_THAT(ran.out, Contains("written"));
}

// Every way in which TOML 1.0 lets a key and its string be written.
TEST_CASE("size --write finds the value however it is written", "[program][size]") {
  struct Spelling {
    std::string parts;  ///< With FROM where the value stands.
    std::string from;
    std::string to;
  };
  const std::string usual =
      "[parts]\ns = { kind = \"dc-supply\", voltage = \"12 V\" }\n"
      "a = { kind = \"resistor\", value = \"10k\" }\n";
  const Spelling spelling = GENERATE_COPY(
      Spelling{
          usual + "b\t=\t{\tkind\t=\t\"resistor\",\tvalue\t=\tFROM\t}\t# \"10k\"\n",
          "\"10k\"", "\"3k3\""},
      Spelling{"[parts.s]\nkind = \"dc-supply\"\nvoltage = \"12 V\"\n[parts.a]\n"
               "kind = \"resistor\"\nvalue = \"10k\"\n  [parts.b]   # c\n"
               "  kind = \"resistor\"\n  value   =   FROM   # value = \"10k\"\n",
               "\"10k\"", "\"3k3\""},
      Spelling{"parts.s.kind = \"dc-supply\"\nparts.s.voltage = \"12 V\"\n"
               "parts.a.kind = \"resistor\"\nparts.a.value = \"10k\"\n"
               "parts . b . kind = \"resistor\"\nparts . b . value = FROM\n",
               "\"10 kohm\"", "\"3.3 kohm\""},
      Spelling{usual + "\"b\" = { 'kind' = \"resistor\", \"value\" = FROM }\n", "'10k'",
               "'3k3'"},
      Spelling{usual + "b = { kind = \"resistor\", value = FROM }\n", "\"\"\"10k\"\"\"",
               "\"3k3\""},
      Spelling{usual + "b = { kind = \"resistor\", value = FROM }\n", "'''10 kohm'''",
               "'3.3 kohm'"},
      Spelling{usual + "b = { kind = \"resistor\", value = FROM }\n",
               "\"\"\"\n10k\"\"\"", "\"3k3\""},
      Spelling{usual + "b = { kind = \"resistor\", value = FROM, label = \"\\\"\" }\n",
               "\"\\u00310k\"", "\"3k3\""},
      // Letters of two, three and four bytes before it on the line.
      Spelling{usual + "b = { label = \"\u00fc \u2603 \U0001F4A1\", kind = "
                       "\"resistor\", value = FROM }\n",
               "\"10 k\u03a9\"", "\"3.3 kohm\""},
      Spelling{usual + "b = { kind = \"resistor\", label = \"value = 10k\", value = "
                       "FROM }\n[variants.x]\n\"b.value\" = \"10k\"\n",
               "\"10000R\"", "\"3k3\""});
  const bool has_returns = GENERATE(false, true);
  const bool has_mark = GENERATE(false, true);
  const bool has_end = GENERATE(false, true);
  const auto text = [&](const std::string& value) {
    std::string all = with(spelling.parts, "FROM", value) +
                      "[nets]\nin = [\"s.plus\", \"a.a\"]\ntap = [\"a.b\", "
                      "\"b.a\"]\nground = [\n  \"s.minus\",\n  \"b.b\",\n]";
    if (spelling.parts.starts_with("parts.")) all = with(all, "[nets]\nin", "nets.in");
    if (spelling.parts.starts_with("parts.")) {
      all = with(all, "\ntap", "\nnets.tap");
      all = with(all, "\nground", "\nnets.ground");
    }
    if (has_end) all += "\n";
    if (has_mark) all.insert(0, "\xEF\xBB\xBF");
    if (!has_returns) return all;
    std::string crlf;
    for (const char c : all) {
      if (c == '\n') crlf += '\r';
      crlf += c;
    }
    return crlf;
  };
  const File file(text(spelling.from));
  const Ran ran = run_program(
      {"size", file.path(), "--part", "b", "--want", "tap voltage = 3 V", "--write"});
  CAPTURE(spelling.parts, ran.out, ran.err);
  CHECK(ran.status == 0);
  CHECK(file.text() == text(spelling.to));
}

TEST_CASE("size --write follows a link and leaves it a link", "[program][size]") {
  const File file(kOdd);
  const std::filesystem::path link = std::filesystem::path(file.path() + ".link");
  std::filesystem::create_symlink("odd.toml", link);
  const Ran ran = run_program(
      {"size", link.string(), "--part", "b", "--want", "tap voltage = 3 V", "--write"});
  CAPTURE(ran.out, ran.err);
  CHECK(ran.status == 0);
  CHECK(std::filesystem::is_symlink(link));
  CHECK(file.text() == with(kOdd, "\"10k\"", "\"3k3\""));
}

TEST_CASE("size --write that fails leaves the file as it was", "[program][size]") {
  // No file may grow beyond 16 KiB: this one does not fit, as if the disk were full.
  std::string text = kOdd;
  for (int line = 0; line < 1000; ++line)
    text += "\r\n# a line of some forty letters, no";
  const File file(text);
  struct rlimit before = {};
  REQUIRE(::getrlimit(RLIMIT_FSIZE, &before) == 0);
  const auto handler = std::signal(SIGXFSZ, SIG_IGN);
  const struct rlimit little = {16384, before.rlim_max};
  REQUIRE(::setrlimit(RLIMIT_FSIZE, &little) == 0);
  const Ran ran = run_program(
      {"size", file.path(), "--part", "b", "--want", "tap voltage = 3 V", "--write"});
  ::setrlimit(RLIMIT_FSIZE, &before);
  std::signal(SIGXFSZ, handler);
  CAPTURE(ran.out, ran.err);
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Contains("not written: it could not be written"));
  CHECK_THAT(ran.out, Contains("take 3.3 kohm") && !Contains("is now"));
  CHECK(file.text() == text);
  CHECK(file.files() == 1);
}

TEST_CASE("size writes nothing where it may not or need not", "[program][size]") {
  const File file(kOdd);
  const auto asked = [&](std::vector<std::string> more) {
    std::vector<std::string> arguments = {"size", file.path(), "--part", "b"};
    arguments.insert(arguments.end(), more.begin(), more.end());
    Ran ran = run_program(arguments);
    CHECK(file.text() == kOdd);
    CHECK(file.files() == 1);
    return ran;
  };
  CHECK(asked({"--want", "tap voltage = 3 V"}).status == 0);
  CHECK(asked({"--want", "tap voltage = 13 V", "--write"}).status == 1);
  const Ran set =
      asked({"--want", "tap voltage = 3 V", "--write", "--set", "a.value=9k1"});
  CHECK(set.status == 2);
  CHECK_THAT(set.err, Contains("without --set"));
  CHECK(asked({"--want", "tap volts = 3 V", "--write"}).status == 2);
  CHECK(asked({"--want", "tap voltage = 3 V", "--series", "E25"}).status == 2);
  CHECK(asked({"--want", "tap voltage = 3 V", "--state", "nigth"}).status == 2);
  CHECK(run_program(
            {"size", "-", "--part", "b", "--want", "tap voltage = 3 V", "--write"},
            {.input = kOdd})
            .status == 2);
}

TEST_CASE("size gives data", "[program][size]") {
  const Ran ran = run_program({"size", "-", "--part", "a", "--part", "b", "--want",
                               "tap voltage = 4 V", "--series", "E24", "--json"},
                              {.input = kOdd});
  CAPTURE(ran.out, ran.err);
  REQUIRE(ran.status == 0);
  const Json json = Json::parse(ran.out);
  const auto& best = json["candidates"][json["recommended"].get<std::size_t>()];
  // 12 V * 1 / 3: E24 has 10 and 20, nearest to 10 and 10.
  CHECK_THAT(best["values"][0].get<double>() / best["values"][1].get<double>(),
             Catch::WithinRel(2.0, 1e-9));
  CHECK(std::abs(best["engine"].get<double>() - best["nodal"].get<double>()) < 5e-6);
}

TEST_CASE("size gives the outcome as a word", "[program][size]") {
  const auto [more, outcome] = GENERATE(table<std::vector<std::string>, std::string>({
      {{"--part", "a", "--want", "tap voltage = 4 V"}, "recommended"},
      {{"--part", "a", "--want", "tap voltage <= 12 V"}, "recommended"},
      {{"--part", "a", "--want", "tap voltage = 13 V"}, "out-of-reach"},
      {{"--part", "a", "--want", "tap voltage = -4 V"}, "out-of-reach"},
      {{"--part", "a", "--part", "b", "--want", "tap voltage = 13 V"}, "out-of-reach"},
      {{"--part", "a", "--want", "tap voltage = 5.6 V", "--least", "11.1 kohm",
        "--most", "11.9 kohm"},
       "no-standard-value"},
  }));
  std::vector<std::string> arguments = {"size", "-", "--json"};
  arguments.insert(arguments.end(), more.begin(), more.end());
  const Ran ran = run_program(arguments, {.input = kOdd});
  CAPTURE(arguments, ran.out, ran.err);
  const Json json = Json::parse(ran.out, nullptr, false);
  REQUIRE(json.is_object());
  CHECK(json["outcome"] == outcome);
  CHECK(json["recommended"].is_null() == (outcome != "recommended"));
}

TEST_CASE("size finds what the run's end cuts off", "[program][size]") {
  // R C = 200 kohm times 10 uF: 63.2 % after 2 s; at 316 kohm the span of 3 s ends
  // before.
  const Json json = [] {
    const Ran ran = run_program({"size", "circuits/delay-rc.toml", "--part", "slow_r",
                                 "--run", "switched on", "--want",
                                 "filling reaches 3.16 V = 2 s", "--json"});
    CAPTURE(ran.out, ran.err);
    return Json::parse(ran.out);
  }();
  REQUIRE(json["exact"].is_number());
  CHECK_THAT(json["exact"].get<double>(), WithinRel(200e3, 2e-3));
}

TEST_CASE("size judges values also where all of them meet the goal",
          "[program][size]") {
  const Ran ran =
      run_program({"size", "circuits/led-single.toml", "--part", "bollard_r", "--want",
                   "bollard current >= 8 mA", "--most", "200R"});
  CAPTURE(ran.out, ran.err);
  CHECK_THAT(ran.out, Contains("every value from 1 ohm to 200 ohm meets it") &&
                          Contains("3 faults: led-current") &&
                          Contains("200 ohm: nearest to what it is"));
}

TEST_CASE("size of a pair names the nearest without a fault beside the nearest",
          "[program][size]") {
  const Ran ran =
      run_program({"size", "circuits/supply-adjustable.toml", "--part", "top", "--part",
                   "low", "--want", "rail voltage = 6.2 V"});
  CAPTURE(ran.out, ran.err);
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Contains("take 240 ohm and 910 ohm"));
}

TEST_CASE("size tells what its choice asks of the part chosen", "[program][size]") {
  // 10 V over 470 ohm: 213 mW of 250 mW; over 1 kohm: 100 mW.
  const std::string circuit = R"(
[parts]
v = { kind = "dc-supply", voltage = "10 V", current = "1 A" }
r = { kind = "resistor", value = "1k", power = "0.25 W" }
[nets]
top = ["v.plus", "r.a"]
ground = ["v.minus", "r.b"]
)";
  const auto sized = [&circuit](const char* want, bool is_json) {
    std::vector<std::string> arguments{"size", "-", "--part", "r", "--want", want};
    if (is_json) arguments.emplace_back("--json");
    return run_program(arguments, {.input = circuit});
  };
  const Ran hot = sized("r current = 21.3 mA", false);
  CAPTURE(hot.out, hot.err);
  CHECK(hot.status == 0);
  CHECK_THAT(flat(hot.out), Contains("take 470 ohm") &&
                                Contains("mind that 'r' turns 213 mW into heat"));
  CHECK_THAT(sized("r current = 10 mA", false).out, !Contains("mind that"));
  CHECK_THAT(hot.out, Contains("'r' has no tolerance: 5 % is assumed"));
  const Json json = Json::parse(sized("r current = 21.3 mA", true).out);
  const Json& best = json["candidates"][json["recommended"].get<int>()];
  REQUIRE(best["cautions"].size() == 1);
  CHECK(best["cautions"][0]["check"] == "resistor-power");
  CHECK(best["faults"].empty());
}

TEST_CASE("a fine series is sold to a fine tolerance", "[program][size]") {
  const auto sized = [](const std::string& tolerance, const char* series) {
    const std::string circuit =
        "[parts]\nv = { kind = \"voltage-source\", voltage = \"5 V\" }\n"
        "r = { kind = \"resistor\", value = \"1k\"" +
        tolerance +
        " }\n[nets]\ntop = [\"v.plus\", \"r.a\"]\nground = [\"v.minus\", \"r.b\"]\n";
    const Ran ran = run_program({"size", "-", "--part", "r", "--want",
                                 "r current = 4.9 mA", "--series", series},
                                {.input = circuit});
    return flat(ran.out);
  };
  // 1020 ohm, from 1009.8 to 1030.2. Brown is 1 % [IEC 60062, from memory].
  CHECK_THAT(sized("", "E96"), Contains("1 % is assumed") &&
                                   Contains("4.853 mA to 4.951 mA") &&
                                   Contains("brown black red brown brown"));
  CHECK_THAT(sized("", "E192"), Contains("0.5 % is assumed"));
  CHECK_THAT(sized("", "E48"), Contains("2 % is assumed"));
  CHECK_THAT(sized("", "E24"), Contains("5 % is assumed"));
  CHECK_THAT(sized(", tolerance = \"2%\"", "E96"), !Contains("assumed"));
}

TEST_CASE("size calls no pair nearer that gives the same", "[program][size]") {
  // A tenth of both values gives the same but for rounding; all break the expectation.
  const Ran ran = run_program({"size", "-", "--part", "r1", "--part", "r2", "--want",
                               "tap voltage = 3.3 V", "--series", "E96"},
                              {.input = R"(
[parts]
v = { kind = "voltage-source", voltage = "5 V" }
r1 = { kind = "resistor", value = "10k" }
r2 = { kind = "resistor", value = "20k" }
[nets]
top = ["v.plus", "r1.a"]
tap = ["r1.b", "r2.a"]
ground = ["v.minus", "r2.b"]
[[expect]]
net = "tap"
voltage = { nominal = "3.333 V", within = "0.1%" }
)"});
  CAPTURE(ran.out, ran.err);
  CHECK(ran.status == 1);
  CHECK_THAT(flat(ran.out),
             Contains("take 13.7 kohm and 26.7 kohm") && Contains("it leaves 1 fault"));
  CHECK_THAT(flat(ran.out), !Contains("come nearer"));
}

TEST_CASE("size chooses for a state what another state sets by itself",
          "[program][size]") {
  const std::vector<std::string> arguments{
      "size",   "circuits/trimmer-dimmer.toml", "--part", "knob.turn",
      "--want", "desk current = 6 mA",          "--state"};
  const auto in = [&arguments](const char* state) {
    std::vector<std::string> all = arguments;
    all.emplace_back(state);
    return run_program(all);
  };
  const Ran middle = in("middle");
  CAPTURE(middle.out, middle.err);
  CHECK(middle.status == 0);
  const Ran other = in("dimmest");
  CHECK(other.status == 2);
  CHECK_THAT(other.err, Contains("state 'dimmest' itself says"));
}

TEST_CASE("size tells what cannot be meant", "[program][size]") {
  const auto told = [](const std::vector<std::string>& more) {
    std::vector<std::string> arguments = {"size", kDemo};
    arguments.insert(arguments.end(), more.begin(), more.end());
    const Ran ran = run_program(arguments);
    CAPTURE(ran.out, ran.err);
    CHECK(ran.status == 2);
    CHECK(ran.out.empty());
    return ran.err;
  };
  const std::string milliamps = "quay1 current = 4 mA";
  const std::string rises = "rail reaches 4.5 V = 10 ms";
  for (const char* least : {"0R", "-5R"})
    CHECK_THAT(told({"--part", "quay1_r", "--want", milliamps, "--least", least}),
               Contains("is no value that 'value'"));
  CHECK_THAT(told({"--part", "quay1_r", "--want", milliamps, "--run", "power up"}),
             Contains("--run goes with 'reaches'"));
  CHECK_THAT(told({"--part", "hold", "--want", rises, "--run", "power up", "--state",
                   "night"}),
             Contains("--state goes with a goal at rest"));
  CHECK_THAT(told({"--part", "hold", "--want", rises}), Contains("needs the run"));
  const std::vector<std::string> unset = {"--part",  "quay1.slope", "--want",
                                          milliamps, "--state",     "night"};
  CHECK_THAT(told(unset), Contains("give --least and --most"));
  // Extra-low voltage only.
  CHECK_THAT(told({"--part", "jack.voltage", "--want", "raw voltage = 64 V", "--state",
                   "night", "--most", "70V"}),
             Contains("at most 60"));
  CHECK_THAT(run_program({"size", kDemo, "--part", "jack.voltage", "--want",
                          "raw voltage = 64 V", "--state", "night"})
                 .out,
             Contains("from 120 mV to 60 V it goes"));
}

TEST_CASE("size says what is in reach where the goal is not", "[program][size]") {
  const auto advice = [](const std::string& part, const std::string& goal) {
    const Ran ran = run_program(
        {"size", kDemo, "--part", part, "--want", goal, "--state", "night"});
    CAPTURE(ran.out, ran.err);
    CHECK(ran.status == 1);
    return ran.out;
  };
  CHECK_THAT(advice("quay1_r", "quay1 current = -4 mA"),
             Contains("out of reach") && Contains("is 4.000 mA meant?"));
}

// An invented divider with a reset net that a run has to bring to 5 V in time.
const std::string kReset = R"(
[parts]
src = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
r1 = { kind = "resistor", value = "10k", tolerance = "5%", power = "0.25 W" }
r2 = { kind = "resistor", value = "10k", tolerance = "5%", power = "0.25 W" }
c1 = { kind = "capacitor", value = "1uF", rated = "25 V" }
c2 = { kind = "capacitor", value = "1uF", rated = "25 V" }
trim = { kind = "trimmer", value = "10k", turn = 0.5, power = "0.25 W" }
r3 = { kind = "resistor", value = "1 Mohm", power = "0.25 W" }
[nets]
in = ["src.plus", "r1.a", "c2.a", "trim.a"]
tap = ["r1.b", "r2.a", "c1.a"]
mid = ["trim.wiper", "r3.a"]
ground = ["src.minus", "r2.b", "c1.b", "c2.b", "trim.b", "r3.b"]
[states.on]
[states.other]
"r2.value" = "22k"
[[runs]]
name = "up"
state = "on"
rise = "100 us"
span = "100 ms"
[[runs]]
name = "aside"
state = "other"
rise = "100 us"
span = "100 ms"
[[expect]]
run = "up"
net = "tap"
reaches = { level = "5 V", before = "20 ms" }
)";

/// The words of `size` about that circuit, each text on one line.
Ran size_reset(std::vector<std::string> options) {
  const Folder folder;
  options.insert(options.begin(), {"size", folder.file("reset.toml", kReset)});
  Ran ran = run_program(options);
  ran.out = flat(ran.out);
  ran.err = flat(ran.err);
  return ran;
}

TEST_CASE("size judges what it recommends with all runs", "[program][size]") {
  const Folder folder;
  const std::string file = folder.file("reset.toml", kReset);
  const auto& asked = size_reset;
  const Ran low = asked({"--part", "r1", "--want", "tap voltage = 4.8 V"});
  CAPTURE(low.out, low.err);
  CHECK(low.status == 1);
  CHECK_THAT(low.out, Contains("1 fault: in run 'up':"));
  // As verify has it.
  const Ran verified = run_program({"verify", file, "--set", "r1.value=24k"});
  CHECK(verified.status == 1);

  // The current that a source delivers is above 0.
  const Ran power = asked({"--part", "r1", "--want", "src power = 15 mW"});
  CHECK_THAT(power.out, Contains("delivered") && Contains("now: 10 kohm gives 21.6"));

  // A state that says the value itself is passed over, or refused.
  CHECK_THAT(asked({"--part", "r2", "--want", "tap voltage = 5.5 V"}).out,
             Contains("in state 'on'"));
  CHECK_THAT(
      asked({"--part", "r2", "--want", "tap voltage = 5.5 V", "--state", "other"}).err,
      Contains("state 'other' itself says what 'r2.value' is"));
  CHECK_THAT(
      asked({"--part", "r2", "--run", "aside", "--want", "tap reaches 3 V = 5 ms"}).err,
      Contains("which the run enters, itself says what 'r2.value' is"));
  // A value that does not matter is not sized, not even in a state that is named.
  CHECK_THAT(
      asked({"--part", "c2", "--want", "tap voltage <= 9 V", "--state", "on"}).err,
      Contains("does not depend on 'c2' in state 'on'"));
  CHECK_THAT(
      asked({"--part", "r1", "--run", "up", "--want", "tap reaches 5 V = 10 s"}).err,
      Contains("run 'up' lasts 100 ms"));
  CHECK_THAT(
      asked({"--part", "trim", "--part", "trim.turn", "--want", "tap voltage = 5 V"})
          .err,
      Contains("'trim.turn' is sold in none"));
  CHECK_THAT(asked({"--part", "r1", "--want", "tap voltage = 5 V", "--least", "11k",
                    "--most", "11k"})
                 .err,
             Contains("one value only"));
}

TEST_CASE("size takes no pair and no jump for an answer", "[program][size]") {
  const auto asked = [](const std::vector<std::string>& more) {
    const Ran ran = size_reset(more);
    CHECK(ran.status == 1);
    return ran.out;
  };
  CHECK_THAT(asked({"--part", "r1", "--part", "r2", "--want", "tap voltage = 20 V"}),
             Contains("out of reach: the pairs of the series give"));
  CHECK_THAT(asked({"--part", "r1", "--want", "tap voltage = 6 V", "--least", "9.95k",
                    "--most", "9.99k"}),
             Contains("out of reach"));
  CHECK_THAT(asked({"--part", "r1", "--want", "tap voltage = 5.998 V", "--least",
                    "10.001k", "--most", "10.2k"}),
             Contains("the series has no value from 10 kohm to 10.2 kohm"));
}

TEST_CASE("size leaves what keeps to a bound already", "[program][size]") {
  const Ran held = run_program({"size", kDemo, "--part", "bulk", "--run", "loose plug",
                                "--want", "rail reaches 4.5 V falling >= 20 ms"});
  CAPTURE(held.out);
  CHECK(held.status == 0);
  CHECK_THAT(held.out,
             Contains("advice: take 470 uF") && Contains("220 uF would come"));
  const Ran any = run_program({"size", kDemo, "--part", "hold", "--run", "loose plug",
                               "--want", "rail reaches 4.5 V falling >= 20 ms"});
  CHECK_THAT(any.out, Contains("take 22 uF: as it is"));
  // Over its tolerance a value may go beyond.
  const Ran near = run_program(
      {"size", kDemo, "--part", "quay1_r", "--want", "quay1 current <= 4 mA"});
  CHECK_THAT(flat(near.out), Contains("over its tolerance it may go beyond"));
}

TEST_CASE("size tells that a run never gets there", "[program][size]") {
  const auto asked = [](const std::string& goal) {
    Ran ran = run_program(
        {"size", kDemo, "--part", "bulk", "--run", "loose plug", "--want", goal});
    CAPTURE(ran.out, ran.err);
    CHECK(ran.err.empty());
    return ran;
  };
  // The capacitor holds while the plug is away: with more than about 250 uF the rail
  // never falls so far, as verify says of 220 uF and of 270 uF.
  const Ran late = asked("rail reaches 4.5 V falling >= 25 ms");
  CHECK(late.status == 0);
  CHECK_THAT(late.out, Contains("now: never with 470 uF") && Contains("take 270 uF") &&
                           Contains("both witnesses: never"));
  CHECK(run_program({"verify", kDemo, "--set", "bulk.value=220uF"}).status == 1);
  CHECK(run_program({"verify", kDemo, "--set", "bulk.value=270uF"}).status == 0);
}

TEST_CASE("size --write leaves a value alone that would burn something",
          "[program][size]") {
  const std::string text =
      "[parts]\n"
      "s = { kind = \"dc-supply\", voltage = \"5 V\", current = \"1 A\", regulated = "
      "true }\n"
      "r = { kind = \"resistor\", value = \"220R\", power = \"1 W\" }\n"
      "l = { kind = \"led\", colour = \"red\" }\n"
      "[nets]\nrail = [\"s.plus\", \"r.a\"]\nglow = [\"r.b\", \"l.anode\"]\n"
      "ground = [\"s.minus\", \"l.cathode\"]\n[states.lit]\n";
  const File file(text);
  std::vector<std::string> command{"size",   file.path(),         "--part", "r",
                                   "--want", "l current = 80 mA", "--write"};
  const Ran refused = run_program(command);
  CAPTURE(refused.out, refused.err);
  CHECK(file.text() == text);
  CHECK_THAT(flat(refused.err), Contains("not written: with it a fault would stay") &&
                                    Contains("--with-faults"));
  CHECK(refused.status != 0);
  command.emplace_back("--with-faults");
  const Ran written = run_program(command);
  CHECK(written.err.empty());
  CHECK_THAT(file.text(), !Contains("220R"));
}

TEST_CASE("size --write mends one of two lamps that are both wrong",
          "[program][size]") {
  const File file(
      "[parts]\n"
      "s = { kind = \"dc-supply\", voltage = \"5 V\", current = \"1 A\", regulated = "
      "true }\n"
      "r = { kind = \"resistor\", value = \"10R\", power = \"1 W\" }\n"
      "l = { kind = \"led\", colour = \"red\" }\n"
      "q = { kind = \"resistor\", value = \"10R\", power = \"1 W\" }\n"
      "m = { kind = \"led\", colour = \"red\" }\n"
      "[nets]\nrail = [\"s.plus\", \"r.a\", \"q.a\"]\nglow = [\"r.b\", \"l.anode\"]\n"
      "shine = [\"q.b\", \"m.anode\"]\n"
      "ground = [\"s.minus\", \"l.cathode\", \"m.cathode\"]\n[states.lit]\n");
  const auto size = [&file](const std::string& part, const std::string& want) {
    return run_program(
        {"size", file.path(), "--part", part, "--want", want, "--write"});
  };
  // As much as it carries now is no better: it would burn as before.
  const std::string before = file.text();
  const Ran as_bad = size("r", "l current = 150 mA");
  CHECK_THAT(flat(as_bad.err), Contains("not written: with it"));
  CHECK(file.text() == before);
  const Ran first = size("r", "l current = 10 mA");
  CHECK(first.err.empty());
  CHECK_THAT(file.text(), !Contains("\"10R\", power = \"1 W\" }\nl"));
  const Ran second = size("q", "m current = 10 mA");
  CHECK(second.err.empty());
  CHECK(run_program({"verify", file.path()}).status == 0);
}

TEST_CASE("size says in which state a goal can be met", "[program][size]") {
  const File file(R"([parts]
s = { kind = "dc-supply", voltage = "5 V", current = "1 A", regulated = true }
chip = { kind = "controller", outputs = ["p"] }
cap = { kind = "capacitor", value = "100nF", rated = "16 V" }
r = { kind = "resistor", value = "470R", power = "0.25 W" }
x = { kind = "led", colour = "red" }
[nets]
rail = ["s.plus", "chip.vdd", "cap.a"]
p = ["chip.p", "r.a"]
lamp = ["r.b", "x.anode"]
ground = ["s.minus", "chip.vss", "cap.b", "x.cathode"]
[states.off]
"chip.p" = "low"
[states.on]
"chip.p" = "high"
)");
  const auto asked = [&](std::vector<std::string> more) {
    std::vector<std::string> words{"size", file.path(), "--part",
                                   "r",    "--want",    "x current = 5 mA"};
    words.insert(words.end(), more.begin(), more.end());
    const Ran ran = run_program(words);
    CAPTURE(ran.err);
    CHECK(ran.err.empty());
    return flat(ran.out);
  };
  CHECK_THAT(asked({}), Contains("in state 'on'") && Contains("take "));
  CHECK_THAT(asked({"--state", "off"}),
             Contains("out of reach") && Contains("it is within reach in state 'on'"));
}
