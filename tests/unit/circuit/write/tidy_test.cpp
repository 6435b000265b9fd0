#include "core/circuit/write/tidy.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <random>
#include <string>
#include <vector>

#include "core/circuit/entries/own_catalogue.h"
#include "core/circuit/read/reader.h"
#include "tests/files.h"
#include "tests/unit/circuit/known_parts.h"

using namespace benchproof;
using benchproof::known_types;
namespace fs = std::filesystem;

namespace {

/// The text as tidy leaves it, after a proof that it is the same circuit.
Tidied tidied(const std::string& text) {
  const ReadResult before = read_circuit(text, "quay.toml", known_types());
  CAPTURE(text);
  REQUIRE(before.circuit.has_value());
  Tidied result = tidy(text, *before.circuit);
  const ReadResult after = read_circuit(result.text, "quay.toml", known_types());
  std::string told = result.text + "\n";
  for (const Diagnostic& d : after.diagnostics)
    told += to_text(d, "quay.toml", result.text);
  INFO(told);
  REQUIRE(after.circuit.has_value());
  REQUIRE(same_wiring(*before.circuit, *after.circuit));
  CHECK(result.is_changed == result.reason.empty());
  if (!result.is_changed) CHECK(result.text == text);
  return result;
}

const std::string kLampParts = R"(title = "Porch"
[parts]
jack   = { kind = "dc-supply", voltage = "5 V", current = "500 mA" }
door   = { kind = "switch" }
porch_r = { kind = "resistor", value = "330R" }
porch   = { kind = "led", colour = "red" }
)";

/// All comments of a text, in the order of their letters.
std::vector<std::string> comments_of(const std::string& text) {
  std::vector<std::string> comments;
  bool is_quoted = false;
  for (std::size_t at = 0; at < text.size(); ++at) {
    if (text[at] == '"') is_quoted = !is_quoted;
    if (text[at] == '\n') is_quoted = false;
    if (text[at] != '#' || is_quoted) continue;
    const std::size_t end = std::min(text.find('\n', at), text.size());
    std::string comment = text.substr(at, end - at);
    comment.erase(comment.find_last_not_of(" \r") + 1);
    comments.push_back(comment);
    at = end;
  }
  std::sort(comments.begin(), comments.end());
  return comments;
}

}  // namespace

TEST_CASE("lists that a path takes the place of are gone", "[tidy]") {
  const std::string nets = R"(
[nets]
inlet  = ["jack.plus", "door.a"]
live   = ["door.b", "porch_r.a"]
lamp   = ["porch_r.b", "porch.anode"]
ground = ["jack.minus", "porch.cathode"]

[states.on]
door = "closed"
)";
  CHECK(tidied(kLampParts + nets).text == kLampParts + R"(
[paths]
porch = [
  "ground", "jack.minus", "jack.plus", "net:inlet", "door", "net:live", "porch_r", "net:lamp",
  "porch", "ground",
]

[states.on]
door = "closed"
)");
}

TEST_CASE("what is not on the way stays in its list, with its comments", "[tidy]") {
  const std::string text = R"(# Two lamps.
[parts]
jack   = { kind = "dc-supply", voltage = "5 V", current = "500 mA" }
chip   = { kind = "controller", type = "cmos-5v", outputs = ["one", "two"] }
one_r  = { kind = "resistor", value = "330R" }
one    = { kind = "led", colour = "red" }
two_r  = { kind = "resistor", value = "330R" }
two    = { kind = "led", colour = "red" }

# Above the header.
[nets] # beside the header
rail   = ["jack.plus", "chip.vdd"]  # the rail

# above one
one_p  = ["chip.one", "one_r.a"]  # beside one
one    = [  # within one
  "one_r.b", "one.anode",
]
two_p  = ["chip.two", "two_r.a"]
two    = ["two_r.b", "two.anode"]
ground = ["jack.minus", "chip.vss", "one.cathode", "two.cathode"]  # the zero
# below
)";
  const Tidied result = tidied(text);
  CHECK(result.is_changed);
  CHECK(comments_of(result.text) == comments_of(text));
  CHECK(result.text == R"(# Two lamps.
[parts]
jack   = { kind = "dc-supply", voltage = "5 V", current = "500 mA" }
chip   = { kind = "controller", type = "cmos-5v", outputs = ["one", "two"] }
one_r  = { kind = "resistor", value = "330R" }
one    = { kind = "led", colour = "red" }
two_r  = { kind = "resistor", value = "330R" }
two    = { kind = "led", colour = "red" }

# Above the header.
[paths]
# above one
# beside one
# within one
one = ["chip.one", "net:one_p", "one_r", "net:one", "one", "ground"]
two = ["chip.two", "net:two_p", "two_r", "net:two", "two", "ground"]

[nets]  # beside the header
rail   = ["jack.plus", "chip.vdd"]  # the rail
ground = ["jack.minus", "chip.vss"]  # the zero
# below
)");
}

TEST_CASE("what is short already stays as it is", "[tidy]") {
  const std::string paths = kLampParts + R"(
[paths]
lamp = ["ground", "jack.minus", "jack.plus", "door", "porch_r", "porch", "ground"]
)";
  CHECK(tidied(paths).reason == "it has no nets, only paths");
  CHECK(tidied(kLampParts + R"(
[nets]
rail   = ["jack.plus", "door.a", "porch_r.a", "porch.anode"]
ground = ["jack.minus", "door.b", "porch_r.b", "porch.cathode"]
)")
            .reason == "paths would not be shorter");
  const std::string dotted = kLampParts;
  CHECK(tidied("nets.inlet = [\"jack.plus\", \"door.a\"]\n"
               "nets.live = [\"door.b\", \"porch_r.a\"]\n"
               "nets.lamp = [\"porch_r.b\", \"porch.anode\"]\n"
               "nets.ground = [\"jack.minus\", \"porch.cathode\"]\n" +
               dotted)
            .reason == "its nets do not stand in a table [nets] of their own");
}

TEST_CASE("new paths go behind those that are there", "[tidy]") {
  const std::string text = kLampParts + R"(
[paths]
jack = ["ground", "jack.minus", "jack.plus", "door"]  # kept

[nets]  # all else
live   = ["door.b", "porch_r.a"]
lamp   = ["porch_r.b", "porch.anode"]
ground = ["porch.cathode"]
)";
  const Tidied result = tidied(text);
  CHECK(result.is_changed);
  CHECK(comments_of(result.text) == comments_of(text));
  CHECK_THAT(result.text, Catch::Contains("\"door\"]  # kept\nporch = ["));
}

TEST_CASE("the templates, written as paths, are the same circuits", "[tidy]") {
  int changed = 0;
  for (const char* folder : {"circuits", "reference/worked", "tests/mistakes"}) {
    for (const auto& entry :
         fs::directory_iterator(fs::path(BENCHPROOF_SOURCE_DIR) / folder)) {
      const std::string name = entry.path().filename().string();
      if (!name.ends_with(".toml") || name.ends_with(".recorded.toml")) continue;
      const std::string text = text_of(entry.path());
      if (own_catalogue(text) || !read_circuit(text, name, known_types()).circuit)
        continue;
      CAPTURE(name);
      const Tidied result = tidied(text);
      CHECK(comments_of(result.text) == comments_of(text));
      if (!result.is_changed) continue;
      ++changed;
      // What is tidy is left alone.
      const Tidied again = tidied(result.text);
      CHECK(again.text.size() <= result.text.size());
    }
  }
  CHECK(changed > 40);
}

TEST_CASE("random wiring is the same when it is tidy", "[tidy]") {
  int good = 0;
  int changed = 0;
  for (unsigned k = 0; k < 2000; ++k) {
    std::seed_seq seed{18U, k};
    std::mt19937 random(seed);
    const auto parts = 6 + random() % 16;
    std::vector<std::string> all_pins;
    std::string text = "[parts]\n";
    for (unsigned long p = 0; p < parts; ++p) {
      const auto sort = random() % 8;
      const std::string name = "p" + std::to_string(p);
      const std::vector<std::string> pins =
          sort == 0   ? std::vector<std::string>{"base", "collector", "emitter"}
          : sort == 1 ? std::vector<std::string>{"plus", "minus"}
                      : std::vector<std::string>{"a", "b"};
      text += name + (sort == 0   ? " = { kind = \"transistor\", type = \"BC547\" }\n"
                      : sort == 1 ? " = { kind = \"dc-supply\", voltage = \"5 V\", "
                                    "regulated = false, no_load = \"6 V\", "
                                    "current = \"1 A\" }\n"
                                  : " = { kind = \"resistor\", value = \"1k\" }\n");
      for (const std::string& pin : pins)
        all_pins.push_back("\"" + name + "." + pin + "\", ");
    }
    std::shuffle(all_pins.begin(), all_pins.end(), random);
    const auto nets = 1 + all_pins.size() / (2 + random() % 2);
    std::vector<std::string> lists(nets);
    for (unsigned long pin = 0; pin < all_pins.size(); ++pin)
      lists[pin % nets] += all_pins[pin];
    text += "[nets]\n";
    for (unsigned long net = 0; net < nets; ++net)
      if (!lists[net].empty())
        text += (net == 0 ? "ground" : "n" + std::to_string(net)) + " = [" +
                lists[net] + "]  # net " + std::to_string(net) + "\n";
    if (!read_circuit(text, "quay.toml", known_types()).circuit) continue;
    ++good;
    CAPTURE(k);
    const Tidied result = tidied(text);
    CHECK(comments_of(result.text) == comments_of(text));
    if (result.is_changed) ++changed;
  }
  CHECK(good > 40);
  CHECK(changed > 20);
}
