// `readings` and `diagnose` as a user runs them.
#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <set>
#include <string>
#include <vector>

#include "folder.h"
#include "program.h"
#include "screen.h"
#include "tests/files.h"
#include "typed_shell.h"

using namespace benchproof;
using Catch::Contains;
using Json = nlohmann::json;

namespace {

/// One lamp of a quay on an output.
const std::string kOneLamp = R"(
[parts]
jack   = { kind = "dc-supply", voltage = "5 V", current = "500 mA", regulated = true }
chip   = { kind = "controller", type = "cmos-5v", outputs = ["quay"] }
bypass = { kind = "capacitor", value = "100nF", rated = "50 V" }
quay_r = { kind = "resistor", value = "330R" }
quay   = { kind = "led", colour = "red" }
[nets]
rail   = ["jack.plus", "chip.vdd", "bypass.a"]
ground = ["jack.minus", "chip.vss", "bypass.b", "quay.cathode"]
pin    = ["chip.quay", "quay_r.a"]
quay_l = ["quay_r.b", "quay.anode"]
[states.night]
"chip.quay" = "high"
)";

std::string volts(const std::string& net, const std::string& value) {
  return "[[reading]]\nstate = \"night\"\nnet = \"" + net + "\"\nvoltage = \"" + value +
         "\"\n";
}
std::string looks(const std::string& part, const std::string& word) {
  return "[[reading]]\nstate = \"night\"\npart = \"" + part + "\"\nlooks = \"" + word +
         "\"\n";
}

Json diagnosed(const std::string& description, const std::string& readings,
               int status = 0) {
  const Ran ran = run_program({"diagnose", description, readings, "--json"});
  CAPTURE(ran.out, ran.err);
  CHECK(ran.status == status);
  return Json::parse(ran.out);
}

/// The ids of all faults of a group.
std::set<std::string> ids_of(const Json& group) {
  std::set<std::string> ids;
  for (const Json& cause : group["causes"])
    for (const Json& fault : cause["faults"]) ids.insert(fault["id"]);
  return ids;
}

}  // namespace

TEST_CASE("an open resistor is found by two readings", "[diagnose]") {
  // By hand: the pin is at 5 V, behind the resistor nothing is driven, the lamp is
  // dark.
  const Folder folder;
  const std::string lamp = folder.file("lamp.toml", kOneLamp);
  const Json json = diagnosed(
      lamp, folder.file("r.toml", looks("quay", "dark") + volts("pin", "5.00 V") +
                                      volts("quay_l", "0.00 V")));
  CHECK(json["benchproof"] == 1);
  CHECK(json["readings"] == 3);
  CHECK(json["explained"] == true);
  const Json& first = json["groups"][0];
  CHECK(first["confirmed"] == true);
  CHECK(first["probability"] > 0.5);
  CHECK(ids_of(first).contains("open quay_r"));
  for (const Json& cause : first["causes"]) {
    CHECK(cause["words"].is_string());
    CHECK(cause["remedy"].is_string());
    for (const Json& fault : cause["faults"])
      for (const char* key : {"mode", "parts", "pins", "nets"})
        CHECK(fault.contains(key));
  }
  // Beside it some second fault may hide almost anywhere: few of these are listed.
  CHECK(std::count_if(first["causes"].begin(), first["causes"].end(),
                      [](const Json& cause) { return cause["faults"].size() == 2; }) ==
        20);
  CHECK(first["more"] > 0);
}

TEST_CASE("looks alone are enough to begin", "[diagnose]") {
  const Folder folder;
  const std::string lamp = folder.file("lamp.toml", kOneLamp);
  const Json json = diagnosed(lamp, folder.file("r.toml", looks("quay", "dark")));
  const Json& next = json["next"];
  REQUIRE(next.is_object());
  for (const char* key : {"state", "power", "out", "asks", "net", "to", "part"})
    CHECK(next.contains(key));
  REQUIRE(next["would_show"].is_array());
  REQUIRE_FALSE(next["would_show"].empty());
  CHECK(next["would_show"][0].contains("least"));
  CHECK(next["would_show"][0]["group"] == 0);
}

TEST_CASE("readings of a sound circuit say that it is as meant", "[diagnose]") {
  const Folder folder;
  const std::string lamp = folder.file("lamp.toml", kOneLamp);
  const Ran ran = run_program(
      {"diagnose", lamp,
       folder.file("r.toml", looks("quay", "as meant") + volts("rail", "5.01 V"))});
  CAPTURE(ran.out, ran.err);
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Contains("as meant"));
  CHECK_THAT(ran.out, Contains("power off"));  // The cautions.
  check_columns(ran.out);
}

TEST_CASE("what nothing explains is said to be so", "[diagnose]") {
  const Folder folder;
  const std::string lamp = folder.file("lamp.toml", kOneLamp);
  const std::string odd =
      folder.file("r.toml", volts("rail", "37 V") + volts("pin", "-21 V") +
                                volts("quay_l", "14 V"));
  CHECK(diagnosed(lamp, odd, 1)["explained"] == false);
  const Ran ran = run_program({"diagnose", lamp, odd});
  CHECK(ran.status == 1);
  CHECK_THAT(ran.out, Contains("nothing that is looked for explains"));
}

TEST_CASE("a misread value does not hide the fault", "[diagnose]") {
  const Folder folder;
  const std::string lamp = folder.file("lamp.toml", kOneLamp);
  // The second one was read on the wrong range: 50.0 mV in place of 5 V.
  const Json json = diagnosed(
      lamp,
      folder.file("r.toml", looks("quay", "dark") + volts("pin", "0.0500 V") +
                                volts("quay_l", "0.00 V") + volts("pin", "5.00 V") +
                                volts("rail", "5.00 V")));
  CHECK(json["explained"] == true);
  CHECK(ids_of(json["groups"][0]).contains("open quay_r"));
  CHECK(json["groups"][0]["misread"] == Json::array({1}));
}

TEST_CASE("what is dangerous is told first, and asked no further under power",
          "[diagnose]") {
  const Folder folder;
  const std::string lamp = folder.file("lamp.toml", kOneLamp);
  const auto [name, readings, word] =
      GENERATE(table<std::string, std::string, std::string>(
          {{"mains.toml", volts("rail", "230 V"), "switch off at the wall"},
           {"hot.toml", looks("quay", "hot"), "unplug now"}}));
  const Json json =
      diagnosed(lamp, folder.file(name, readings), name == "hot.toml" ? 0 : 1);
  REQUIRE(json["dangers"].size() == 1);
  CHECK_THAT(json["dangers"][0].get<std::string>(), Contains(word));
  if (!json["next"].is_null()) CHECK(json["next"]["power"] == "off");
  const Ran ran = run_program({"diagnose", lamp, folder.path() + "/" + name});
  CHECK(ran.out.find("DANGER") < ran.out.find("1. "));
  // Too much current makes an LED hot: none of what leaves it dark leads.
  if (name == "hot.toml") CHECK(ids_of(json["groups"][0]).contains("short quay_r"));
}

TEST_CASE("a lamp that is meant to be dark is dark as meant", "[diagnose]") {
  const Folder folder;
  const std::string lamp =
      folder.file("lamp.toml", kOneLamp + "[states.day]\n\"chip.quay\" = \"low\"\n");
  const auto by_day = [&](const std::string& word) {
    return diagnosed(lamp, folder.file(word + ".toml",
                                       "[[reading]]\nstate = \"day\"\npart = \"quay\"\n"
                                       "looks = \"" +
                                           word + "\"\n"));
  };
  const Json meant = by_day("as meant");
  const Json dark = by_day("dark");
  CHECK(meant["explained"] == true);
  CHECK(meant["groups"][0]["misread"].empty());
  CHECK(ids_of(meant["groups"][0]) == ids_of(dark["groups"][0]));
}

TEST_CASE("a lamp of another colour is known by its voltage", "[diagnose]") {
  // A white LED keeps about 3 V, a red one 1.9 V (reference/parts).
  const Folder folder;
  const std::string lamp = folder.file("lamp.toml", kOneLamp);
  const Json json = diagnosed(
      lamp, folder.file("r.toml", looks("quay", "as meant") + volts("pin", "4.9 V") +
                                      volts("quay_l", "3.00 V")));
  CHECK(ids_of(json["groups"][0]).contains("value quay white-5-mm"));
  for (const Json& cause : json["groups"][0]["causes"])
    CHECK_FALSE(cause["faults"].empty());
}

TEST_CASE("readings that are wrong are refused with their place", "[diagnose]") {
  const Folder folder;
  const std::string lamp = folder.file("lamp.toml", kOneLamp);
  const std::string bad =
      folder.file("r.toml", "meter = \"handhelt\"\n" + volts("raill", "5 V"));
  const Ran ran = run_program({"diagnose", lamp, bad});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Contains("r.toml:4:7: error"));
  CHECK_THAT(ran.err, Contains("did you mean 'rail'?"));
  const Ran json = run_program({"diagnose", lamp, bad, "--json"});
  CHECK(json.status == 2);
  CHECK(Json::parse(json.out)["verdict"] == "refused");
  const Ran meter =
      run_program({"diagnose", lamp, folder.file("m.toml", "meter = \"handhelt\"\n")});
  CHECK(meter.status == 2);
  CHECK_THAT(meter.err, Contains("did you mean 'handheld'?"));
  const Ran swapped = run_program({"diagnose", lamp, lamp});
  CHECK(swapped.status == 2);
  CHECK_THAT(swapped.err, Contains("this is a description"));
  const Ran other =
      run_program({"verify", folder.file("v.toml", volts("rail", "5 V"))});
  CHECK(other.status == 2);
  CHECK_THAT(other.err, Contains("readings of a circuit"));
}

TEST_CASE("readings of another circuit are told to be so", "[diagnose]") {
  const Folder folder;
  const std::string lamp = folder.file("lamp.toml", kOneLamp);
  const Ran ran = run_program(
      {"diagnose", lamp,
       folder.file("r.toml", "circuit = \"pier.toml\"\n" + volts("rail", "5 V"))});
  CHECK(ran.status == 0);
  CHECK_THAT(ran.err, Contains("pier.toml"));
}

TEST_CASE("a sheet to fill in is a readings file", "[readings]") {
  const Folder folder;
  const std::string lamp = folder.file("lamp.toml", kOneLamp);
  const Ran blank = run_program({"readings", lamp, "--toml"});
  CHECK(blank.status == 0);
  const Ran read = run_program({"diagnose", lamp, "-", "--json"}, {.input = blank.out});
  CAPTURE(blank.out, read.err);
  CHECK(read.status == 0);
  CHECK(Json::parse(read.out)["readings"] == 0);
}

TEST_CASE("the sheet says what a sound copy shows", "[readings]") {
  const Folder folder;
  const std::string lamp = folder.file("lamp.toml", kOneLamp);
  const Ran ran = run_program({"readings", lamp, "--all", "--json"});
  REQUIRE(ran.status == 0);
  const Json json = Json::parse(ran.out);
  bool has_rail = false;
  bool is_before_power = true;
  for (const Json& line : json["readings"]) {
    for (const char* key : {"state", "power", "out", "asks", "net", "to", "part",
                            "least", "most", "looks", "parts", "points_to"})
      CHECK(line.contains(key));
    // What is measured without power comes first.
    if (line["power"] == "on") is_before_power = false;
    CHECK(is_before_power == (line["power"] == "off"));
    if (line["asks"] != "voltage" || line["net"] != "rail" || !line["out"].empty())
      continue;
    has_rail = true;
    // A regulated supply of 5 V: it stands on the rail.
    CHECK(line["least"] < 5.0);
    CHECK(line["most"] > 5.0);
    CHECK(line["least"] > 4.0);
    const auto& ids = line["points_to"];
    CHECK(std::find(ids.begin(), ids.end(), "supply jack absent") != ids.end());
  }
  CHECK(has_rail);
  const Ran sheet = run_program({"readings", lamp, "--sheet"});
  CHECK(sheet.status == 0);
  CHECK_THAT(sheet.out, Contains("[          ]"));
  check_columns(sheet.out);
  const Ran csv = run_program({"readings", lamp, "--few", "--csv"});
  CHECK_THAT(csv.out, Catch::StartsWith("power,state,out,asks,net"));
}

TEST_CASE("after the build five readings exclude most", "[readings]") {
  const Ran ran = run_program(
      {"readings", "circuits/harbour-light.toml", "--after-build", "--json"});
  REQUIRE(ran.status == 0);
  const Json json = Json::parse(ran.out);
  CHECK(json["readings"].size() == 5);
  CHECK(json["excluded"] > 0.4);
  CHECK(json["excluded"] <= 1.0);
}

TEST_CASE("forms and choices that exclude each other are refused", "[readings]") {
  for (const std::vector<std::string>& more :
       {std::vector<std::string>{"--sheet", "--toml"},
        {"--few", "--all"},
        {"--meter", "handhelt"}}) {
    std::vector<std::string> words = {"readings", "circuits/led-single.toml"};
    words.insert(words.end(), more.begin(), more.end());
    CAPTURE(more);
    CHECK(run_program(words).status == 2);
  }
  CHECK(
      run_program({"diagnose", "circuits/led-single.toml", "--ask", "--json"}).status ==
      2);
  CHECK(run_program({"diagnose", "-", "-"}).status == 2);
}

TEST_CASE("regress passes over readings", "[diagnose]") {
  const Folder folder;
  folder.file("lamp.toml", kOneLamp);
  folder.file("lamp.readings.toml", "circuit = \"lamp.toml\"\n" + volts("rail", "5 V"));
  const Ran ran = run_program({"regress", folder.path(), "--json"});
  CAPTURE(ran.out, ran.err);
  CHECK_THAT(ran.out, !Contains("readings.toml"));
  CHECK(ran.status <= 1);
}

TEST_CASE("published exercises have their answer in the leading group", "[diagnose]") {
  // Each description names its source; the answer stands in the readings' first line.
  namespace fs = std::filesystem;
  std::size_t count = 0;
  for (const auto& entry : fs::directory_iterator(fs::path(BENCHPROOF_SOURCE_DIR) /
                                                  "tests/published_faults")) {
    const std::string path = entry.path().string();
    const std::string ending = ".readings.toml";
    if (!path.ends_with(ending)) continue;
    const std::string description =
        path.substr(0, path.size() - ending.size()) + ".toml";
    const std::string text = text_of(path);
    const std::string head = "# answer: ";
    REQUIRE(text.starts_with(head));
    const std::string answers =
        " | " + text.substr(head.size(), text.find('\n') - head.size()) + " | ";
    const Json json = diagnosed(description, path);
    const std::set<std::string> found = ids_of(json["groups"][0]);
    CAPTURE(path, answers, found);
    CHECK(std::any_of(found.begin(), found.end(), [&](const std::string& id) {
      return answers.find(" | " + id + " | ") != std::string::npos;
    }));
    ++count;
  }
  CHECK(count >= 15);
}

TEST_CASE("on a terminal each answer is saved before the next question", "[ask]") {
  const Folder folder;
  const std::string lamp = folder.file("lamp.toml", kOneLamp);
  const std::string kept = folder.path() + "/lamp.readings.toml";
  TypedShell typed({bin_dir() + "/benchproof", "diagnose", lamp, "--ask"},
                   folder.path());
  REQUIRE(typed.shows("looks of 'quay'"));
  REQUIRE(typed.shows("? "));
  // What is misspelt is asked again, with the nearest right word.
  typed.type("drak\r");
  REQUIRE(typed.shows("did you mean 'dark'?"));
  REQUIRE(typed.shows("looks of 'quay'"));
  typed.type("dark\r");
  REQUIRE(typed.shows("% "));
  REQUIRE(typed.shows("? "));
  CHECK_THAT(text_of(kept), Contains("looks = \"dark\""));
  CHECK_THAT(text_of(kept), Contains("circuit = \"lamp.toml\""));
  // The last answer is taken back, and its question asked again.
  typed.type("back\r");
  REQUIRE(typed.shows("looks of 'quay'"));
  CHECK_THAT(text_of(kept), !Contains("[[reading]]"));
  REQUIRE(typed.shows("? "));
  typed.type("back\r");
  REQUIRE(typed.shows("no answer to take back"));
  REQUIRE(typed.shows("looks of 'quay'"));
  typed.type("?\r");
  REQUIRE(typed.shows("one of: dark"));
  REQUIRE(typed.shows("looks of 'quay'"));
  REQUIRE(typed.shows("? "));
  typed.type("dark\r");
  REQUIRE(typed.shows("% "));
  REQUIRE(typed.shows("? "));
  // What cannot be reached is kept as that, and not asked again.
  typed.type("no\r");
  REQUIRE(typed.shows("% "));
  REQUIRE(typed.shows("? "));
  CHECK_THAT(text_of(kept), Contains("reached = false"));
  typed.type("12 apples\r");
  REQUIRE(typed.shows("? "));
  // The end of what is typed is no crash, and what was told is told.
  typed.type("\x04");
  REQUIRE(typed.shows("Local codes"));
}

TEST_CASE("answers that are piped in are asked for until they end", "[ask]") {
  const Folder folder;
  const std::string lamp = folder.file("lamp.toml", kOneLamp);
  const std::string kept = folder.path() + "/found.toml";
  const Ran ran =
      run_program({"diagnose", lamp, kept, "--ask"}, {.input = "dark\n\n?\nnonsense"});
  CAPTURE(ran.out, ran.err);
  CHECK(ran.status == 0);
  CHECK_THAT(text_of(kept), Contains("dark"));
  check_columns(ran.out);
  // It goes on from what is there.
  const Ran on = run_program({"diagnose", lamp, kept, "--ask"}, {.input = "done\n"});
  CHECK(on.status == 0);
  CHECK_THAT(on.out, Contains("1 reading"));
}

TEST_CASE("a readings file names the circuit as it is seen from there", "[ask]") {
  const Folder folder;
  const std::string lamp = folder.file("lamp.toml", kOneLamp);
  std::filesystem::create_directories(folder.path() + "/bench/monday");
  const std::string kept = folder.path() + "/bench/monday/found.toml";
  const Ran ran = run_program({"diagnose", lamp, kept, "--ask"}, {.input = "dark\n"});
  CAPTURE(ran.out, ran.err);
  CHECK_THAT(text_of(kept), Contains("circuit = \"../../lamp.toml\""));
}

TEST_CASE("complaints about readings are broken to the terminal's width", "[ask]") {
  const Folder folder;
  const std::string lamp = folder.file("lamp.toml", kOneLamp);
  folder.file("bad.readings.toml",
              "[[reading]]\nstate = \"night\"\nshape = \"round\"\nnet = \"rail\"\n"
              "voltage = \"1 V\"\n");
  TypedShell typed({bin_dir() + "/benchproof", "diagnose", lamp,
                    folder.path() + "/bad.readings.toml"},
                   folder.path());
  REQUIRE(typed.shows("'shape' is not a key"));
  REQUIRE(typed.shows("hint: "));
  REQUIRE(typed.shows("\r\n        "));
}
