#include <algorithm>
#include <catch2/catch.hpp>
#include <map>
#include <random>
#include <set>
#include <string>
#include <vector>

#include "core/circuit/entries/block_files.h"
#include "core/circuit/read/reader.h"
#include "tests/unit/circuit/known_parts.h"

using namespace benchproof;
using benchproof::known_types;
using benchproof::test::part;

namespace {

using Files = std::map<std::string, std::string>;

ReadResult read_with(const std::string& text, const Files& files = {},
                     Wishes asked = {}) {
  asked.files = block_files(text, [&files](const std::string& path) {
    const auto found = files.find(path);
    if (found == files.end()) return BlockFile{path, "", "is not there"};
    return BlockFile{path, found->second, ""};
  });
  return read_circuit(text, "harbour.toml", known_types(), asked);
}

Circuit written_out(const std::string& text, const Files& files = {},
                    const Wishes& asked = {}) {
  ReadResult result = read_with(text, files, asked);
  std::string told = text + "\n";
  for (const Diagnostic& d : result.diagnostics)
    told += to_text(d, "file " + std::to_string(d.span.file), text);
  INFO(told);
  REQUIRE(result.circuit.has_value());
  return *std::move(result.circuit);
}

/// "LINE ID MESSAGE" of each complaint, with "FILE:" before it where it is of a file.
std::vector<std::string> told_about(const std::string& text, const Files& files = {}) {
  std::vector<std::string> told;
  for (const Diagnostic& d : read_with(text, files).diagnostics)
    told.push_back((d.span.file > 0 ? std::to_string(d.span.file) + ":" : "") +
                   std::to_string(d.span.begin.line) + " " + d.id + " " + d.message);
  return told;
}

std::map<std::string, std::set<std::string>> joints_of(const Circuit& circuit) {
  std::map<std::string, std::set<std::string>> nets;
  for (const Net& net : circuit.nets)
    for (const PinRef ref : net.pins) {
      const Part& on = circuit.parts[static_cast<std::size_t>(ref.part)];
      nets[net.name].insert(on.name + "." + on.pins[static_cast<std::size_t>(ref.pin)]);
    }
  return nets;
}

const std::string kLamp = R"(
pins = ["in"]
[PREFIXparts]
r   = { kind = "resistor", value = "330R", power = "0.25 W" }
led = { kind = "led", colour = "red" }
[PREFIXpaths]
lit = ["in", "r", "net:mid", "led", "ground"]
[[PREFIXexpect]]
part = "led"
current = { max = "15 mA" }
[[PREFIXexpect]]
net = "mid"
to = "ground"
voltage = { max = "3 V" }
)";

std::string lamp_as(const std::string& prefix) {
  std::string text = kLamp;
  for (std::size_t at = 0; (at = text.find("PREFIX")) != std::string::npos;)
    text.replace(at, 6, prefix);
  return text;
}

const std::string kLampBlock = "[blocks.lamp]" + lamp_as("blocks.lamp.");

const std::string kTwoLamps = R"(
[parts]
jack  = { kind = "dc-supply", voltage = "5 V", current = "500 mA" }
quay1 = { block = "lamp" }
quay2 = { block = "lamp", "r.value" = "1k", led.colour = "green" }
[paths]
all = ["ground", "jack.minus", "jack.plus", "rail", "quay1.in"]
more = ["rail", "quay2.in"]
)";

}  // namespace

TEST_CASE("a block is written out under the name of its use", "[blocks]") {
  const Circuit circuit = written_out(kTwoLamps + kLampBlock);
  std::vector<std::string> names;
  for (const Part& p : circuit.parts) names.push_back(p.name);
  CHECK(names == std::vector<std::string>{"jack", "quay1/r", "quay1/led", "quay2/r",
                                          "quay2/led"});
  CHECK(joints_of(circuit) ==
        std::map<std::string, std::set<std::string>>{
            {"ground", {"jack.minus", "quay1/led.cathode", "quay2/led.cathode"}},
            {"rail", {"jack.plus", "quay1/r.a", "quay2/r.a"}},
            {"quay1/mid", {"quay1/r.b", "quay1/led.anode"}},
            {"quay2/mid", {"quay2/r.b", "quay2/led.anode"}}});
  CHECK(figure(part(circuit, "quay1/r"), "value")->value == 330.0);
  CHECK(figure(part(circuit, "quay2/r"), "value")->value == 1000.0);
  CHECK(word_of(part(circuit, "quay1/led"), "colour") == "red");
  CHECK(word_of(part(circuit, "quay2/led"), "colour") == "green");
  // A part is told at the place of its use.
  CHECK(part(circuit, "quay2/r").span.begin.line == 5);
  REQUIRE(circuit.uses.size() == 2);
  CHECK(circuit.uses[1].name == "quay2");
  CHECK(circuit.uses[1].block == "lamp");
  CHECK(circuit.uses[1].pins == std::vector<std::string>{"in"});
  CHECK(circuit.inner_names.at("quay1/in") == circuit.inner_names.at("quay2/in"));
}

TEST_CASE("a block's expectations hold for each of its uses", "[blocks]") {
  const Circuit circuit = written_out(kTwoLamps + kLampBlock);
  REQUIRE(circuit.expectations.size() == 4);
  std::vector<std::string> about;
  for (const Expectation& e : circuit.expectations)
    about.push_back(e.part >= 0 ? circuit.parts[static_cast<std::size_t>(e.part)].name
                                : circuit.nets[static_cast<std::size_t>(e.net)].name);
  CHECK(about ==
        std::vector<std::string>{"quay1/led", "quay1/mid", "quay2/led", "quay2/mid"});
}

TEST_CASE("states, variants and changes speak of what is in a block", "[blocks]") {
  const std::string text = R"(
[parts]
jack  = { kind = "dc-supply", voltage = "5 V" }
quay1 = { block = "lamp" }
[paths]
all = ["ground", "jack.minus", "jack.plus", "quay1", "ground"]
[states.on]
"quay1/door" = "closed"
[states.dim]
"quay1/door" = "closed"
"quay1/r.value" = "1k"
[variants.green]
"quay1/led.colour" = "green"
"dim.quay1/door" = "open"
[[expect]]
part = "quay1/led"
state = "on"
current = { max = "20 mA" }
[blocks.lamp]
pins = ["in", "out"]
parts.door = { kind = "switch" }
parts.r    = { kind = "resistor", value = "330R" }
parts.led  = { kind = "led", colour = "red" }
paths.lit  = ["in", "door", "r", "led", "out"]
)";
  const Circuit circuit = written_out(text);
  CHECK(circuit.states[0].closed.at(1));
  CHECK(figure(part_in(circuit, circuit.states[1], 2), "value")->value == 1000.0);
  // Automatic names stay within the block; its pins are called after what they meet.
  std::set<std::string> nets;
  for (const Net& net : circuit.nets) nets.insert(net.name);
  CHECK(nets ==
        std::set<std::string>{"ground", "jack-quay1", "quay1/door-r", "quay1/r-led"});
  const Circuit green = written_out(text, {}, {.variant = "green"});
  CHECK(word_of(part(green, "quay1/led"), "colour") == "green");
  CHECK_FALSE(green.states[1].closed.at(1));
  const Circuit set = written_out(text, {}, {.changes = {{"quay1/r.value", "470R"}}});
  CHECK(figure(part(set, "quay1/r"), "value")->value == 470.0);
}

TEST_CASE("blocks hold blocks, from files too", "[blocks]") {
  const Files files = {{"lamps/pair.toml", R"(
pins = ["in"]
[blocks.lamp]
file = "lamp.toml"
[parts]
left  = { block = "lamp" }
right = { block = "lamp", "r.value" = "470R" }
[nets]
in = ["left.in", "right.in"]
)"},
                       {"lamps/lamp.toml", lamp_as("")}};
  const Circuit circuit = written_out(R"(
[parts]
jack = { kind = "dc-supply", voltage = "5 V" }
gate = { block = "pair", "left/r.value" = "1k" }
[paths]
all = ["ground", "jack.minus", "jack.plus", "gate.in"]
[blocks]
pair = { file = "lamps/pair.toml" }
)",
                                      files);
  CHECK(figure(part(circuit, "gate/left/r"), "value")->value == 1000.0);
  CHECK(figure(part(circuit, "gate/right/r"), "value")->value == 470.0);
  CHECK(joints_of(circuit).at("jack-gate") ==
        std::set<std::string>{"jack.plus", "gate/left/r.a", "gate/right/r.a"});
  CHECK(circuit.inner_names.size() == 3);  // gate/in, gate/left/in, gate/right/in
  CHECK(circuit.expectations.size() == 4);
  // What stands in a file is told at the place of the use.
  CHECK(part(circuit, "gate/left/r").span == circuit.uses[0].span);
  for (const Expectation& e : circuit.expectations) CHECK(e.span.begin.line == 4);
}

TEST_CASE("a block's pin may be left open", "[blocks]") {
  const Circuit circuit = written_out(R"(
[parts]
jack = { kind = "dc-supply", voltage = "5 V" }
one  = { block = "divider" }
two  = { block = "divider" }
[nets]
open = ["one.spare", "one.tap", "two.tap"]
[paths]
all  = ["ground", "jack.minus", "jack.plus", "one.in", "two.in"]
join = ["two.spare", "ground"]
[blocks.divider]
pins = ["in", "tap", "spare"]
parts.top  = { kind = "resistor", value = "1k" }
parts.foot = { kind = "resistor", value = "1k" }
parts.out  = { kind = "resistor", value = "1k" }
paths.down = ["in", "top", "tap", "foot", "ground"]
paths.side = ["tap", "out", "spare"]
)");
  const auto joints = joints_of(circuit);
  CHECK(joints.at("one/tap") ==
        std::set<std::string>{"one/top.b", "one/foot.a", "one/out.a"});
  CHECK(joints.contains("two/tap"));
  CHECK_FALSE(joints.contains("one/spare"));
  CHECK(part(circuit, "one/out").nets[1] == -1);
  CHECK(part(circuit, "two/out").nets[1] == 0);
}

TEST_CASE("a block's file is proved alone by its test", "[blocks]") {
  const std::string proof = lamp_as("") + R"(
[test.parts]
jack = { kind = "dc-supply", voltage = "5 V" }
door = { kind = "switch" }
[test.paths]
supply = ["ground", "jack.minus", "jack.plus", "door", "block.in"]
[test.states.on]
door = "closed"
[[test.expect]]
state = "on"
part = "block/led"
current = { min = "5 mA" }
)";
  const Circuit circuit = written_out(proof);
  CHECK(circuit.parts.size() == 4);
  CHECK(joints_of(circuit).at("door-block") ==
        std::set<std::string>{"door.b", "block/r.a"});
  CHECK(circuit.states[0].name == "on");
  CHECK(circuit.expectations.size() == 3);
  // The same file as a block: the test is left out.
  const Circuit used = written_out("[blocks.lamp]\nfile = \"lamp.toml\"\n" + kTwoLamps,
                                   {{"lamp.toml", proof}});
  CHECK(used.parts.size() == 5);
  CHECK(told_about(lamp_as("")) ==
        std::vector<std::string>{"2 block-test this is a block; nothing says in which "
                                 "circuit it is proved"});
}

TEST_CASE("a mistake in a block is told once", "[blocks]") {
  std::string text = R"([parts]
jack = { kind = "dc-supply", voltage = "5 V" }
load = { kind = "resistor", value = "1k" }
more = { kind = "resistor", value = "1k" }
)";
  std::string path = "[nets]\nrail = [\"jack.plus\", ";
  for (int k = 0; k < 24; ++k) {
    text += "l" + std::to_string(k) + " = { block = \"lamp\" }\n";
    path += "\"l" + std::to_string(k) + ".in\", ";
  }
  text += path +
          "]\nground = [\"jack.minus\", \"load.b\"]\ntap = [\"load.a\", "
          "\"more.a\"]\nopen = [\"more.b\"]\n";
  const std::string block = R"([blocks.lamp]
pins = ["in"]
parts.r   = { kind = "resistor", value = "330" }
parts.led = { kind = "led", colour = "red", sise = "3 mm" }
nets.lone = ["led.cathode"]
paths.lit = ["in", "r", "led.anod"]
)";
  const std::vector<std::string> told = told_about(text + block);
  CHECK(told == std::vector<std::string>{
                    "36 unit-missing 'l0/r.value': the number has no unit",
                    "37 key-unknown 'sise' is not a key of kind 'led'",
                    "38 net-dangling only pin 'l0/led.cathode' stands on net 'l0/lone'",
                    "39 pin-unknown 'l0/led' has no pin 'anod'"});
}

TEST_CASE("what blocks come to is bounded before it is made", "[blocks]") {
  // Each holds a hundred of the one before: 10^12 parts, written out.
  std::string text = R"([parts]
jack = { kind = "dc-supply", voltage = "5 V" }
all  = { block = "b6" }
[paths]
p = ["ground", "jack.minus", "jack.plus", "all.in"]
[blocks.b0]
pins = ["in"]
parts.r = { kind = "resistor", value = "1k" }
paths.p = ["in", "r", "ground"]
)";
  for (int k = 1; k <= 6; ++k) {
    text += "[blocks.b" + std::to_string(k) + "]\npins = [\"in\"]\n";
    std::string list;
    for (int n = 0; n < 100; ++n) {
      text += "parts.n" + std::to_string(n) + " = { block = \"b" +
              std::to_string(k - 1) + "\" }\n";
      list += "\"n" + std::to_string(n) + ".in\", ";
    }
    text += "nets.in = [" + list + "]\n";
  }
  const std::vector<std::string> told = told_about(text);
  REQUIRE(told.size() == 1);
  CHECK_THAT(told[0], Catch::Contains("too-large the blocks come to more than 2000"));
}

TEST_CASE("names within blocks keep to the limit", "[blocks]") {
  const std::string long_name(40, 'x');
  const std::vector<std::string> told = told_about(
      "[parts]\njack = { kind = \"dc-supply\", voltage = \"5 V\" }\n" + long_name +
      " = { block = \"b\" }\n[paths]\np = [\"ground\", \"jack.minus\", \"jack.plus\", "
      "\"" +
      long_name + ".in\"]\n[blocks.b]\npins = [\"in\"]\nparts." + long_name +
      " = { kind = \"resistor\", value = \"1k\" }\npaths.p = [\"in\", \"" + long_name +
      "\", \"ground\"]\n");
  REQUIRE(told.size() == 1);
  CHECK_THAT(told[0], Catch::Contains("name-invalid") &&
                          Catch::Contains("makes a name of 81 characters"));
}

TEST_CASE("the files of blocks are asked for once each, as far as allowed",
          "[blocks]") {
  std::vector<std::string> asked;
  const Files files = {{"a/one.toml",
                        "[blocks]\nx = { file = \"two.toml\" }\n"
                        "y = { file = \"../three.toml\" }\n"
                        "z = { file = \"/four.toml\" }\n"},
                       {"a/two.toml", "[blocks]\nx = { file = \"one.toml\" }\n"}};
  const auto load = [&](const std::string& path) {
    asked.push_back(path);
    const auto found = files.find(path);
    return BlockFile{path, found != files.end() ? found->second : "", ""};
  };
  (void)block_files("[blocks]\na = { file = \"a/one.toml\" }\nb = { file = 5 }\n",
                    load);
  CHECK(asked == std::vector<std::string>{"a/one.toml", "a/two.toml"});
  std::string many = "[blocks]\n";
  for (int k = 0; k < 80; ++k)
    many += "b" + std::to_string(k) + " = { file = \"f" + std::to_string(k) + "\" }\n";
  asked.clear();
  CHECK(block_files(many, load).size() == 50);
  CHECK(block_files("no toml = = file", load).empty());
}

TEST_CASE("a file that holds itself is a circle", "[blocks]") {
  const std::string text = R"([parts]
jack = { kind = "dc-supply", voltage = "5 V" }
quay = { block = "a" }
[paths]
p = ["ground", "jack.minus", "jack.plus", "quay.in"]
[blocks]
a = { file = "a.toml" }
)";
  const std::vector<std::string> told = told_about(text, {{"a.toml", R"(pins = ["in"]
[parts]
again = { block = "a" }
[paths]
p = ["in", "again.in"]
[blocks]
a = { file = "a.toml" }
)"}});
  REQUIRE(told.size() == 1);
  CHECK_THAT(told[0], Catch::Contains("block-circle"));
}

namespace {

/// Words that mean something in a description with blocks, put together at random.
std::string random_description(unsigned k) {
  std::mt19937 random(k);
  const auto any = [&random](const std::vector<std::string>& words) {
    return words[random() % words.size()];
  };
  const std::vector<std::string> names = {"a",   "b",      "lamp", "r",   "in",
                                          "out", "ground", "open", "a/b", "x y"};
  const std::vector<std::string> items = {"in",     "out",   "r",    "r.a",
                                          "r.b",    "a",     "a.in", "b.out",
                                          "ground", "net:a", "a/r",  "lamp"};
  std::string text;
  const auto part = [&] {
    switch (random() % 5) {
      case 0:
        return std::string("{ kind = \"resistor\", value = \"1k\" }");
      case 1:
        return "{ block = \"" + any(names) + "\", \"r.value\" = \"2k\" }";
      case 2:
        return "{ block = \"" + any(names) + "\" }";
      case 3:
        return "{ block = \"" + any(names) + "\", r = { value = 5 }, kind = \"led\" }";
      default:
        return std::string("5");
    }
  };
  const auto body = [&](const std::string& prefix) {
    std::string lines = "[" + prefix + "parts]\n";
    std::set<std::string> used;
    for (auto n = random() % 4; n > 0; --n)
      if (const std::string name = any(names); used.insert(name).second)
        lines += "\"" + name + "\" = " + part() + "\n";
    for (const char* table : {"nets", "paths"}) {
      lines += "[" + prefix + table + "]\n";
      used.clear();
      for (auto n = random() % 4; n > 0; --n) {
        const std::string name = any(names);
        if (!used.insert(name).second) continue;
        lines += "\"" + name + "\" = [";
        for (auto i = random() % 5; i > 0; --i) lines += "\"" + any(items) + "\", ";
        lines += "]\n";
      }
    }
    return lines;
  };
  if (random() % 4 == 0) text += "pins = [\"in\"]\n";
  text += body("");
  for (const char* block : {"a", "b", "lamp"}) {
    text += std::string("[blocks.") + block + "]\n";
    if (random() % 6 != 0) {
      text += "pins = [\"" + any(items) + "\", \"in\"]\n";
      text += body(std::string("blocks.") + block + ".");
    } else {
      text += "file = \"" + any(items) + "\"\n";
    }
  }
  if (random() % 4 == 0) text += body("test.");
  return text;
}

}  // namespace

TEST_CASE("no block makes the reader fail", "[blocks]") {
  for (unsigned k = 0; k < 3000; ++k) {
    const std::string text = random_description(k);
    CAPTURE(k, text);
    const ReadResult result =
        read_with(text, {{"in", random_description(k + 1)}, {"a", "= ="}});
    REQUIRE(result.circuit.has_value() == result.diagnostics.empty());
    for (const Diagnostic& d : result.diagnostics) REQUIRE_FALSE(d.message.empty());
  }
}

TEST_CASE("a random circuit is the same with its parts in blocks", "[blocks]") {
  // Parts between nets, each alone or in a block of its own kind, nested at random.
  constexpr unsigned kSeed = 18;
  for (unsigned k = 0; k < 300; ++k) {
    std::seed_seq both{kSeed, k};
    std::mt19937 random(both);
    const auto nets = 2 + random() % 5;
    std::string plain = "[parts]\njack = { kind = \"dc-supply\", voltage = \"5 V\" }\n";
    std::string blocks = plain;
    std::string lists =
        "[paths]\nsupply = [\"net:ground\", \"jack.minus\", \"jack.plus\", "
        "\"net:n1\"]\n";
    std::map<std::string, std::string> inner;
    for (unsigned p = 0; p < 4 + nets; ++p) {
      const std::string name = "p" + std::to_string(p);
      const auto levels = random() % 4;
      plain += name + " = { kind = \"resistor\", value = \"" + std::to_string(p + 1) +
               "k\" }\n";
      blocks += levels == 0 ? name + " = { kind = \"resistor\", value = \"" +
                                  std::to_string(p + 1) + "k\" }\n"
                            : name + " = { block = \"b" + std::to_string(levels) +
                                  "\", \"" + std::string(levels > 2 ? "x/" : "") +
                                  std::string(levels > 1 ? "x/" : "") +
                                  "x.value\" = \"" + std::to_string(p + 1) + "k\" }\n";
      inner[name + std::string(levels > 0 ? "/x" : "") +
            std::string(levels > 1 ? "/x" : "") + std::string(levels > 2 ? "/x" : "")] =
          name;
      const auto a = p % nets;
      const auto b = (p + 1) % nets;
      const auto net = [](auto n) {
        return "\"net:" + (n == 0 ? std::string("ground") : "n" + std::to_string(n)) +
               "\"";
      };
      lists += name + " = [" + net(a) + ", \"" + name + "\", " + net(b) + "]\n";
    }
    std::string bodies;
    for (int level = 1; level <= 3; ++level)
      bodies += "[blocks.b" + std::to_string(level) +
                "]\npins = [\"i\", \"o\"]\nparts.x = " +
                (level == 1 ? "{ kind = \"resistor\", value = \"9k\" }"
                            : "{ block = \"b" + std::to_string(level - 1) + "\" }") +
                "\npaths.p = [\"i\", \"x\", \"o\"]\n";
    CAPTURE(kSeed, k, blocks + lists + bodies);
    const Circuit one = written_out(plain + lists);
    const Circuit other = written_out(blocks + lists + bodies);
    REQUIRE(one.parts.size() == other.parts.size());
    for (std::size_t p = 0; p < one.parts.size(); ++p)
      REQUIRE(number_of(one.parts[p], "value") == number_of(other.parts[p], "value"));
    auto found = joints_of(other);
    for (auto& [name, pins] : found) {
      std::set<std::string> renamed;
      for (const std::string& pin : pins) {
        const std::string owner = pin.substr(0, pin.find('.'));
        renamed.insert((inner.contains(owner) ? inner.at(owner) : owner) +
                       pin.substr(pin.find('.')));
      }
      pins = renamed;
    }
    REQUIRE(joints_of(one) == found);
  }
}
