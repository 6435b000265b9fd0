#include "program.h"

#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <regex>
#include <sstream>

#include "flat.h"
#include "folder.h"
#include "golden.h"
#include "screen.h"
#include "spice/session/engine_session.h"
#include "tests/files.h"

using namespace benchproof;
using Catch::Contains;
using Catch::EndsWith;
using Catch::StartsWith;
using Catch::Matchers::WithinAbs;
using Json = nlohmann::json;

namespace {}  // namespace

TEST_CASE("the demo reads as it should", "[program][golden]") {
  const Ran ran = run_program({"verify", kDemo, "--by-hand"});
  CHECK(ran.status == 0);
  CHECK(ran.err.empty());
  CHECK(golden_difference("harbour-light.txt", ran.out) == "");
  std::istringstream lines(ran.out);
  for (std::string line; std::getline(lines, line);) {
    INFO(line);
    CHECK(line.size() <= 80);
    CHECK(std::all_of(line.begin(), line.end(),
                      [](char c) { return c >= ' ' && c <= '~'; }));
  }
}

TEST_CASE("the demo fits in a short view, the verdict first", "[program][golden]") {
  const Ran ran = run_program({"verify", kDemo});
  CHECK(ran.status == 0);
  CHECK(golden_difference("harbour-light-short.txt", ran.out) == "");
  CHECK(std::count(ran.out.begin(), ran.out.end(), '\n') <= 60);
}

// Both transistors have their gates at about 3 V when it begins: either may win.
TEST_CASE("a run that can begin in two ways is told as such", "[program]") {
  const Ran ran = run_program({"verify", "-"}, {.input = R"(
[parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "500 mA", regulated = true }
r1 = { kind = "resistor", value = "330R" }
r2 = { kind = "resistor", value = "330R" }
b1 = { kind = "resistor", value = "1M" }
b2 = { kind = "resistor", value = "1M" }
l1 = { kind = "led", colour = "red" }
l2 = { kind = "led", colour = "red" }
c1 = { kind = "capacitor", value = "1uF", initial = "3 V" }
c2 = { kind = "capacitor", value = "1uF" }
q1 = { kind = "mosfet", type = "2N7000" }
q2 = { kind = "mosfet", type = "2N7000" }
[nets]
rail = ["jack.plus", "r1.a", "r2.a", "b1.a", "b2.a"]
a1 = ["r1.b", "l1.anode"]
a2 = ["r2.b", "l2.anode"]
k1 = ["l1.cathode", "q1.drain", "c1.a"]
k2 = ["l2.cathode", "q2.drain", "c2.a"]
n1 = ["c2.b", "b1.b", "q1.gate"]
n2 = ["c1.b", "b2.b", "q2.gate"]
ground = ["jack.minus", "q1.source", "q2.source"]
[states.on]
[[runs]]
name = "flash"
state = "on"
from = "initial"
span = "5 s"
)"});
  CHECK(ran.status == 4);
  CHECK_THAT(flat(ran.out), Contains("can begin in more than one way"));
}

TEST_CASE("complaints read as they should", "[program][golden]") {
  const Ran ran = run_program({"verify", "tests/diagnostics/net-dangling.toml",
                               "tests/diagnostics/kind-unknown.toml",
                               "tests/diagnostics/syntax.toml"});
  CHECK(ran.status == 2);
  CHECK(ran.out.empty());
  CHECK(golden_difference("complaints.txt", ran.err) == "");
}

TEST_CASE("a command that is none is named, with what is meant", "[program]") {
  const auto told = [](const std::vector<std::string>& arguments) {
    const Ran ran = run_program(arguments);
    CHECK(ran.status == 2);
    CHECK(ran.out.empty());
    return ran.err;
  };
  CHECK_THAT(told({}), Contains("no command is given") && Contains("commands: verify"));
  CHECK_THAT(told({"verfy", kDemo}), Contains("there is no command 'verfy'") &&
                                         Contains("did you mean 'verify'?"));
  CHECK_THAT(told({kDemo}), Contains("proved with: benchproof verify " + kDemo));
  // A command that lacks something complains itself.
  CHECK_THAT(told({"verify"}), Contains("FILE is required"));
  CHECK_THAT(told({"size", kDemo, "--part", "quay1_r"}),
             Contains("--want is required") &&
                 Contains("--want GOAL: as \"quay current = 8 mA within 10%\""));
  CHECK_THAT(told({"size", kDemo, "--part", "quay1_r", "--want", "quay1 current = 4 mA",
                   "--want", "quay2 current = 4 mA"}),
             Contains("--want is given more than once: it takes one GOAL"));
  CHECK_THAT(told({"--nonsense"}), !Contains("there is no command"));
  CHECK(run_program({"--help"}).status == 0);
}

TEST_CASE("the help fits", "[program]") {
  for (const std::vector<std::string>& arguments : {std::vector<std::string>{"--help"},
                                                    {"verify", "--help"},
                                                    {"deck", "--help"},
                                                    {"parts", "--help"},
                                                    {"range", "--help"},
                                                    {"compare", "--help"},
                                                    {"shopping", "--help"},
                                                    {"size", "--help"},
                                                    {"wave", "--help"}}) {
    const Ran ran = run_program(arguments);
    CHECK(ran.status == 0);
    CHECK(ran.err.empty());
    std::istringstream lines(ran.out);
    for (std::string line; std::getline(lines, line);) {
      INFO(line);
      CHECK(line.size() <= 80);
    }
  }
  // One name each time; only FILE takes several.
  const std::string help = run_program({"verify", "--help"}).out;
  CHECK_THAT(help, !Contains("NAME ...") && !Contains("VALUE ...") &&
                       Contains("FILE ...") && Contains("may be repeated"));
  CHECK_THAT(run_program({"--version"}).out, Contains("benchproof "));
}

TEST_CASE("a wrong command line is told and ends in 2", "[program]") {
  for (const std::vector<std::string>& arguments :
       {std::vector<std::string>{},
        {"frob"},
        {"verify"},
        {"verify", kDemo, "--frob"},
        {"verify", kDemo, "--set", "quay1_r"},
        {"verify", kDemo, "--variant"},
        {"verify", kDemo, "--variant", "a", "--all-variants"},
        {"verify", "-", "-"},
        {"verify", kDemo, "--state"},
        {"verify", kDemo, "--set"},
        {"deck"},
        {"deck", kDemo, kDemo}}) {
    const Ran ran = run_program(arguments);
    CAPTURE(ran.out, ran.err);
    CHECK(ran.status == 2);
    CHECK(ran.out.empty());
    CHECK_THAT(ran.err, Catch::StartsWith("benchproof: "));
  }
  CHECK_THAT(run_program({"\x1b[31m\xff"}).err, !Contains("\x1b") && !Contains("\xff"));
}

TEST_CASE("one bad file does not stop the others", "[program]") {
  const Ran ran =
      run_program({"verify", "tests/diagnostics/syntax.toml", kDemo, "/nonexistent"});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.out, Contains("verdict: good"));
  CHECK_THAT(ran.err, Contains("[syntax]") && Contains("[file-unreadable]"));
}

TEST_CASE("a fault ends in 1, and values can be set", "[program]") {
  const Ran ran = run_program({"verify", kDemo, "--set", "jack.voltage=40 V"});
  CHECK(ran.status == 1);
  CHECK_THAT(ran.out, Contains("verdict: fault"));
  CHECK(ran.err.empty());
  CHECK(run_program({"verify", kDemo, "--set", "jack.volt=40 V"}).status == 2);
}

TEST_CASE("single states can be asked for", "[program]") {
  const Ran ran =
      run_program({"verify", kDemo, "--state", "day", "--state", "mooring", "--full"});
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Contains("state day") && Contains("state mooring") &&
                          !Contains("state night"));
  const Ran unknown = run_program({"verify", kDemo, "--state", "nigth"});
  CHECK(unknown.status == 2);
  CHECK_THAT(unknown.err, Contains("[state-unknown]") && Contains("did you mean"));
}

TEST_CASE("standard input is a file like others", "[program]") {
  RunOptions options;
  options.input = text_of(BENCHPROOF_SOURCE_DIR "/" + kDemo);
  const Ran ran = run_program({"verify", "-"}, options);
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Contains("standard input: "));
  options.input.clear();
  CHECK(run_program({"verify", "-"}, options).status == 2);
}

TEST_CASE("colour on a terminal only, and never with NO_COLOR", "[program]") {
  RunOptions terminal;
  terminal.on_terminal = true;
  CHECK_THAT(run_program({"verify", kDemo}, terminal).out, Contains("\x1b["));
  CHECK_THAT(run_program({"verify", kDemo}).out, !Contains("\x1b"));
  terminal.environment = {{"NO_COLOR", "1"}};
  CHECK_THAT(run_program({"verify", kDemo}, terminal).out, !Contains("\x1b"));
  // An empty value does not count (no-color.org).
  terminal.environment = {{"NO_COLOR", ""}};
  CHECK_THAT(run_program({"verify", kDemo}, terminal).out, Contains("\x1b["));
  terminal.environment = {{"TERM", "dumb"}};
  CHECK_THAT(run_program({"verify", "--json", kDemo}, terminal).out, !Contains("\x1b"));
}

TEST_CASE("complaints keep to the width of a terminal, and to lines without one",
          "[program]") {
  std::string state = "day";
  for (int k = 0; k < 20; ++k) state += " or night";
  std::vector<std::string> arguments{"verify", kDemo, "--state", state};
  RunOptions terminal;
  terminal.errors_on_terminal = true;
  const Ran seen = run_program(arguments, terminal);
  CHECK(seen.status == 2);
  std::istringstream lines(seen.err);
  int count = 0;
  for (std::string line; std::getline(lines, line); ++count) {
    INFO(line);
    CHECK(line.size() <= 81);  // The terminal adds a carriage return.
  }
  CHECK(count > 4);
  CHECK_THAT(seen.err, Catch::StartsWith(kDemo + ": error: there is no state 'day or"));
  const Ran mistaken =
      run_program({"verify", kDemo, "--set", std::string(100, 's')}, terminal);
  CHECK_THAT(mistaken.err,
             Catch::StartsWith("benchproof: --set:\r\n  's") && Contains("s\r\n  s"));
  const Ran piped = run_program(arguments);
  CHECK_THAT(piped.err, Contains(state + "' [state-unknown]\n"));
}

TEST_CASE("JSON is one document, whatever the files", "[program][json]") {
  const Json one = Json::parse(run_program({"verify", "--json", kDemo}).out);
  CHECK(one["benchproof"] == 1);
  CHECK(one["states"].size() == 3);
  for (const Json& state : one["states"]) {
    CHECK(state["agreement"]["agrees"] == true);
    for (const Json& net : state["nets"])
      // DESIGN section 8.
      CHECK(std::abs(net["engine"].get<double>() - net["nodal"].get<double>()) <=
            1e-6 + 1e-6 * std::abs(net["nodal"].get<double>()));
  }
  const Ran two = run_program({"verify", "--json", kDemo, "/nonexistent"});
  CHECK(two.status == 2);
  const Json list = Json::parse(two.out);
  REQUIRE(list.size() == 2);
  CHECK(list[0] == one);
  CHECK(list[1]["verdict"] == "refused");
  CHECK(list[1]["complaints"][0]["id"] == "file-unreadable");
  const Ran none = run_program({"verify", "--json", "/nonexistent"});
  CHECK(Json::parse(none.out)["verdict"] == "refused");
}

TEST_CASE("what is no description is refused, and quickly", "[program][robust]") {
  const Folder folder;
  const std::string big = folder.file("big.toml", std::string(8'000'000, 'a'));
  std::string noise;
  std::uint32_t seed = 1;
  for (int k = 0; k < 10000; ++k) {
    seed = seed * 1664525U + 1013904223U;
    noise += static_cast<char>(seed >> 24U);
  }
  for (const std::string& path :
       {folder.path(), folder.file("empty.toml", ""), folder.file("noise.toml", noise),
        folder.file("zero.toml", std::string(1000, '\0')), big,
        std::string("/dev/zero"), std::string("/dev/null"),
        folder.file("odd\xff\x1b[31m\n.toml", "[parts")}) {
    const Ran ran = run_program({"verify", path});
    CAPTURE(path, ran.err);
    CHECK(ran.status == 2);
    CHECK(ran.out.empty());
    CHECK(!ran.err.empty());
    CHECK_THAT(ran.err, !Contains("\x1b") && !Contains("\xff"));
    CHECK(Json::parse(run_program({"verify", "--json", path}).out)["verdict"] ==
          "refused");
  }
}

TEST_CASE("a pipe is read to its end", "[program][robust]") {
  const Folder folder;
  const std::string pipe = folder.path() + "/pipe";
  REQUIRE(mkfifo(pipe.c_str(), 0600) == 0);
  const pid_t writer = fork();
  if (writer == 0) {
    std::ofstream(pipe) << text_of(BENCHPROOF_SOURCE_DIR "/" + kDemo);
    _exit(0);
  }
  const Ran ran = run_program({"verify", pipe});
  waitpid(writer, nullptr, 0);
  CHECK(ran.status == 0);
}

TEST_CASE("text for people never becomes the engine's", "[program][robust]") {
  const Folder folder;
  const std::string marker = folder.path() + "/touched";
  const std::string evil = R"(x\n.control\nshell touch )" + marker + R"(\n.endc)";
  const std::string body = R"(
[parts]
s = { kind = "dc-supply", voltage = "5 V", label = "LABEL" }
r = { kind = "resistor", value = "1k", label = "LABEL" }
[nets]
ground = ["s.minus", "r.b"]
top = ["s.plus", "r.a"]
)";
  const auto with = [&](std::string text, const std::string& what,
                        const std::string& by) {
    for (std::size_t at = text.find(what); at != std::string::npos;
         at = text.find(what, at + by.size()))
      text.replace(at, what.size(), by);
    return text;
  };
  for (const std::string& text :
       {"title = \"" + evil + "\"\n" + body, with(body, "LABEL", evil),
        with(body, "top", "\"" + evil + "\""),
        with(body, "r = {", "\"" + evil + "\" = {"),
        body + "[states.\"" + evil + "\"]\n"}) {
    const Ran ran = run_program({"verify", folder.file("evil.toml", text)});
    CAPTURE(text, ran.err);
    CHECK(ran.status == 2);
  }
  const Ran tame = run_program({"verify", folder.file("tame.toml", body)});
  CHECK(tame.status == 0);
  CHECK_THAT(tame.out, Catch::StartsWith("tame.toml\n"));  // Without a title.
  CHECK_FALSE(std::filesystem::exists(marker));
}

TEST_CASE("results that cannot be written are no success", "[program][robust]") {
  RunOptions full;
  full.output_path = "/dev/full";
  const Ran ran = run_program({"verify", kDemo}, full);
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Contains("standard output cannot be written"));
  for (const std::vector<int>& closed :
       {std::vector<int>{1}, {0, 1}, {0, 1, 2}, {1, 2}}) {
    RunOptions options;
    options.closed = closed;
    CHECK(run_program({"verify", kDemo}, options).status == 2);
  }
  RunOptions no_input;
  no_input.closed = {0};
  CHECK_THAT(run_program({"verify", "-"}, no_input).err, Contains("cannot be read"));
  CHECK(run_program({"verify", kDemo}, no_input).status == 0);
}

TEST_CASE("a reader who has gone does not matter", "[program][robust]") {
  int ends[2];
  REQUIRE(pipe(ends) == 0);
  close(ends[0]);
  RunOptions options;
  options.output_path = "/proc/self/fd/" + std::to_string(ends[1]);
  const Ran ran = run_program({"verify", kDemo}, options);
  close(ends[1]);
  CHECK(ran.status == 0);
  CHECK(ran.err.empty());
}

TEST_CASE("without its worker the engine has no answer", "[program][engine]") {
  const Folder folder;
  RunOptions options;
  options.program = folder.path() + "/benchproof";
  std::filesystem::copy(bin_dir() + "/benchproof", options.program);
  const Ran ran = run_program({"verify", kDemo}, options);
  CHECK(ran.status == 3);
  CHECK_THAT(ran.err, Contains("benchproof-worker"));
  CHECK_THAT(ran.out, Contains("verdict: withheld - the engine witness has no answer"));
  CHECK(Json::parse(run_program({"verify", "--json", kDemo}, options).out)["verdict"] ==
        "engine-failed");
}

TEST_CASE("long work is told on a terminal, and nowhere else", "[program][engine]") {
  const Folder folder;
  RunOptions options;
  options.program = folder.path() + "/benchproof";
  std::filesystem::copy(bin_dir() + "/benchproof", options.program);
  // A worker that takes its time to come.
  const std::string late = folder.file("benchproof-worker",
                                       "#!/bin/sh\n"
                                       "/bin/sleep 1.2\n"
                                       "exec " +
                                           bin_dir() + "/benchproof-worker \"$@\"\n");
  std::filesystem::permissions(late, std::filesystem::perms::owner_all);
  const std::vector<std::vector<std::string>> works{
      {"verify", kDemo},
      {"shopping", kDemo},
      {"range", "circuits/night-switch.toml"},
      {"compare", kDemo, "--set", "bulk.value=220uF"},
      {"size", kDemo, "--part", "quay1_r", "--want", "quay1 current = 4 mA"},
      {"wave", kDemo, "--run", "power up"},
      {"regress", "circuits/night-switch.toml"}};
  for (const auto& work : works) {
    INFO(work.front());
    options.errors_on_terminal = true;
    const Ran told = run_program(work, options);
    CHECK(told.status == 0);
    const std::string line = work.front() == "regress" ? "\r0 of 1 circuits\x1b[K"
                                                       : "\rstill solving, 1 s\x1b[K";
    CHECK_THAT(told.err, StartsWith(line) && EndsWith("\r\x1b[K"));
  }
  options.errors_on_terminal = false;
  const Ran quiet = run_program(works.front(), options);
  CHECK(quiet.status == 0);
  CHECK(quiet.err.empty());
}

TEST_CASE("without a seal only when allowed, and with a warning", "[program][engine]") {
  RunOptions options;
  options.filters_refused = true;
  const Ran strict = run_program({"verify", kDemo}, options);
  CHECK(strict.status == 3);
  CHECK_THAT(strict.err, Contains("seal") && Contains("--allow-unsealed"));
  const Ran lenient =
      run_program({"verify", kDemo, kDemo, "--allow-unsealed"}, options);
  CHECK(lenient.status == 0);
  CHECK(lenient.err == "benchproof: warning: the engine runs without its seal\n");
  CHECK(run_program({"verify", kDemo, "--allow-unsealed"}).err.empty());
}

TEST_CASE("a waveform needs the seal where the engine is asked", "[program][wave]") {
  RunOptions options;
  options.filters_refused = true;
  const std::vector<std::string> wave = {"wave", kDemo, "--run", "power up"};
  const auto with = [&wave](const std::vector<std::string>& more) {
    std::vector<std::string> arguments = wave;
    arguments.insert(arguments.end(), more.begin(), more.end());
    return arguments;
  };
  const Ran strict = run_program(wave, options);
  CHECK(strict.status == 3);
  CHECK_THAT(strict.err, Contains("--allow-unsealed"));
  const Ran lenient = run_program(with({"--allow-unsealed"}), options);
  CHECK(lenient.status == 0);
  CHECK(lenient.err == "benchproof: warning: the engine runs without its seal\n");
  const Ran alone = run_program(with({"--witness", "nodal"}), options);
  CHECK(alone.status == 0);
  CHECK(alone.err.empty());
}

TEST_CASE("a deck explains its names", "[program][deck]") {
  const Ran ran = run_program({"deck", kDemo});
  CHECK(ran.status == 0);
  CHECK(ran.err.empty());
  CHECK_THAT(ran.out, Contains("* state night") &&
                          Contains("PWM: the phase 'on', 30 %") &&
                          Contains("net rail") && Contains("part quay1_r"));
  const Ran mooring = run_program({"deck", kDemo, "--state", "mooring"});
  CHECK_THAT(mooring.out, Contains("* state mooring") && !Contains("PWM"));
  const Ran plain = run_program({"deck", kDemo, "--plain"});
  CHECK_THAT(plain.out, !Contains("rail") && !Contains("quay") && Contains("\n.end\n"));
  const Ran changed =
      run_program({"deck", kDemo, "--plain", "--set", "quay1_r.value=151R"});
  CHECK(changed.out != plain.out);
  CHECK_THAT(changed.out, Contains(" 151\n"));
  CHECK(run_program({"deck", kDemo, "--state", "nigth"}).status == 2);
  CHECK(run_program({"deck", "tests/diagnostics/syntax.toml"}).status == 2);
}

TEST_CASE("the deck of a run is that of its transient", "[program][deck]") {
  const Ran ran = run_program({"deck", kDemo, "--run", "power up"});
  CHECK(ran.status == 0);
  CHECK(ran.err.empty());
  CHECK_THAT(ran.out, Contains("* run power up, 60 ms long") &&
                          Contains("It begins at rest") && Contains("net rail") &&
                          Contains("part quay1_r") && Contains("\n.tran ") &&
                          !Contains("* state"));
  const Ran other = run_program({"deck", kDemo, "--run", "lantern on"});
  CHECK_THAT(other.out, Contains("*   br") && Contains("conductance is exp()") &&
                            Contains("pwl("));
  const Ran plain = run_program({"deck", kDemo, "--run", "power up", "--plain"});
  CHECK_THAT(plain.out, !Contains("rail") && !Contains("quay") && Contains("\n.end\n"));
  const Ran changed = run_program(
      {"deck", kDemo, "--run", "power up", "--plain", "--set", "quay1_r.value=151R"});
  CHECK(changed.out != plain.out);

  const Ran misspelt = run_program({"deck", kDemo, "--run", "power upp"});
  CHECK(misspelt.status == 2);
  CHECK(misspelt.out.empty());
  CHECK_THAT(misspelt.err, Contains("there is no run 'power upp'") &&
                               Contains("did you mean 'power up'?"));
  const Ran none = run_program({"deck", "circuits/led-single.toml", "--run", "up"});
  CHECK(none.status == 2);
  CHECK_THAT(none.err, Contains("the description has no runs"));
  const Ran both =
      run_program({"deck", kDemo, "--run", "power up", "--state", "night"});
  CHECK(both.status == 2);
  CHECK_THAT(both.err, Contains("--run") && Contains("--state"));
}

TEST_CASE("the deck of a run, as it is shown, is what the engine follows",
          "[program][deck]") {
  const std::vector<std::string> asked = {"circuits/delay-rc.toml", "--run",
                                          "switched on"};
  const auto with = [&asked](std::vector<std::string> arguments,
                             const std::vector<std::string>& options) {
    arguments.insert(arguments.end(), asked.begin(), asked.end());
    arguments.insert(arguments.end(), options.begin(), options.end());
    return run_program(arguments);
  };
  EngineRequest request;
  request.analysis = wire::Analysis::transient;
  request.span = 3.0;
  std::istringstream lines(with({"deck"}, {"--plain"}).out);
  for (std::string line; std::getline(lines, line);) request.deck.push_back(line);
  std::smatch node;
  const std::string explained = with({"deck"}, {}).out;
  REQUIRE(std::regex_search(explained, node, std::regex(R"((n\d+) +net filling\n)")));
  request.vectors = {node[1].str()};
  EngineOptions options;
  options.worker_path = bin_dir() + "/benchproof-worker";
  const EngineReply reply = EngineSession(options).run(request);
  INFO(reply.message);
  REQUIRE(reply.status == EngineStatus::solved);

  // The last row of both: the time and the voltage. Each is within 1e-4 of the swing,
  // 5 V (TransientDeckOptions).
  const std::string csv =
      with({"wave"}, {"--witness", "engine", "--nets", "filling", "--csv"}).out;
  std::istringstream last(csv.substr(csv.rfind('\n', csv.size() - 2) + 1));
  double seconds = 0.0;
  double volts = 0.0;
  char comma = ' ';
  REQUIRE((last >> seconds >> comma >> volts));
  CHECK(seconds == 3.0);
  CHECK_THAT(volts, WithinAbs(reply.values.back(), 2 * 1e-4 * 5.0));
  CHECK(volts > 4.5);
}

TEST_CASE("the catalogue is shown kind by kind and type by type", "[program][parts]") {
  const Ran kinds = run_program({"parts"});
  CHECK(kinds.status == 0);
  CHECK(kinds.err.empty());
  CHECK_THAT(kinds.out, Contains("relay-coil") && Contains("diode"));
  CHECK(std::count(kinds.out.begin(), kinds.out.end(), '\n') <= 24);  // One screen.
  const Ran list = run_program({"parts", "diode"});
  CHECK_THAT(list.out, Contains("1N4148") && Contains("reverse"));
  const Ran one = run_program({"parts", "1n5819"});
  // Figures with condition and source: Taiwan Semiconductor 1N5817 - 1N5819, A06, as
  // reference/parts/diodes.toml has them.
  CHECK_THAT(one.out, Contains("type = \"1N5819\"") && Contains("reverse") &&
                          Contains("40.0 V") && Contains("Taiwan Semiconductor") &&
                          Contains("(verified)") && Contains("worst error"));
  CHECK(run_program({"parts", "5819"}).out == one.out);
  CHECK_THAT(run_program({"parts", "red", "5", "mm"}).out,
             Catch::StartsWith("red 5 mm, led\n"));
  const Ran unknown = run_program({"parts", "1N5818x"});
  CHECK(unknown.status == 2);
  CHECK(unknown.out.empty());
  CHECK_THAT(unknown.err, Contains("did you mean '1N5818'"));
  CHECK_THAT(run_program({"parts", "\x1b[31m\xff"}).err,
             !Contains("\x1b") && !Contains("\xff"));
  CHECK(run_program({"parts", "--csv", "--json"}).status == 2);
}

TEST_CASE("all of the catalogue fits 80 columns of ASCII", "[program][parts]") {
  std::vector<std::vector<std::string>> all{{"parts"}};
  const Json kinds = Json::parse(run_program({"parts", "--json"}).out);
  CHECK(kinds["benchproof"] == 1);
  for (const Json& kind : kinds["kinds"]) {
    if (kind["types"] == 0) continue;
    const std::string name = kind["kind"];
    all.push_back({"parts", name});
    const Json types = Json::parse(run_program({"parts", name, "--json"}).out)["types"];
    CHECK(types.size() == kind["types"]);
    // Two of each kind stand for the others.
    all.push_back({"parts", types.front()["name"]});
    all.push_back({"parts", types.back()["name"]});
  }
  CHECK(all.size() > 40);
  for (const auto& arguments : all) {
    const Ran ran = run_program(arguments);
    CHECK(ran.status == 0);
    std::istringstream lines(ran.out);
    for (std::string line; std::getline(lines, line);) {
      CAPTURE(arguments, line);
      CHECK(line.size() <= 80);
      CHECK(std::all_of(line.begin(), line.end(),
                        [](char c) { return c >= ' ' && c <= '~'; }));
    }
  }
}

TEST_CASE("a type's figures come as data", "[program][parts]") {
  const Json found = Json::parse(run_program({"parts", "BC547B", "--json"}).out);
  CHECK(found["benchproof"] == 1);
  REQUIRE(found["types"].size() == 1);
  const Json& type = found["types"][0];
  CHECK(type["kind"] == "transistor");
  CHECK(type["words"]["polarity"] == "npn");
  // Fairchild BC547/A/B/C, 547ABC Rev B (1997).
  CHECK(type["figures"]["voltage"]["value"] == 45.0);
  CHECK(type["figures"]["voltage"]["unit"] == "V");
  CHECK(type["figures"]["voltage"]["mark"] == "verified");
  CHECK_FALSE(type["figures"]["voltage"]["source"].get<std::string>().empty());
  CHECK(type["model"]["bf"] == type["figures"]["gain"]["value"]);
  // Base voltage, two gains, two saturation voltages.
  CHECK(type["fit"].size() == 5);
  const Json none = Json::parse(run_program({"parts", "BC547D", "--json"}).out);
  CHECK(none["types"].empty());
  CHECK(none["near"].size() == 3);

  const std::string csv = run_program({"parts", "BC547B", "--csv"}).out;
  CHECK_THAT(
      csv, Catch::StartsWith("kind,type,figure,value,unit,condition,mark,source\r\n"));
  CHECK_THAT(csv, Contains("transistor,BC547B,voltage,45,V,,verified,"));
  // RFC 4180: seven separators outside of quotes in every record, CRLF at its end.
  std::size_t separators = 0;
  bool is_quoted = false;
  for (std::size_t k = 0; k < csv.size(); ++k) {
    if (csv[k] == '"') is_quoted = !is_quoted;
    if (csv[k] == ',' && !is_quoted) ++separators;
    if (csv[k] != '\n' || is_quoted) continue;
    CHECK(csv[k - 1] == '\r');
    CHECK(separators == 7);
    separators = 0;
  }
  CHECK_THAT(csv, Contains("\"min, IC = 2 mA, VCE = 5 V\""));
}

namespace {

const std::string kOwnType = R"(
[sources]
sheet = "The maker's sheet, page 1"

[[type]]
kind = "lamp"
name = "festoon"
voltage = "12 V | verified | sheet"
current = "100 mA | given"
)";

std::string with_catalogue(const std::string& path) {
  return "catalogue = \"" + path + R"("
[parts]
s = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
l = { kind = "lamp", type = "festoon" }
[nets]
ground = ["s.minus", "l.b"]
top = ["s.plus", "l.a"]
[[expect]]
part = "l"
current = { nominal = "100 mA", within = "0.1%" }
)";
}

}  // namespace

TEST_CASE("a description may bring types of its own", "[program][parts]") {
  const Folder folder;
  folder.file("mine.toml", kOwnType);
  std::filesystem::create_directory(folder.path() + "/sub");
  folder.file("sub/mine.toml", kOwnType);
  const std::string beside = folder.file("a.toml", with_catalogue("mine.toml"));
  const std::string below = folder.file("b.toml", with_catalogue("sub/mine.toml"));
  for (const std::string& path : {beside, below}) {
    const Ran ran = run_program({"verify", path});
    CAPTURE(ran.out, ran.err);
    CHECK(ran.status == 0);
    CHECK_THAT(ran.out, Contains("1 of 1 hold"));
  }
  CHECK(run_program({"deck", beside}).status == 0);
  // Shown by itself, and beside the others.
  const std::string own = folder.path() + "/mine.toml";
  CHECK_THAT(run_program({"parts", "festoon", "--catalogue", own}).out,
             Contains("The maker's sheet, page 1 (verified)") &&
                 Contains("mine.toml (given)"));
  CHECK(run_program({"parts", "festoon"}).status == 2);
  CHECK_THAT(run_program({"parts", "lamp", "--catalogue", own}).out,
             Contains("festoon") && Contains("grain of wheat"));
}

TEST_CASE("a catalogue that is no good is told with its places", "[program][parts]") {
  const Folder folder;
  folder.file("mine.toml", kOwnType + "reach = \"1 m | given\"\n");
  std::string text = with_catalogue("mine.toml") + "[states.x]\n\"l.tpye\" = \"y\"\n";
  const std::string path = folder.file("a.toml", text);
  const Ran ran = run_program({"verify", path});
  CHECK(ran.status == 2);
  // Both files at once; the type is known though it is bad.
  CHECK_THAT(ran.err, Contains(folder.path() + "/mine.toml:10:1: error: 'reach'") &&
                          Contains(path + ":") && Contains("[key-unknown]") &&
                          !Contains("[type-unknown]") && Contains("with 2 complaints"));
  const Json json = Json::parse(run_program({"verify", "--json", path}).out);
  REQUIRE(json["complaints"].size() == 2);
  CHECK(json["complaints"][0]["file"] == folder.path() + "/mine.toml");
  CHECK(json["complaints"][0]["line"] == 10);
  CHECK(json["complaints"][1]["file"] == path);
  const Ran alone =
      run_program({"parts", "--catalogue", folder.path() + "/mine.toml", "--json"});
  CHECK(alone.status == 2);
  CHECK_THAT(alone.err, Contains("[key-unknown]"));
  CHECK(Json::parse(alone.out)["complaints"][0]["id"] == "key-unknown");
  CHECK(run_program({"parts", "--catalogue", "/nonexistent"}).status == 2);
}

TEST_CASE("the times of --every are written as one would", "[program][wave]") {
  const Ran ran = run_program(
      {"wave", "-", "--csv", "--nets", "tap", "--every", "100ms"}, {.input = R"(
[parts]
v = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
r = { kind = "resistor", value = "100k" }
c = { kind = "capacitor", value = "10 uF", rated = "16 V" }
[nets]
top = ["v.plus", "r.a"]
tap = ["r.b", "c.a"]
ground = ["v.minus", "c.b"]
[states.on]
[[runs]]
name = "charge"
state = "on"
span = "0.75 s"
)"});
  CAPTURE(ran.out, ran.err);
  CHECK(ran.status == 0);
  for (const char* time : {"\n0,", "\n0.1,", "\n0.3,", "\n0.6,", "\n0.7,"})
    CHECK_THAT(ran.out, Contains(time));
  CHECK_THAT(ran.out, !Contains("0000004,") && !Contains("0000001,"));
}

TEST_CASE("a catalogue is read from the description's folder only",
          "[program][parts][robust]") {
  const Folder folder;
  const Folder other;
  namespace fs = std::filesystem;
  const std::string outside = other.file("mine.toml", kOwnType);
  folder.file("big.toml", std::string((1 << 20) + 1, '#'));
  folder.file("real.toml", kOwnType);
  fs::create_symlink(outside, folder.path() + "/link.toml");
  fs::create_symlink(other.path(), folder.path() + "/folder");
  fs::create_symlink("real.toml", folder.path() + "/inner.toml");
  fs::create_symlink("loop.toml", folder.path() + "/loop.toml");
  fs::create_directory(folder.path() + "/empty");
  REQUIRE(mkfifo((folder.path() + "/pipe").c_str(), 0600) == 0);
  struct Case {
    std::string name;
    std::string told;
  };
  for (const Case& bad :
       {Case{"link.toml", "leads out of the description's folder"},
        {"folder/mine.toml", "leads out of the description's folder"},
        {"absent.toml", "cannot be opened"},
        {"loop.toml", "cannot be opened"},
        {"empty", "is no ordinary file"},
        {"pipe", "is no ordinary file"},
        {"big.toml", "[too-large]"},
        {"../" + fs::path(other.path()).filename().string() + "/mine.toml",
         "[catalogue-path]"},
        {outside, "[catalogue-path]"}}) {
    const Ran ran =
        run_program({"verify", folder.file("a.toml", with_catalogue(bad.name))});
    CAPTURE(bad.name, ran.err);
    CHECK(ran.status == 2);
    CHECK(ran.out.empty());
    CHECK_THAT(ran.err, Contains(bad.told));
    CHECK_THAT(ran.err, Contains("with 1 complaint"));
  }
  CHECK(run_program({"verify", folder.file("a.toml", with_catalogue("inner.toml"))})
            .status == 0);
  const Ran piped =
      run_program({"verify", "-"}, {.input = with_catalogue("mine.toml")});
  CHECK(piped.status == 2);
  CHECK_THAT(piped.err,
             Contains("[catalogue-unreadable]") && Contains("standard input"));
}

TEST_CASE("a finding's id is explained, with a file or without", "[program]") {
  const Ran one = run_program({"verify", "--explain", "resistor-power"});
  CHECK(one.status == 0);
  CHECK(one.err.empty());
  CHECK_THAT(one.out, Catch::StartsWith("resistor-power: ") &&
                          Catch::Contains("P = I^2 R") && Catch::Contains("limit"));

  const Ran list = run_program({"verify", "--explain", "list"});
  CHECK(list.status == 0);
  CHECK_THAT(list.out, Catch::Contains("\nresistor-power") &&
                           Catch::Contains("\nregulator-dropout"));
  for (const Ran* ran : {&one, &list}) {
    std::istringstream lines(ran->out);
    for (std::string line; std::getline(lines, line);) CHECK(line.size() <= 80);
  }

  const Ran json = run_program({"verify", "--explain", "list", "--json"});
  CHECK(json.status == 0);
  const auto read = nlohmann::json::parse(json.out);
  CHECK(read["benchproof"] == 1);
  CHECK(read["explanations"].size() >= 80);
  CHECK(read["explanations"][0].contains("formula"));

  const Ran both = run_program({"verify", kDemo, "--explain", "touch"});
  CHECK(both.status == 0);
  CHECK_THAT(both.out, Catch::StartsWith("Harbour light") &&
                           Catch::Contains("[supply-current]") &&
                           Catch::Contains("\ntouch: "));
}

TEST_CASE("an id that there is not is refused, and so is nothing at all", "[program]") {
  const Ran wrong = run_program({"verify", "--explain", "led-curent"});
  CHECK(wrong.status == 2);
  CHECK(wrong.out.empty());
  CHECK_THAT(wrong.err, Catch::Contains("did you mean 'led-current'?"));
  CHECK(run_program({"verify", "--explain", ""}).status == 2);
  CHECK(run_program({"verify"}).status == 2);
  const Ran two = run_program({"verify", kDemo, "--explain", "touch", "--json"});
  CHECK(two.status == 2);
  CHECK(two.out.empty());
}

TEST_CASE("a waveform that is refused is told as data where data is wanted",
          "[program][wave]") {
  const std::string runs = "tests/diagnostics/run-time.toml";
  const auto [arguments, id] =
      GENERATE_COPY(table<std::vector<std::string>, std::string>(
          {{{runs}, "run-time"},
           {{"no-such-file.toml"}, "file-unreadable"},
           {{kDemo, "--run", "nonesuch"}, "run-unknown"},
           {{kDemo, "--run", "power up", "--nets", "nonesuch"}, "net-unknown"},
           {{kDemo, "--run", "power up", "--nets", "rail,rail"}, "command-line"},
           {{kDemo, "--run", "power up", "--every", "3600 s"}, "command-line"}}));
  std::vector<std::string> all = {"wave", "--json"};
  all.insert(all.end(), arguments.begin(), arguments.end());
  const Ran ran = run_program(all);
  CAPTURE(all, ran.out, ran.err);
  CHECK(ran.status == 2);
  CHECK_FALSE(ran.err.empty());
  const auto json = nlohmann::json::parse(ran.out, nullptr, false);
  REQUIRE(json.is_object());
  CHECK(json["verdict"] == "refused");
  REQUIRE_FALSE(json["complaints"].empty());
  CHECK(json["complaints"][0]["id"] == id);
}
