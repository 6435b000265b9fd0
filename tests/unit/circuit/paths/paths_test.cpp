#include <algorithm>
#include <catch2/catch.hpp>
#include <map>
#include <random>
#include <set>
#include <string>
#include <vector>

#include "core/circuit/read/reader.h"
#include "tests/unit/circuit/known_parts.h"

using namespace benchproof;
using benchproof::known_types;

namespace {

/// The names of nets, and the pins on each.
using Nets = std::map<std::string, std::set<std::string>>;

Nets nets_of(const Circuit& circuit) {
  Nets nets;
  for (const Net& net : circuit.nets)
    for (const PinRef ref : net.pins) {
      const Part& part = circuit.parts[static_cast<std::size_t>(ref.part)];
      nets[net.name].insert(part.name + "." +
                            part.pins[static_cast<std::size_t>(ref.pin)]);
    }
  return nets;
}

Circuit read_wired(const std::string& text) {
  ReadResult result = read_circuit(text, "quay.toml", known_types());
  std::string told = text + "\n";
  for (const Diagnostic& d : result.diagnostics) told += to_text(d, "quay.toml", text);
  INFO(told);
  REQUIRE(result.circuit.has_value());
  return *std::move(result.circuit);
}

/// The complaints about a description: "LINE:COLUMN ID MESSAGE".
std::vector<std::string> complaints_of(const std::string& text) {
  std::vector<std::string> told;
  for (const Diagnostic& d : read_circuit(text, "quay.toml", known_types()).diagnostics)
    told.push_back(std::to_string(d.span.begin.line) + ":" +
                   std::to_string(d.span.begin.column) + " " + d.id + " " + d.message);
  return told;
}

const std::string kParts = R"([parts]
jack   = { kind = "dc-supply", voltage = "5 V", current = "500 mA" }
door   = { kind = "switch" }
quay_r = { kind = "resistor", value = "330R" }
quay   = { kind = "led", colour = "red" }
)";

const std::string kTransistor = R"(
base_r = { kind = "resistor", value = "10k" }
driver = { kind = "transistor", type = "BC547" }
)";

}  // namespace

TEST_CASE("a path joins each item to the next", "[paths]") {
  const Circuit circuit = read_wired(kParts + R"(
[paths]
lamp = ["ground", "jack.minus", "jack.plus", "door", "net:live", "quay_r", "quay", "ground"]
)");
  CHECK(nets_of(circuit) == Nets{{"ground", {"jack.minus", "quay.cathode"}},
                                 {"jack-door", {"jack.plus", "door.a"}},
                                 {"live", {"door.b", "quay_r.a"}},
                                 {"quay_r-quay", {"quay_r.b", "quay.anode"}}});
  CHECK(circuit.nets.front().name == "ground");
}

TEST_CASE("a part is passed from its second pin to its first where both are named",
          "[paths]") {
  const Circuit circuit = read_wired(kParts + R"(
[paths]
lamp = ["jack.plus", "door.b", "door.a", "quay_r.a", "quay_r.b", "quay", "ground", "jack.minus"]
)");
  CHECK(nets_of(circuit) == Nets{{"ground", {"jack.minus", "quay.cathode"}},
                                 {"jack-door", {"jack.plus", "door.b"}},
                                 {"door-quay_r", {"door.a", "quay_r.a"}},
                                 {"quay_r-quay", {"quay_r.b", "quay.anode"}}});
}

TEST_CASE("paths and nets meet in the same names", "[paths]") {
  const Circuit circuit = read_wired(kParts + kTransistor + R"(
[nets]
rail   = ["jack.plus", "base_r.a"]
ground = ["driver.emitter"]
[paths]
supply = ["ground", "jack.minus"]
lamp   = ["rail", "quay_r", "net:quay", "quay", "driver.collector"]
base   = ["rail", "base_r", "driver.base"]
same   = ["rail", "base_r"]
door   = ["rail", "door", "ground"]
)");
  CHECK(nets_of(circuit) ==
        Nets{{"rail", {"jack.plus", "base_r.a", "quay_r.a", "door.a"}},
             {"ground", {"driver.emitter", "jack.minus", "door.b"}},
             {"quay", {"quay_r.b", "quay.anode"}},
             {"quay-driver", {"quay.cathode", "driver.collector"}},
             {"base_r-driver", {"base_r.b", "driver.base"}}});
}

TEST_CASE("automatic names give way to the user's and are numbered when they meet",
          "[paths]") {
  const Circuit circuit = read_wired(kParts + kTransistor + R"(
[nets]
"quay_r-quay" = ["jack.plus", "quay_r.a", "door.a"]
[paths]
lamp  = ["quay_r.a", "quay_r", "quay", "driver.collector"]
one   = ["driver.emitter", "base_r.a"]
other = ["driver.base", "base_r.b"]
rest  = ["jack.minus", "ground", "driver.emitter"]
door  = ["door.b", "base_r.b"]
)");
  const Nets nets = nets_of(circuit);
  CHECK(nets.at("quay_r-quay") ==
        std::set<std::string>{"jack.plus", "quay_r.a", "door.a"});
  CHECK(nets.at("quay_r-quay-2") == std::set<std::string>{"quay_r.b", "quay.anode"});
  CHECK(nets.at("driver-base_r") ==
        std::set<std::string>{"driver.base", "base_r.b", "door.b"});
  CHECK(nets.at("ground") ==
        std::set<std::string>{"jack.minus", "driver.emitter", "base_r.a"});
}

TEST_CASE("a word of a path is a net where it stands elsewhere as one", "[paths]") {
  SECTION("in two paths") {
    const Circuit circuit = read_wired(kParts + R"(
[paths]
one = ["ground", "jack.minus", "jack.plus", "live"]
two = ["live", "door", "quay_r", "quay", "ground"]
)");
    CHECK(nets_of(circuit).at("live") == std::set<std::string>{"jack.plus", "door.a"});
  }
  SECTION("in an expectation") {
    const Circuit circuit = read_wired(kParts + R"(
[paths]
one = ["ground", "jack.minus", "jack.plus", "live", "door", "quay_r", "quay", "ground"]
[[expect]]
net = "live"
voltage = { min = "4 V" }
)");
    CHECK(nets_of(circuit).at("live") == std::set<std::string>{"jack.plus", "door.a"});
  }
}

TEST_CASE("a misspelt part does not become a wire", "[paths]") {
  const std::string text = kParts + R"(
[paths]
lamp = ["ground", "jack.minus", "jack.plus", "door", "quay_s", "quay", "ground"]
rest = ["door.b", "quay_r", "quay.anode"]
)";
  const ReadResult result = read_circuit(text, "quay.toml", known_types());
  REQUIRE(result.diagnostics.size() == 1);
  CHECK(result.diagnostics[0].id == "path-word");
  CHECK(result.diagnostics[0].span.begin == Position{8, 54});
  CHECK_THAT(result.diagnostics[0].hint, Catch::Contains("did you mean 'quay_r'?"));
  CHECK_THAT(result.diagnostics[0].hint, Catch::Contains("'net:quay_s'"));
}

TEST_CASE("a contradiction is told with both places", "[paths]") {
  CHECK(complaints_of(kParts + R"(
[nets]
lit = ["quay_r.b", "quay.anode"]
[paths]
lamp = ["ground", "jack.minus", "jack.plus", "door", "quay_r", "ground"]
rest = ["quay.cathode", "ground"]
)") == std::vector<std::string>{
           "10:64 path-conflict this joins 'quay_r.b', which stands on net 'lit' in "
           "line 8, to net 'ground'"});
  CHECK(complaints_of(kParts + R"(
[nets]
lit = ["quay_r.b", "quay.anode"]
live = ["quay_r.a", "door.b"]
[paths]
lamp = ["ground", "jack.minus", "jack.plus", "door", "live", "lit"]
rest = ["quay.cathode", "ground"]
)") == std::vector<std::string>{
           "11:62 path-conflict this joins net 'live' to net 'lit'"});
  CHECK(
      complaints_of(kParts + R"(
[nets]
open = ["door.b"]
[paths]
lamp = ["ground", "jack.minus", "jack.plus", "door", "quay_r", "quay", "ground"]
)") ==
      std::vector<std::string>{
          "10:54 path-conflict 'door.b' is joined here, and listed as open in line 8"});
}

TEST_CASE("a path that passes a part whose ends meet is refused", "[paths]") {
  const std::string wired = R"(
[paths]
lamp = ["ground", "jack.minus", "jack.plus", "door", "quay_r", "quay", "ground"]
)";
  CHECK(complaints_of(kParts + wired + "over = [\"door.a\", \"quay_r.a\"]\n") ==
        std::vector<std::string>{"8:46 path-conflict both pins of 'door' come to stand "
                                 "on one net, so nothing passes through it"});
  CHECK(complaints_of(kParts + wired + "over = [\"net:x\", \"door\", \"door\"]\n") ==
        std::vector<std::string>{"9:26 path-conflict 'door' follows itself"});
}

TEST_CASE("all that is wrong with paths is told in one run", "[paths]") {
  CHECK(complaints_of(kParts + kTransistor + R"(
[paths]
"a!b"  = ["ground", "jack.minus", "jack.plus", "door", "quay_r", "quay", "ground"]
short  = ["quay_r.a"]
bulky  = ["jack.plus", "driver", "ground"]
nobody = ["jack.plus", "base_s", "base_r", "ground"]
number = ["jack.plus", 5, "ground"]
text   = "jack.plus"
pin    = ["jack.plus", "driver.bass"]
lost   = ["jack.plus", "drive.base"]
name   = ["jack.plus", "net:open", "net:", "net:a!b"]
)") == std::vector<std::string>{
           "11:1 name-invalid 'a!b' cannot be the name of a path",
           "12:1 path-short path 'short' joins nothing",
           "13:24 pin-malformed 'driver' has 3 pins, so a path has to say at which",
           "14:24 path-word 'base_s' is no part, and stands nowhere else as a net",
           "15:24 toml-type an item of path 'number' must be a text, not a number",
           "16:10 toml-type path 'text' must be a list, not a text",
           "17:24 pin-unknown 'driver' has no pin 'bass'",
           "18:24 part-unknown there is no part 'drive'",
           "19:24 name-reserved 'open' has a meaning of its own",
           "19:36 name-invalid '' cannot be the name of a net",
           "19:44 name-invalid 'a!b' cannot be the name of a net"});
}

TEST_CASE("without nets and paths a description is refused", "[paths]") {
  CHECK(complaints_of(kParts) ==
        std::vector<std::string>{
            "0:0 key-missing there is no table [paths] and no table [nets]"});
  CHECK(
      complaints_of("paths = 5\n" + kParts) ==
      std::vector<std::string>{"1:9 toml-type 'paths' must be a table, not a number"});
}

namespace {

/// A random circuit: parts of two and three pins, and the net of each pin.
struct Drawn {
  std::vector<std::string> names;
  std::vector<std::vector<std::string>> pins;
  std::vector<std::vector<int>> nets;
  int net_count = 0;
};

std::string net_name(int net) {
  return net == 0 ? "ground" : "n" + std::to_string(net);
}

/// Sample `k` draws from (seed, k) alone, so that any one can be replayed.
Drawn draw(unsigned seed, unsigned k) {
  std::seed_seq both{seed, k};
  std::mt19937 random(both);
  const auto below = [&random](int most) {
    return std::uniform_int_distribution<int>(0, most - 1)(random);
  };
  Drawn drawn;
  const int parts = 2 + below(14);
  drawn.net_count = 2 + below(6);
  for (int p = 0; p < parts; ++p) {
    const bool is_transistor = below(4) == 0;
    drawn.names.push_back((is_transistor ? "t" : "r") + std::to_string(p));
    drawn.pins.push_back(is_transistor
                             ? std::vector<std::string>{"base", "collector", "emitter"}
                             : std::vector<std::string>{"a", "b"});
    std::vector<int> nets;
    const int first = below(drawn.net_count);
    for (std::size_t pin = 0; pin < drawn.pins.back().size(); ++pin)
      nets.push_back((first + static_cast<int>(pin)) % drawn.net_count);
    if (below(2) == 0) std::reverse(nets.begin(), nets.end());
    drawn.nets.push_back(nets);
  }
  return drawn;
}

std::string parts_text(const Drawn& drawn) {
  std::string text = "[parts]\n";
  for (const std::string& name : drawn.names)
    text += name + (name[0] == 't' ? " = { kind = \"transistor\", type = \"BC547\" }\n"
                                   : " = { kind = \"resistor\", value = \"1k\" }\n");
  return text;
}

std::string as_nets(const Drawn& drawn) {
  std::string text = parts_text(drawn) + "[nets]\n";
  for (int net = 0; net < drawn.net_count; ++net) {
    std::string pins;
    for (std::size_t p = 0; p < drawn.names.size(); ++p)
      for (std::size_t pin = 0; pin < drawn.pins[p].size(); ++pin)
        if (drawn.nets[p][pin] == net)
          pins += "\"" + drawn.names[p] + "." + drawn.pins[p][pin] + "\", ";
    if (!pins.empty()) text += net_name(net) + " = [" + pins + "]\n";
  }
  return text;
}

/// The same circuit as one path a part, in another order and at times backwards.
std::string as_paths(const Drawn& drawn, unsigned seed) {
  std::mt19937 random(seed);
  std::vector<std::size_t> order(drawn.names.size());
  for (std::size_t p = 0; p < order.size(); ++p) order[p] = p;
  std::shuffle(order.begin(), order.end(), random);
  std::string text = parts_text(drawn) + "[paths]\n";
  for (const std::size_t p : order) {
    const auto net = [&](std::size_t pin) {
      return "\"net:" + net_name(drawn.nets[p][pin]) + "\"";
    };
    const std::string& name = drawn.names[p];
    if (name[0] == 't') {
      for (std::size_t pin = 0; pin < 3; ++pin)
        text += name + std::to_string(pin) + " = [\"" + name + "." +
                drawn.pins[p][pin] + "\", " + net(pin) + "]\n";
    } else if (random() % 2 == 0) {
      text += name + " = [" + net(0) + ", \"" + name + "\", " + net(1) + "]\n";
    } else {
      text += name + " = [" + net(1) + ", \"" + name + ".b\", \"" + name + ".a\", " +
              net(0) + "]\n";
    }
  }
  return text;
}

/// What stands against a description; places, and the order of pins, differ.
std::multiset<std::string> told_of(const ReadResult& result) {
  std::multiset<std::string> ids;
  for (const Diagnostic& d : result.diagnostics)
    for (std::size_t place = 0; place <= d.also.size(); ++place) ids.insert(d.id);
  return ids;
}

}  // namespace

TEST_CASE("random circuits are the same written as nets and as paths", "[paths]") {
  constexpr unsigned kSeed = 18;
  int good = 0;
  for (unsigned k = 0; k < 500; ++k) {
    const Drawn drawn = draw(kSeed, k);
    const std::string nets = as_nets(drawn);
    const std::string paths = as_paths(drawn, k);
    CAPTURE(kSeed, k, nets, paths);
    const ReadResult one = read_circuit(nets, "nets", known_types());
    const ReadResult other = read_circuit(paths, "nets", known_types());
    REQUIRE(told_of(one) == told_of(other));
    if (!one.circuit) continue;
    ++good;
    REQUIRE(nets_of(*one.circuit) == nets_of(*other.circuit));
    REQUIRE(one.circuit->parts.size() == other.circuit->parts.size());
  }
  CHECK(good > 100);
}

TEST_CASE("no path makes the reader fail", "[paths]") {
  // Words that mean something, put together at random.
  const std::vector<std::string> words = {
      "ground", "jack",       "jack.plus",   "jack.minus",  "door",  "quay_r",
      "quay",   "quay.anode", "driver",      "driver.base", "net:a", "net:ground",
      "net:",   "net:open",   "open",        "a",           "b/c",   "quay/r.a",
      ".",      "jack.",      "net:quay_r.a"};
  for (unsigned k = 0; k < 2000; ++k) {
    std::mt19937 random(k);
    std::string text = kParts + kTransistor + "[nets]\nground = [\"jack.minus\"]\n";
    if (k % 2 == 0) text += "open = [\"door.b\", \"driver.base\"]\n";
    text += "[paths]\n";
    for (int path = 0; path < 4; ++path) {
      text += "p" + std::to_string(path) + " = [";
      for (auto items = random() % 8; items > 0; --items)
        text += "\"" + words[random() % words.size()] + "\", ";
      text += "]\n";
    }
    CAPTURE(text);
    const ReadResult result = read_circuit(text, "quay.toml", known_types());
    REQUIRE(result.circuit.has_value() == result.diagnostics.empty());
    for (const Diagnostic& d : result.diagnostics) REQUIRE_FALSE(d.message.empty());
  }
}

TEST_CASE("the largest paths take no long time", "[paths]") {
  // 2,000 parts in one path, and a word that stands a hundred thousand times.
  std::string text = "[parts]\njack = { kind = \"dc-supply\", voltage = \"5 V\" }\n";
  std::string path = "[paths]\np = [\"ground\", \"jack.minus\", \"jack.plus\", ";
  for (int k = 1; k < 2000; ++k) {
    text += "r" + std::to_string(k) + " = { kind = \"resistor\", value = \"1k\" }\n";
    path += "\"r" + std::to_string(k) + "\", ";
  }
  path += "\"ground\"]\nq = [\"net:x\"";
  for (int k = 0; k < 100'000; ++k) path += ",\"y\"";
  const ReadResult result =
      read_circuit(text + path + "]\n", "quay.toml", known_types());
  REQUIRE(result.diagnostics.size() == 1);
  CHECK(result.diagnostics[0].id == "path-conflict");
}
