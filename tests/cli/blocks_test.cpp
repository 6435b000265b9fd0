// What blocks look like to a user: files beside the description, what is told,
// recorded, sized and changed.

#include <unistd.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>

#include "folder.h"
#include "program.h"
#include "tests/files.h"

using namespace benchproof;
using Catch::Contains;
using Json = nlohmann::json;

namespace {

const std::string kLamp = R"(pins = ["in"]
[parts]
r   = { kind = "resistor", value = "330R", power = "0.25 W" }
led = { kind = "led", colour = "red" }
[paths]
lit = ["in", "r", "net:mid", "led", "ground"]
[[expect]]
part = "led"
current = { max = "15 mA" }
[test.parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "100 mA", regulated = true }
[test.paths]
all = ["ground", "jack.minus", "jack.plus", "block.in"]
)";

const std::string kQuay = R"(title = "Quay"
[parts]
jack  = { kind = "dc-supply", voltage = "5 V", current = "500 mA", regulated = true }
quay1 = { block = "lamp" }
quay2 = { block = "lamp", "r.value" = "470R" }
[blocks]
lamp = { file = "parts/lamp.toml" }
[paths]
supply = ["ground", "jack.minus", "jack.plus", "rail"]
[nets]
rail = ["quay1.in", "quay2.in"]
[[runs]]
name = "on"
state = "steady"
span = "10 ms"
[variants.dim]
"quay2/r.value" = "1k"
)";

struct Library {
  Folder folder;
  bool has_parts = std::filesystem::create_directory(folder.path() + "/parts");
  std::string lamp = folder.file("parts/lamp.toml", kLamp);
  std::string quay = folder.file("quay.toml", kQuay);
};

std::string changed(std::string text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  REQUIRE(at != std::string::npos);
  return text.replace(at, from.size(), to);
}

}  // namespace

TEST_CASE("a description takes its blocks from files beside it", "[program][blocks]") {
  const Library library;
  const Ran ran = run_program({"verify", library.quay});
  CAPTURE(ran.out, ran.err);
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Contains("quay1/led"));
  CHECK_THAT(ran.out, Contains("quay2/mid"));
  CHECK_THAT(ran.out, Contains("expectations: 2 of 2 hold"));

  // What is found is told of the part, at the line of its use.
  const Ran bright =
      run_program({"verify", library.quay, "--set", "quay1/r.value=100R", "--full"});
  CHECK(bright.status == 1);
  CHECK_THAT(bright.out, Contains("quay1/led") && Contains("quay.toml:4"));
  CHECK_THAT(run_program({"verify", library.quay, "--variant", "dim", "--full"}).out,
             Contains("quay2/r"));
  // A net within a block is known by its own name, too.
  const Ran wave =
      run_program({"wave", library.quay, "--nets", "quay1/mid,quay1/in", "--csv"});
  CAPTURE(wave.err);
  CHECK(wave.status == 0);
}

TEST_CASE("a mistake in a block's file is told there", "[program][blocks]") {
  const Library library;
  library.folder.file("parts/lamp.toml", changed(kLamp, "330R", "330ohmm"));
  const Ran ran = run_program({"verify", library.quay});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Contains("/parts/lamp.toml:3:"));
  CHECK_THAT(ran.err, Contains("r   = { kind = \"resistor\", value = \"330ohmm\""));
  CHECK_THAT(ran.err, Contains("refused with 1 complaint"));
  const Json json =
      Json::parse(run_program({"verify", library.quay, "--json"}).out)["complaints"];
  REQUIRE(json.size() == 1);
  CHECK_THAT(json[0]["file"].get<std::string>(), Catch::EndsWith("/parts/lamp.toml"));
  CHECK(json[0]["line"] == 3);
}

TEST_CASE("a block's file may not lie elsewhere", "[program][blocks]") {
  const Library library;
  const auto told = [&](const std::string& file) {
    library.folder.file("quay.toml", changed(kQuay, "parts/lamp.toml", file));
    const Ran ran = run_program({"verify", library.quay});
    CHECK(ran.status == 2);
    return ran.err;
  };
  CHECK_THAT(told("../lamp.toml"), Contains("[block-file]"));
  CHECK_THAT(told("/etc/passwd"), Contains("[block-file]"));
  CHECK_THAT(told("nothing.toml"), Contains("'nothing.toml' cannot be opened"));
  const Folder other;
  other.file("lamp.toml", kLamp);
  std::filesystem::create_symlink(other.path(), library.folder.path() + "/away");
  CHECK_THAT(told("away/lamp.toml"), Contains("leads out of"));
  std::filesystem::create_directory(library.folder.path() + "/folder.toml");
  CHECK_THAT(told("folder.toml"), Contains("[block-file]"));
  library.folder.file("large.toml", kLamp + std::string(2 << 20, '#'));
  CHECK_THAT(told("large.toml"), Contains("[too-large]"));
  const Ran input = run_program({"verify", "-"}, {.input = kQuay});
  CHECK(input.status == 2);
  CHECK_THAT(input.err, Contains("stands beside no file"));
}

TEST_CASE("regress proves blocks alone, and looks at their files",
          "[program][blocks]") {
  const Library library;
  const Ran recorded = run_program({"regress", library.folder.path(), "--record"});
  CAPTURE(recorded.out, recorded.err);
  CHECK(recorded.status == 0);
  CHECK_THAT(recorded.out, Contains("2 of 2 circuits passed"));
  CHECK_THAT(text_of(library.folder.path() + "/quay.recorded.toml"),
             Contains("\"quay1/mid\" = "));
  CHECK_THAT(text_of(library.folder.path() + "/parts/lamp.recorded.toml"),
             Contains("\"block/mid\" = "));
  CHECK(run_program({"regress", library.folder.path()}).status == 0);
  // Results are kept for the files that they were had with.
  library.folder.file("parts/lamp.toml", changed(kLamp, "330R", "390R"));
  const Ran moved = run_program({"regress", library.folder.path()});
  CHECK(moved.status == 1);
  CHECK_THAT(moved.out, Contains("moved") && Contains("quay.toml"));
  // A block without a test is no circuit.
  library.folder.file("parts/lamp.toml", kLamp.substr(0, kLamp.find("[test")));
  CHECK_THAT(run_program({"regress", library.folder.path()}).out,
             Contains("block-test"));
}

TEST_CASE("a value is written where a block is used, not into the block",
          "[program][blocks]") {
  const Library library;
  const auto sized = [&](const std::string& part) {
    return run_program({"size", library.quay, "--part", part + "/r", "--want",
                        part + "/led current = 4 mA", "--write"});
  };
  const Ran shared = sized("quay1");
  CHECK(shared.status == 2);
  CHECK_THAT(shared.err, Contains("which others may use"));
  CHECK(text_of(library.quay) == kQuay);
  CHECK(text_of(library.lamp) == kLamp);
  const Ran own = sized("quay2");
  CAPTURE(own.out, own.err);
  CHECK(own.status == 0);
  CHECK(text_of(library.lamp) == kLamp);
  CHECK_THAT(text_of(library.quay), Contains("\"r.value\" = \"820R\""));
}

TEST_CASE("tidy passes blocks of two pins like parts", "[program][blocks][tidy]") {
  const Folder folder;
  const std::string path = folder.file("pair.toml", R"([parts]
jack   = { kind = "dc-supply", voltage = "5 V", current = "500 mA" }
bow    = { block = "lamp" }
port   = { block = "lamp" }
stern  = { block = "lamp" }
[nets]
inlet  = ["jack.plus", "bow.in"]
middle = ["bow.out", "port.in"]
third  = ["port.out", "stern.in"]
ground = ["jack.minus", "stern.out"]
[blocks.lamp]
pins = ["in", "out"]
parts.r   = { kind = "resistor", value = "330R" }
parts.led = { kind = "led", colour = "red" }
paths.lit = ["in", "r", "led", "out"]
)");
  const Ran ran = run_program({"tidy", path});
  CHECK(ran.status == 0);
  CAPTURE(ran.out, ran.err);
  CHECK_THAT(ran.out, Contains("\"net:inlet\", \"bow\", \"net:middle\", \"port\", "));
  CHECK_THAT(ran.out, !Contains("[nets]"));
}
