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

#include "cli/render/diagram_svg.h"
#include "cli/render/page_report.h"
#include "core/circuit/read/reader.h"
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

/// All that a page shows, by the nodal witness alone; runs with their waveforms, but
/// not judged.
PageReport reported(const std::string& text, bool with_copies = true) {
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
  if (with_copies)
    report.spread =
        tolerance(circuit, report.file.verification, {1000, 1}, nodal, nodal, in_turn);
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
  for (const char* section : {"findings", "diagram", "shopping", "voltages", "parts",
                              "expectations", "runs", "margins", "description"})
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
