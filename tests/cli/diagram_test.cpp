// The diagram read back from its picture: what its lines join is what the description
// joins, and nothing lies on anything else.
#include "core/draw/diagram.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <numeric>
#include <regex>
#include <set>
#include <string>
#include <vector>

#include "cli/render/diagram/diagram_picture.h"
#include "cli/render/diagram/diagram_svg.h"
#include "core/circuit/entries/block_files.h"
#include "core/nodal/nodal_solver.h"
#include "descriptions.h"
#include "tests/files.h"

using namespace benchproof;

namespace {

namespace fs = std::filesystem;
const fs::path kSource = BENCHPROOF_SOURCE_DIR;

/// A description, judged by the nodal witness for both; without a circuit where it is
/// refused.
FileReport judged_text(const std::string& text, const fs::path& folder) {
  static const Catalogue catalogue = built_in_catalogue();
  Wishes wishes;
  wishes.files = block_files(text, [&folder](const std::string& file) {
    std::ifstream in(folder / file);
    return BlockFile{file, {std::istreambuf_iterator<char>(in), {}}, ""};
  });
  FileReport report;
  report.file = "harbour/test.toml";
  report.source = text;
  report.circuit = read_circuit(text, report.file, catalogue, wishes).circuit;
  if (report.circuit)
    report.verification = verify(*report.circuit, solve_nodal, solve_nodal);
  return report;
}

/// A line of the picture, with what it says it belongs to.
struct Line {
  double x1, y1, x2, y2;
  std::string net;
};

struct Picture {
  std::vector<Line> lines;
  std::vector<Point> dots;
  std::map<std::string, Point> pins;  ///< "quay1_r.a"
};

/// What a reader sees of a picture's wires: lines, dots and the ends of parts.
Picture read_back(const std::string& svg) {
  Picture picture;
  const std::regex line(
      R"re(<line[^>]*data-net="([^"]*)" x1="([-\d.]+)" y1="([-\d.]+)" x2="([-\d.]+)" y2="([-\d.]+)")re");
  for (std::sregex_iterator it(svg.begin(), svg.end(), line), end; it != end; ++it)
    picture.lines.push_back({std::stod((*it)[2]), std::stod((*it)[3]),
                             std::stod((*it)[4]), std::stod((*it)[5]), (*it)[1]});
  const std::regex dot(
      R"re(<circle class="full" cx="([-\d.]+)" cy="([-\d.]+)" r="2.6")re");
  for (std::sregex_iterator it(svg.begin(), svg.end(), dot), end; it != end; ++it)
    picture.dots.push_back({std::stod((*it)[1]), std::stod((*it)[2])});
  const std::regex part(R"re(<g data-part="([^"]*)" data-pins="([^"]*)")re");
  const std::regex pin(R"(([^: ]+):([-\d.]+),([-\d.]+))");
  for (std::sregex_iterator it(svg.begin(), svg.end(), part), end; it != end; ++it) {
    const std::string pins = (*it)[2];
    for (std::sregex_iterator p(pins.begin(), pins.end(), pin); p != end; ++p)
      picture.pins[(*it)[1].str() + "." + (*p)[1].str()] = {std::stod((*p)[2]),
                                                            std::stod((*p)[3])};
  }
  return picture;
}

bool is_on(const Line& line, Point p) {
  constexpr double kHair = 0.051;  // Coordinates are written to a tenth.
  return p.x > std::min(line.x1, line.x2) - kHair &&
         p.x < std::max(line.x1, line.x2) + kHair &&
         p.y > std::min(line.y1, line.y2) - kHair &&
         p.y < std::max(line.y1, line.y2) + kHair;
}

/// Joins what meets: ends of lines with ends, pins with lines, and where a dot is all
/// lines through it. Lines that cross without a dot are apart.
std::set<std::set<std::string>> joined_pins(const Picture& picture) {
  std::vector<std::size_t> group(picture.lines.size());
  std::iota(group.begin(), group.end(), std::size_t{0});
  const auto find = [&group](std::size_t k) {
    while (group[k] != k) k = group[k];
    return k;
  };
  const auto is_end = [](const Line& line, Point p) {
    const auto near = [](double a, double b) { return std::abs(a - b) < 0.051; };
    return (near(line.x1, p.x) && near(line.y1, p.y)) ||
           (near(line.x2, p.x) && near(line.y2, p.y));
  };
  for (std::size_t a = 0; a < picture.lines.size(); ++a)
    for (std::size_t b = a + 1; b < picture.lines.size(); ++b) {
      const Line& one = picture.lines[a];
      const Line& other = picture.lines[b];
      const std::array ends = {Point{one.x1, one.y1}, Point{one.x2, one.y2}};
      bool do_meet = std::any_of(ends.begin(), ends.end(),
                                 [&](Point p) { return is_end(other, p); });
      for (const Point& dot : picture.dots)
        do_meet = do_meet || (is_on(one, dot) && is_on(other, dot));
      if (do_meet) group[find(a)] = find(b);
    }
  std::map<std::string, std::set<std::string>> groups;
  for (const auto& [name, at] : picture.pins) {
    std::string key = fmt::format("{:.1f},{:.1f}", at.x, at.y);
    for (std::size_t k = 0; k < picture.lines.size(); ++k)
      if (is_end(picture.lines[k], at)) key = std::to_string(find(k));
    groups[key].insert(name);
  }
  std::set<std::set<std::string>> all;
  for (const auto& [key, pins] : groups) all.insert(pins);
  return all;
}

std::set<std::set<std::string>> described_pins(const Circuit& circuit) {
  std::set<std::set<std::string>> all;
  for (const Net& net : circuit.nets) {
    std::set<std::string> pins;
    for (const PinRef& ref : net.pins)
      pins.insert(circuit.parts[ref.part].name + "." +
                  circuit.parts[ref.part].pins[ref.pin]);
    if (!pins.empty()) all.insert(pins);
  }
  return all;
}

/// A street of lamps behind one controller and its supply, and more on the rail: as
/// many parts as are asked for, made up.
std::string street(int lamps) {
  std::string parts =
      "[parts]\njack = { kind = \"dc-supply\", voltage = \"5 V\", current = \"2 A\" }\n"
      "near = { kind = \"capacitor\", value = \"100nF\", rated = \"50 V\" }\n";
  std::string outputs;
  std::string rail = "rail = [\"jack.plus\", \"near.a\", \"chip.vdd\"";
  std::string ground = "ground = [\"jack.minus\", \"near.b\", \"chip.vss\"";
  std::string nets = "[nets]\n";
  for (int k = 0; k < lamps; ++k) {
    const std::string n = std::to_string(k);
    parts += "r" + n + " = { kind = \"resistor\", value = \"330R\" }\nl" + n +
             " = { kind = \"led\", colour = \"red\" }\n";
    if (k % 5 == 0) {
      outputs += (outputs.empty() ? "\"o" : ", \"o") + n + "\"";
      nets += "o" + n + " = [\"chip.o" + n + "\", \"r" + n + ".a\"]\n";
    } else {
      rail += ", \"r" + n + ".a\"";
    }
    nets += "m" + n + " = [\"r" + n + ".b\", \"l" + n + ".anode\"]\n";
    ground += ", \"l" + n + ".cathode\"";
  }
  parts += "chip = { kind = \"controller\", type = \"cmos-5v\", outputs = [" + outputs +
           "] }\n";
  return parts + nets + rail + "]\n" + ground + "]\n";
}

}  // namespace

TEST_CASE("every diagram joins what its description joins, and nothing overlaps",
          "[draw]") {
  std::size_t crossings = 0;
  std::size_t most = 0;
  std::printf("%-42s %5s %5s %9s %6s\n", "diagram", "parts", "nets", "crossings",
              "size");
  const std::vector<fs::path> paths = descriptions_in({"circuits", "reference/worked"});
  REQUIRE(paths.size() > 80);
  for (const fs::path& path : paths) {
    CAPTURE(path);
    const FileReport report = judged_text(text_of(path), path.parent_path());
    REQUIRE(report.circuit);
    const DiagramPicture picture = picture_of(report);
    const DiagramFlaws flaws = flaws_of(*report.circuit, picture.diagram);
    CHECK(flaws.first_overlap == "");
    CHECK(flaws.overlaps == 0);
    std::printf("%-42s %5zu %5zu %9zu %.0fx%.0f\n", path.stem().c_str(),
                report.circuit->parts.size(), report.circuit->nets.size(),
                flaws.crossings, picture.diagram.width, picture.diagram.height);
    crossings += flaws.crossings;
    most = std::max(most, flaws.crossings);
    const std::string svg = diagram_file(report, picture, {});
    CHECK(joined_pins(read_back(svg)) == described_pins(*report.circuit));
    // The same again.
    CHECK(diagram_file(report, picture_of(report), {}) == svg);
  }
  std::printf("crossings: %zu in %zu diagrams\n", crossings, paths.size());
  // As counted when this was written, 13 in all: a new layout may have fewer, not more.
  // Most has the flasher, whose halves are joined crosswise.
  CHECK(crossings <= 13);
  CHECK(most <= 3);
}

TEST_CASE("mistakes are drawn as they are wired", "[draw]") {
  for (const fs::path& path : descriptions_in({"tests/mistakes", "tests/sound"})) {
    CAPTURE(path);
    const FileReport report = judged_text(text_of(path), path.parent_path());
    if (!report.circuit) continue;
    const DiagramPicture picture = picture_of(report);
    CHECK(flaws_of(*report.circuit, picture.diagram).first_overlap == "");
    CHECK(joined_pins(read_back(diagram_file(report, picture, {}))) ==
          described_pins(*report.circuit));
  }
}

TEST_CASE("a line that goes astray would show", "[draw]") {
  const FileReport report =
      judged_text(text_of(kSource / "circuits/led-single.toml"), kSource / "circuits");
  DiagramPicture picture = picture_of(report);
  picture.diagram.wires.pop_back();
  CHECK(joined_pins(read_back(diagram_file(report, picture, {}))) !=
        described_pins(*report.circuit));
  picture = picture_of(report);
  for (Symbol& symbol : picture.diagram.symbols)
    symbol.body = picture.diagram.symbols[0].body;
  CHECK(flaws_of(*report.circuit, picture.diagram).overlaps > 0);
}

TEST_CASE("a circuit of two hundred parts is drawn", "[draw]") {
  const FileReport report = judged_text(street(99), kSource);
  REQUIRE(report.circuit);
  REQUIRE(report.circuit->parts.size() > 200);
  const DiagramPicture picture = picture_of(report);
  const DiagramFlaws flaws = flaws_of(*report.circuit, picture.diagram);
  CHECK(flaws.first_overlap == "");
  CHECK(joined_pins(read_back(diagram_file(report, picture, {}))) ==
        described_pins(*report.circuit));
}

TEST_CASE("a state is drawn with its figures, in black and white", "[draw]") {
  const FileReport report = judged_text(
      text_of(kSource / "circuits/harbour-light.toml"), kSource / "circuits");
  const DiagramPicture picture = picture_of(report);
  REQUIRE(picture.states.at(0).name == "night");
  const std::string night = diagram_file(report, picture, 0);
  // 78L05: 5.0 V nominal. The filled triangle of a lamp that is lit.
  CHECK_THAT(night, Catch::Contains(">5.00 V<"));
  CHECK(picture.states[0].parts.at(6).current.starts_with("takes"));
  const auto lit = [&](std::size_t state, const std::string& name) {
    for (std::size_t k = 0; k < report.circuit->parts.size(); ++k)
      if (report.circuit->parts[k].name == name)
        return picture.states.at(state).parts.at(k).is_lit.value();
    throw std::out_of_range(name);
  };
  CHECK(lit(0, "quay1"));
  CHECK(lit(0, "lantern"));
  CHECK_FALSE(lit(1, "quay1"));
  CHECK_FALSE(lit(1, "lantern"));
  // All arrows of current point down here, but for the supply's: it drives it upwards.
  CHECK(picture.states[0].parts.at(0).direction == -1);
  // No other colours than black and white.
  const std::regex colour("#[0-9a-f]{3,6}");
  for (std::sregex_iterator it(night.begin(), night.end(), colour), end; it != end;
       ++it)
    CHECK((it->str() == "#000" || it->str() == "#fff"));
}

TEST_CASE("findings are numbered where they are", "[draw]") {
  const FileReport report =
      judged_text(text_of(kSource / "tests/mistakes/led-on-pin-no-r.toml"), kSource);
  REQUIRE(report.circuit);
  const DiagramPicture picture = picture_of(report);
  REQUIRE_FALSE(picture.states.at(0).findings.empty());
  const NumberedFinding& first = picture.states[0].findings.front();
  CHECK(first.number == 1);
  CHECK(first.parts.size() + first.nets.size() >= 1);
  const std::string svg = diagram_file(report, picture, 0);
  CHECK_THAT(svg, Catch::Contains(">1</text>"));
  CHECK_THAT(svg, Catch::Contains("[" + first.check + "]"));
}

TEST_CASE("hostile texts are shown, not obeyed", "[draw]") {
  std::string text = text_of(kSource / "circuits/led-single.toml");
  const std::string nasty =
      "<script>alert('x')</script> & \\\"quotes\\\" \u6E2F \u05D0";
  text = std::regex_replace(text, std::regex("title *= *\"[^\"]*\""),
                            "title = \"" + nasty + "\"");
  const FileReport report = judged_text(text, kSource / "circuits");
  REQUIRE(report.circuit);
  const std::string svg = diagram_file(report, picture_of(report), {});
  CHECK_THAT(svg, !Catch::Contains("<script"));
  CHECK_THAT(svg, Catch::Contains("&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt; "
                                  "&amp; &quot;quotes&quot; \u6E2F \u05D0"));
}

TEST_CASE("texts are no wider than is reckoned with", "[draw]") {
  // Widths of DejaVu Sans, the widest of the fonts asked for, by its own table (advance
  // widths of version 2.37, units of 2048 to the em).
  const std::map<char, int> kAdvance = {
      {'i', 569},  {'l', 569},  {'r', 842},  {'m', 1995}, {'w', 1675},
      {'W', 2025}, {'M', 1767}, {'a', 1255}, {'q', 1300}, {'0', 1303},
      {'_', 1024}, {' ', 651},  {'.', 651},  {'O', 1612}, {'G', 1587}};
  for (const auto& [letter, units] : kAdvance) {
    CAPTURE(letter);
    CHECK(text_width(std::string(1, letter)) >= units / 2048.0 * kTextSize);
  }
}

TEST_CASE("the page's diagram is the program's", "[draw]") {
  const fs::path path = kSource / "circuits/frost-warning.toml";
  const FileReport report = judged_text(text_of(path), path.parent_path());
  const DiagramPicture picture = picture_of(report);
  REQUIRE(picture.states.at(2).name == "frost");
  const std::string svg = diagram_file(report, picture, 2);
  const fs::path shown = kSource / "circuits/frost-warning.svg";
  if (std::getenv("BENCHPROOF_REWRITE_GOLDEN") != nullptr) {
    std::ofstream(shown) << svg;
    FAIL("written: " << shown);
  }
  CHECK(text_of(shown) == svg);
}
