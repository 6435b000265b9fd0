#include "core/regress/case_record.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <string>

#include "core/circuit/read/reader.h"
#include "core/network/record.h"
#include "core/nodal/nodal_solver.h"
#include "core/nodal/transient.h"
#include "tests/known_types.h"
#include "tests/nodal_witness.h"

using namespace benchproof;
using Catch::Contains;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace {

// Half the supply at the tap; the capacitor charges over the two in parallel, 5 kohm,
// with 10 uF: 50 ms.
const std::string kDivider = R"(
[parts]
jack = { kind = "voltage-source", voltage = "8 V" }
top  = { kind = "resistor", value = "10k", power = "0.25 W" }
foot = { kind = "resistor", value = "10k", power = "0.25 W" }
hold = { kind = "capacitor", value = "10uF", rated = "16 V" }
[nets]
inlet  = ["jack.plus", "top.a"]
tap    = ["top.b", "foot.a", "hold.a"]
ground = ["jack.minus", "foot.b", "hold.b"]
[states.on]
[[runs]]
name = "charge"
state = "on"
from = "unpowered"
rise = "1 us"
span = "50 ms"
)";

struct Judged {
  Circuit circuit;
  Verification verification;
  std::vector<RunResult> runs;
};

Judged judged(const std::string& text) {
  ReadResult read = read_circuit(text, "divider.toml", known_types());
  REQUIRE(read.circuit);
  Judged result{*std::move(read.circuit), {}, {}};
  const Solve solve = by_nodal;
  result.verification = verify(result.circuit, solve, solve);
  result.runs = verify_runs(result.circuit, nodal_in_time, nodal_in_time);
  return result;
}

double figure_of(const CaseRecord& record, FigureSort sort, const std::string& of) {
  for (const KeptFigure& figure : record.figures)
    if (figure.sort == sort && figure.of == of) return figure.value;
  FAIL("no such figure: " << table_name(sort) << " " << of);
  return 0;
}

CaseRecord record_of(std::vector<KeptFigure> figures,
                     std::vector<std::string> findings = {}) {
  return {{"", false, "on"}, std::move(findings), std::move(figures)};
}

}  // namespace

TEST_CASE("of a run its figures are kept, not its points", "[regress][runs]") {
  const Judged it = judged(kDivider);
  REQUIRE(it.runs.size() == 1);
  const RunResult& run = it.runs.front();
  const RunResult whole = verify_run(it.circuit, 0, nodal_in_time, nodal_in_time);
  CHECK(run.verdict == whole.verdict);
  CHECK(run.engine_points == whole.engine.seconds.size());
  CHECK(run.nodal_points == whole.nodal.seconds.size());
  for (const Waveform* waveform : {&run.engine, &run.nodal}) {
    CHECK(waveform->status == SolveStatus::solved);
    CHECK(waveform->seconds.capacity() == 0);
    CHECK(waveform->rows.capacity() == 0);
  }
  REQUIRE(run.courses.size() == it.circuit.nets.size());
  const Record record(it.circuit, whole.timeline, whole.nodal);
  for (std::size_t net = 0; net < run.courses.size(); ++net) {
    const Trace trace = record.volts(static_cast<int>(net));
    const Extremes e = extremes(trace, record.whole());
    const NetCourse& course = run.courses[net];
    CHECK(course.first == trace.values.front());
    CHECK(course.last == trace.values.back());
    CHECK(course.least == e.lowest);
    CHECK(course.most == e.highest);
    CHECK_THAT(course.mean, WithinAbs(e.mean, 1e-12));
  }
}

TEST_CASE("a record has each net's voltage and each current", "[regress]") {
  const Judged it = judged(kDivider);
  const auto records = case_records(it.circuit, it.verification, it.runs);
  REQUIRE(records.size() == 2);
  CHECK(records[0].name == CaseName{"", false, "on"});
  // Ohm's law: 8 V over 20 kohm; a source's current into plus is negative.
  CHECK_THAT(figure_of(records[0], FigureSort::volts, "tap"), WithinRel(4.0, 1e-9));
  CHECK_THAT(figure_of(records[0], FigureSort::amps, "top"), WithinRel(0.4e-3, 1e-9));
  CHECK_THAT(figure_of(records[0], FigureSort::amps, "jack"), WithinRel(-0.4e-3, 1e-9));
  for (const KeptFigure& figure : records[0].figures) CHECK(figure.of != "ground");
}

TEST_CASE("a record of a run has lowest, highest, mean and last", "[regress]") {
  const Judged it = judged(kDivider);
  const auto records = case_records(it.circuit, it.verification, it.runs);
  REQUIRE(records.size() == 2);
  const CaseRecord& run = records[1];
  CHECK(run.name == CaseName{"", true, "charge"});
  // The exponential of an RC circuit over one time constant T: the last value is
  // V (1 - 1/e), the mean over it V / e. What the rise of 1 us moves is 1e-5 of V.
  const double last = 4.0 * (1.0 - std::exp(-1.0));
  const double mean = 4.0 * std::exp(-1.0);
  CHECK_THAT(figure_of(run, FigureSort::least_volts, "tap"), WithinAbs(0.0, 1e-9));
  CHECK_THAT(figure_of(run, FigureSort::most_volts, "tap"), WithinAbs(last, 1e-4));
  CHECK_THAT(figure_of(run, FigureSort::last_volts, "tap"), WithinAbs(last, 1e-4));
  CHECK_THAT(figure_of(run, FigureSort::mean_volts, "tap"), WithinAbs(mean, 1e-4));
}

TEST_CASE("findings are kept without figures and without notes", "[regress]") {
  // 8 V over 100 ohm is 0.64 W in a resistor of 0.25 W.
  std::string text = kDivider;
  text.replace(text.find("\"10k\""), 5, "\"100R\"");
  text.replace(text.find("\"10k\""), 5, "\"100R\"");
  text.replace(text.find("8 V"), 3, "16 V");
  const Judged it = judged(text);
  const auto records = case_records(it.circuit, it.verification, it.runs);
  REQUIRE_FALSE(records.empty());
  bool is_there = false;
  for (const std::string& finding : records[0].findings) {
    CHECK_THAT(finding, !Contains("W"));
    CHECK_THAT(finding, !Contains("note"));
    is_there = is_there || finding == "fault resistor-power top";
  }
  CHECK(is_there);
}

TEST_CASE("what moves by more than it may is told, the worst first", "[regress]") {
  const Tolerance tolerance;
  const CaseRecord was = record_of({{FigureSort::volts, "tap", 4.0},
                                    {FigureSort::volts, "rail", 5.0},
                                    {FigureSort::amps, "quay", 8e-3}});
  SECTION("within") {
    const CaseRecord now = record_of({{FigureSort::volts, "tap", 4.0004},
                                      {FigureSort::volts, "rail", 5.0 - 0.0005},
                                      {FigureSort::amps, "quay", 8.0008e-3}});
    CHECK(moved(was, now, tolerance).empty());
  }
  SECTION("beyond") {
    // 10 uV + 1e-4 of 4 V is 0.41 mV; 0.42 mV is too much.
    const CaseRecord now = record_of({{FigureSort::volts, "tap", 4.00042},
                                      {FigureSort::volts, "rail", 5.5},
                                      {FigureSort::amps, "quay", 8e-3}});
    const auto list = moved(was, now, tolerance);
    REQUIRE(list.size() == 2);
    CHECK(list[0].what == "net 'rail'");
    CHECK(*list[0].was == 5.0);
    CHECK(*list[0].is == 5.5);
    CHECK_THAT(list[0].most, WithinRel(0.51e-3, 1e-9));
    CHECK(list[1].what == "net 'tap'");
  }
  SECTION("not a number is never within") {
    const CaseRecord now = record_of({{FigureSort::volts, "tap", std::nan("")},
                                      {FigureSort::volts, "rail", 5.0},
                                      {FigureSort::amps, "quay", 8e-3}});
    CHECK(moved(was, now, tolerance).size() == 1);
  }
  SECTION("what comes and goes") {
    const CaseRecord now = record_of({{FigureSort::volts, "tap", 4.0},
                                      {FigureSort::volts, "spur", 1.0},
                                      {FigureSort::amps, "quay", 8e-3}},
                                     {"caution led-current quay"});
    const auto list = moved(was, now, tolerance);
    REQUIRE(list.size() == 3);
    CHECK(list[0].what == "'caution led-current quay' is new");
    CHECK(list[1].what == "net 'spur'");
    CHECK_FALSE(list[1].was);
    CHECK(list[2].what == "net 'rail'");
    CHECK_FALSE(list[2].is);
    CHECK(moved(now, was, tolerance)[0].what == "'caution led-current quay' is gone");
  }
}

TEST_CASE("figures of runs may move by what witnesses may differ", "[regress]") {
  const Tolerance tolerance;
  CHECK_THAT(allowed(tolerance, FigureSort::most_volts, -5.0), WithinRel(12e-3, 1e-12));
  CHECK_THAT(allowed(tolerance, FigureSort::volts, -5.0), WithinRel(0.51e-3, 1e-12));
  CHECK_THAT(allowed(tolerance, FigureSort::amps, 1e-3), WithinRel(0.2e-6, 1e-12));
}

// What voltages and currents at rest do not show: each of these changes once passed.
TEST_CASE("what is asked of a circuit, and what goes beside it, is kept too",
          "[regress]") {
  const std::string lamp = R"(ambient = "25 C"
[parts]
cell = { kind = "battery", chemistry = "alkaline", size = "AA", cells = 3 }
plug = { kind = "dc-supply", voltage = "5 V", current = "10 A", regulated = true }
bulk = { kind = "capacitor", value = "10uF", rated = "16 V", esr = "0.1 ohm" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["quay"] }
quay_r = { kind = "resistor", value = "220R" }
quay = { kind = "led", colour = "red" }
tail_r = { kind = "resistor", value = "220R" }
tail = { kind = "led", colour = "red" }
[nets]
rail = ["plug.plus", "bulk.a", "chip.vdd"]
pin = ["chip.quay", "quay_r.a"]
glow = ["quay_r.b", "quay.anode"]
plus = ["cell.plus", "tail_r.a"]
red = ["tail_r.b", "tail.anode"]
ground = ["plug.minus", "bulk.b", "chip.vss", "quay.cathode", "cell.minus", "tail.cathode"]
[states.on]
"chip.quay" = { pwm = "50%", frequency = "1 kHz" }
[[runs]]
name = "plugging in"
state = "on"
from = "unpowered"
rise = "100 us"
span = "1 ms"
[[expect]]
state = "on"
part = "quay"
current = { max = "6 mA" }
)";
  const auto records = [](const std::string& text) {
    const Judged it = judged(text);
    return case_records(it.circuit, it.verification, it.runs);
  };
  const auto kept = records(lamp);
  REQUIRE(kept.size() == 2);
  const auto said = [&](const std::string& from, const std::string& to,
                        std::size_t which) {
    std::string text = lamp;
    const std::size_t at = text.find(from);
    REQUIRE(at != std::string::npos);
    text.replace(at, from.size(), to);
    std::string all;
    for (const Moved& m : moved(kept[which], records(text).at(which), {}))
      all += m.what + "\n";
    return all;
  };
  CHECK(said("ambient = \"25 C\"", "ambient = \"25 C\"", 0).empty());
  CHECK_THAT(said("\"25 C\"", "\"60 C\"", 0), Contains("the air around it"));
  CHECK_THAT(said("\"AA\"", "\"AAA\"", 0), Contains("life of 'cell'"));
  CHECK_THAT(said("\"1 kHz\"", "\"100 Hz\"", 0), Contains("frequency of 'chip.quay'"));
  CHECK_THAT(said("\"6 mA\"", "\"60 mA\"", 0),
             Contains("'current of 'quay', at most 0.006' is no longer expected"));
  CHECK_THAT(said("max = \"6 mA\"", "min = \"0 A\"", 0),
             Contains("'current of 'quay', at least 0' is expected now"));
  // Ten times the capacitor takes ten times the current at the plug.
  CHECK_THAT(said("value = \"10uF\"", "value = \"100uF\"", 1),
             Contains("current into 'bulk' at its highest"));
  // A record from before has nothing to say of these.
  CaseRecord before = kept[0];
  before.is_full = false;
  CHECK(moved(before, records(lamp).at(0), {}).empty());
}
