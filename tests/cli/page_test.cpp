// The page of `report` by itself: what it holds, what it must not hold. That it works
// in a browser, tests/browser says.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <iterator>
#include <regex>
#include <set>
#include <string>
#include <vector>

#include "cli/render/diagram/diagram_svg.h"
#include "cli/render/page/page_report.h"
#include "core/assemble/assembly.h"
#include "core/board/proof/proof.h"
#include "core/circuit/read/reader.h"
#include "core/diagnose/sheet.h"
#include "core/fault/fault.h"
#include "core/network/timeline.h"
#include "core/nodal/nodal_witness.h"
#include "core/nodal/transient.h"

using namespace benchproof;

namespace {

std::string contents_of(const std::string& name) {
  std::ifstream file(std::string(BENCHPROOF_SOURCE_DIR "/") + name);
  REQUIRE(file);
  return {std::istreambuf_iterator<char>(file), {}};
}

/// Its first board and the work on it, and what a meter must show.
void add_bench(const Solve& nodal, PageReport& report) {
  const FileReport& file = report.file;
  report.sheet = sheet_of(*file.circuit, faults_of(*file.circuit, built_in_catalogue()),
                          report.meter);
  if (file.circuit->boards.empty()) return;
  const Board& first = file.circuit->boards.front();
  report.board.emplace();
  report.board->file = file;
  report.board->board = first;
  report.board->proof = prove_board(*file.circuit, first);
  report.assembly.emplace();
  report.assembly->file = file;
  const Circuit& circuit = *report.assembly->file.circuit;
  report.assembly->assembly =
      assemble(circuit, &circuit.boards.front(), file.verification, nodal, nodal);
}

/// All that a page shows, by the nodal witness alone; runs with their waveforms, but
/// not judged. What takes long is left out where it is not asked for.
PageReport reported(const std::string& text, bool with_all = true) {
  static const Catalogue catalogue = built_in_catalogue();
  PageReport report;
  report.file.file = "harbour/test.toml";
  report.file.source = text;
  report.file.circuit = read_circuit(text, "test.toml", catalogue).circuit;
  REQUIRE(report.file.circuit);
  const Circuit& circuit = *report.file.circuit;
  NodalWitness solvers;
  const Solve nodal = [&](const Network& network) {
    return solvers.solve_near(network);
  };
  report.file.verification = verify(circuit, nodal, nodal);
  report.list = shopping_list(circuit, report.file.verification);
  if (with_all) {
    report.spread =
        tolerance(circuit, report.file.verification, {1000, 1}, nodal, nodal, in_turn);
    add_bench(nodal, report);
  }
  for (const Run& run : circuit.runs) {
    const Timeline timeline = make_timeline(circuit, run);
    const Waveform waveform = nodal_in_time(timeline, {}, 0);
    report.courses.push_back(
        course_of(circuit, run, Record(circuit, timeline, waveform)));
  }
  return report;
}

std::vector<std::string> all_of(const std::string& text, const std::regex& wanted) {
  std::vector<std::string> found;
  for (std::sregex_iterator it(text.begin(), text.end(), wanted), end; it != end; ++it)
    found.push_back((*it)[1]);
  return found;
}

/// The page without the library's script, in which we look for what we wrote.
std::string own_part(const std::string& page) {
  const std::size_t from = page.find("<script>/*! @license");
  if (from == std::string::npos) return page;
  return page.substr(0, from) + page.substr(page.find("</script>", from));
}

}  // namespace

TEST_CASE("a page holds everything, links lead somewhere, and it is small", "[page]") {
  const std::string text = contents_of("circuits/harbour-light.toml");
  const PageReport report = reported(text);
  const std::string page = page_html(report);
  CHECK(page.size() < 400'000);
  CHECK(page == page_html(reported(text)));

  const std::string own = own_part(page);
  const auto ids = all_of(own, std::regex("[ <]id=\"([^\"]*)\""));
  const std::set<std::string> known(ids.begin(), ids.end());
  CHECK(known.size() == ids.size());
  for (const char* section :
       {"findings", "diagram", "shopping", "board", "steps", "readings", "voltages",
        "parts", "expectations", "runs", "margins", "description"})
    CHECK(known.contains(section));
  for (const Part& part : report.file.circuit->parts)
    CHECK(known.contains("part-" + part.name));
  const auto links = all_of(own, std::regex("href=\"#([^\"]*)\""));
  CHECK(links.size() > 20);
  for (const std::string& link : links) CHECK(known.contains(link));
  // Whatever could fetch something: there is nothing of the kind.
  CHECK(all_of(own, std::regex("( src=|@import|url\\(|<link|<img|<iframe)")).empty());
  CHECK_THAT(page, Catch::Contains("default-src 'none'"));
  CHECK_THAT(page, !Catch::Contains("sourceMappingURL"));
  // The library's licence goes with it.
  CHECK_THAT(page, Catch::Contains("Dan Vanderkam") &&
                       Catch::Contains("Permission is hereby granted"));
}

TEST_CASE("a page shows texts and does not obey them", "[page]") {
  const std::string page =
      page_html(reported(contents_of("tests/browser/hostile.toml")));
  const std::string own = own_part(page);
  // Ours: the data of a run, and the page's script.
  CHECK(all_of(own, std::regex("(<script)")).size() == 2);
  CHECK(all_of(own, std::regex("(<img|<b>|onerror=alert\\(1\\)>|</pre></script>)"))
            .empty());
  CHECK_THAT(own, Catch::Contains("<title>&lt;script&gt;document.title=&#39;taken&#39;"
                                  "&lt;/script&gt; &amp; &quot;quoted&quot;"));
  CHECK_THAT(own, Catch::Contains("\u6E2F\u306E\u706F"));
}

TEST_CASE("what is for the bench is on the page as the commands have it", "[page]") {
  const PageReport report = reported(contents_of("circuits/harbour-light.toml"));
  const std::string page = own_part(page_html(report));
  // A lead of the demo's board, by its description: both sides show it.
  CHECK_THAT(page,
             Catch::Contains("Parts&#39; side") || Catch::Contains("Parts' side"));
  CHECK_THAT(page, Catch::Contains("Copper side, turned over"));
  CHECK_THAT(page, Catch::Contains("Stage 1: ") && Catch::Contains("K14"));
  // Every voltage that the sheet asks for in state 'night' has its row.
  std::size_t asked = 0;
  for (const SheetLine& line : report.sheet->lines)
    if (is_usual(line)) ++asked;
  const std::string sheet = page.substr(page.find("id=\"readings\""));
  const std::string readings = sheet.substr(0, sheet.find("</section>"));
  CHECK(all_of(readings, std::regex("(<th scope=\"row\")")).size() == asked);
  CHECK(asked > 30);
}

TEST_CASE("variants stand side by side with their voltages, lamps and findings",
          "[page]") {
  PageReport report = reported(contents_of("circuits/harbour-light.toml"), false);
  static const Catalogue catalogue = built_in_catalogue();
  NodalWitness solvers;
  const Solve nodal = [&](const Network& network) {
    return solvers.solve_near(network);
  };
  Wishes asked;
  asked.variant = "dusk";
  FileReport dusk;
  dusk.circuit =
      read_circuit(report.file.source, "test.toml", catalogue, asked).circuit;
  REQUIRE(dusk.circuit);
  dusk.verification = verify(*dusk.circuit, nodal, nodal);
  report.variants.push_back(std::move(dusk));
  const std::string page = variants_html(report);
  // 330 ohm in place of 150 ohm at the quay's lamps: the description's own figures.
  CHECK_THAT(page, Catch::Contains("quay1_r.value=330R"));
  for (const char* net : {"rail", "raw", "quay1", "lamp_k"})
    CHECK_THAT(page, Catch::Contains(std::string("<td>") + net));
  CHECK_THAT(page, Catch::Contains(">light<") && Catch::Contains(">power<") &&
                       Catch::Contains("findings of each"));
}

TEST_CASE("pages of a library have safe names of their own", "[page]") {
  const std::vector<std::string> names =
      page_names({"a/Lamp.toml", "b/lamp.toml", "b-lamp.toml", "index.toml",
                  "../..toml", "x/ä \"<.toml", "-rf.toml"});
  const std::set<std::string> apart(names.begin(), names.end());
  CHECK(apart.size() == names.size());
  for (const std::string& name : names) {
    CAPTURE(name);
    CHECK(std::regex_match(name, std::regex("[A-Za-z0-9_][A-Za-z0-9._-]*\\.html")));
    CHECK(name != "index.html");
  }
  CHECK(names == page_names({"a/Lamp.toml", "b/lamp.toml", "b-lamp.toml", "index.toml",
                             "../..toml", "x/ä \"<.toml", "-rf.toml"}));
}

TEST_CASE("a course keeps to its line with the points that are left", "[page]") {
  const PageReport report = reported(contents_of("circuits/harbour-light.toml"));
  const Circuit& circuit = *report.file.circuit;
  REQUIRE(report.courses.size() == circuit.runs.size());
  const RunCourse& course = report.courses.at(1);
  CHECK(course.run == "lantern on");
  CHECK(course.nets.size() == 6);
  CHECK(course.nets.front() == "rail");  // It is asked about.
  CHECK(course.seconds.size() < 1000);
  const Timeline timeline = make_timeline(circuit, circuit.runs.at(1));
  const Record record(circuit, timeline, nodal_in_time(timeline, {}, 0));
  int rail = 0;
  while (circuit.nets[rail].name != "rail") ++rail;
  const Trace whole = record.volts(rail);
  const Trace kept{&course.seconds, course.volts.front()};
  const auto [low, high] =
      std::minmax_element(whole.values.begin(), whole.values.end());
  for (std::size_t k = 0; k < whole.values.size(); ++k)
    CHECK(std::abs(value_at(kept, record.seconds()[k]) - whole.values[k]) <=
          (*high - *low) / 300.0 + 1e-9);
}

TEST_CASE("a page of two hundred parts is below two megabytes", "[page]") {
  std::string text =
      "[parts]\njack = { kind = \"dc-supply\", voltage = \"5 V\", "
      "current = \"2 A\" }\n";
  std::string nets = "[nets]\n";
  std::string rail = "rail = [\"jack.plus\"";
  std::string ground = "ground = [\"jack.minus\"";
  for (int k = 0; k < 100; ++k) {
    const std::string n = std::to_string(k);
    text += "r" + n + " = { kind = \"resistor\", value = \"330R\" }\nl" + n +
            " = { kind = \"led\", colour = \"red\" }\n";
    rail += ", \"r" + n + ".a\"";
    nets += "m" + n + " = [\"r" + n + ".b\", \"l" + n + ".anode\"]\n";
    ground += ", \"l" + n + ".cathode\"";
  }
  text += nets + rail + "]\n" + ground + "]\n";
  // Its copies take minutes, and one line of the page.
  CHECK(page_html(reported(text, false)).size() < 2'000'000);
}
