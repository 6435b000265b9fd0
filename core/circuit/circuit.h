#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/catalogue/catalogue.h"
#include "core/circuit/board.h"

namespace benchproof {

/// The value of one key as written in a description.
struct Setting {
  using Value =
      std::variant<double, bool, std::string, std::vector<std::string>, DeviceModel>;
  Value value;
  Span span;
};

/// A part: a thing one buys, with a kind, figures and named pins.
struct Part {
  std::string name;
  std::string label;  ///< Free text; empty when not given.
  KindId kind = KindId::resistor;
  const Type* type =
      nullptr;  ///< From the catalogue, by name or by words; may be null.
  const Type* defaults = nullptr;  ///< What its kind assumes; may be null.
  std::vector<std::string> pins;   ///< In the kind's order; outputs and inputs last.
  std::vector<int> nets;           ///< Per pin: index of its net, -1 where left open.
  std::map<std::string, Setting, std::less<>> settings;  ///< Keys given.
  Span span;
  std::string shape = {};  ///< Name of the shape given; empty: none.
  std::vector<int> legs =
      {};  ///< Per pin: number of its lead as given, or 0; or empty.
};

/// The number behind a key: as given, else the type's, else the kind's default (of a
/// fuse's resistance that for its rating), else nothing. A figure from the description
/// carries Mark::given and source "description".
[[nodiscard]] std::optional<Figure> figure(const Part& part, std::string_view key);

/// The value of that figure alone: what solving asks for, without where it comes from.
[[nodiscard]] std::optional<double> number_of(const Part& part, std::string_view key);

/// A flag as given, else `otherwise`.
[[nodiscard]] bool flag(const Part& part, std::string_view key, bool otherwise);

/// A word as given, else the type's, else empty.
[[nodiscard]] std::string word_of(const Part& part, std::string_view key);

/// Whether a kind powers a circuit: its current is told as what it delivers at plus.
[[nodiscard]] bool is_source(KindId kind);

/// The index of a pin by name, or -1.
[[nodiscard]] int pin_index(const Part& part, std::string_view pin);

struct PinRef {
  int part = -1;
  int pin = -1;
  // NOLINTNEXTLINE(modernize-use-nullptr): the 0 is that of the comparison itself.
  friend auto operator<=>(const PinRef&, const PinRef&) = default;
};

/// A named joint of pins.
struct Net {
  std::string name;
  std::vector<PinRef> pins;
  Span span;
};

/// What a controller's output does in a state.
struct OutputSetting {
  enum class Level { low, high, open, pwm };
  Level level = Level::low;
  double duty = 0.0;   ///< Share of the period that is high, 0 < duty < 1; PWM only.
  double hertz = 0.0;  ///< > 0; PWM only.
  Span span;
};

/// One operating state.
struct State {
  std::string name;
  bool steady = true;  ///< False: only passed through in runs, not judged at rest.
  std::map<PinRef, OutputSetting> outputs;  ///< Outputs not named are low.
  std::map<int, bool> closed;               ///< Switches by part; open if not named.
  std::map<std::pair<int, std::string>, Setting> settings;  ///< (part, key) -> value.
  /// Types by part, where a changed key stands for another one (a battery's charge).
  std::map<int, const Type*> types;
  Span span;
};

enum class Quantity { voltage, current, power, temperature };

/// In place of a state's index: every supply at 0 V, everything else as the run's other
/// states have it (outputs low, switches open where there is none).
inline constexpr int kUnpowered = -1;
/// A run begins from the parts' `initial` keys instead of from a state at rest.
inline constexpr int kFromInitial = -2;

/// One change within a run.
struct RunStep {
  double at = 0.0;     ///< When it begins. Second.
  int state = 0;       ///< Index of the state entered, or kUnpowered.
  double rise = 1e-3;  ///< How long supplies take to their new values, linearly. > 0.
  Span span;
};

/// Something that happens in time.
struct Run {
  std::string name;
  int from = kUnpowered;       ///< State at rest before it, kUnpowered or kFromInitial.
  std::vector<RunStep> steps;  ///< In order of time, the first at or after 0.
  double seconds = 0.0;        ///< How long it is looked at.
  Span span;
};

/// The index of the state that says what outputs, switches and values are while a step
/// of the run holds (-1: before the first one): the step's own, or while it is
/// unpowered the nearest named one, the run's past before its future. -1 where the run
/// names no state.
[[nodiscard]] int named_state(const Run& run, int step);

/// Crosses a level in a direction, for the first time, within bounds of time.
struct Reaches {
  double level = 0.0;                ///< In the unit of the expectation's quantity.
  bool rising = true;                ///< The direction.
  std::optional<double> before;      ///< Second.
  std::optional<double> not_before;  ///< Second.
};

/// Keeps within bounds over a stretch of time.
struct Stays {
  std::optional<double> above;
  std::optional<double> below;
  double after = 0.0;           ///< Second.
  std::optional<double> until;  ///< Second; to the run's end if absent.
};

/// Which number is taken from a quantity's course in a run: its value at a time; or
/// over a stretch its average, the highest less the lowest, the highest, the lowest.
enum class RunFigure { at, average, ripple, peak, least };

/// A demand on a result.
struct Expectation {
  std::string state;  ///< Empty: in every steady state.
  int net = -1;       ///< A net's voltage ...
  int to = -1;        ///< ... against this net, -1 for ground;
  int part = -1;      ///< or a part's quantity ...
  int pin = -1;  ///< ... at this pin, -1 for the part's first pin or the whole part.
  Quantity quantity = Quantity::voltage;
  std::optional<double> least;    ///< Lower bound, in the quantity's unit.
  std::optional<double> most;     ///< Upper bound.
  std::optional<double> nominal;  ///< As written, where { nominal, within } was used.
  enum class Phase { average, on, off } phase = Phase::average;
  int run = -1;                      ///< Index of the run it is asked of, -1 for none.
  std::optional<Reaches> reaches;    ///< Runs only, in place of bounds.
  std::optional<Stays> stays;        ///< Runs only, in place of bounds.
  RunFigure figure = RunFigure::at;  ///< Runs only: what the bounds are for ...
  double at = 0.0;     ///< ... at this time; or over the stretch from `after`, second,
  double after = 0.0;  ///< cut to whole PWM periods where the run ends in PWM.
  std::string source;
  std::string mark;
  std::string why;
  Span span;
};

/// How far something may be off in copies of a circuit, as the description tells.
struct Spreading {
  int part = -1;          ///< -1: the ambient temperature.
  std::string key;        ///< Of the part, or a figure of its type that has bounds.
  bool is_share = false;  ///< The bounds are shares of the value in force.
  double least = 0.0;     ///< A share, or in the key's unit.
  double most = 0.0;
  bool is_normal = false;  ///< Three sigma at the bounds and none beyond; else uniform.
  Span span;
};

/// A finding that the description says is meant to be there.
struct ExpectedFinding {
  std::string check;  ///< The finding's id.
  std::string part;   ///< Whose it is; empty: of whatever part ...
  std::string net;    ///< ... or net.
  std::string grade;  ///< "fault", "caution" or "note"; empty: whatever grade.
  std::string state;  ///< Where it is expected; empty, as `run`: anywhere.
  int run = -1;       ///< Index of the run where it is expected, -1 for none.
  std::string why;
  Span span;
};

/// A named set of changed values, as it is described.
struct Variant {
  std::string name;
  std::vector<std::string> changes;  ///< "quay_r.value=470R", in the order of the text.
};

/// Where a group of nets with a source of its own, which nothing joins to ground (what
/// a relay's contacts switch, apart from its coil), has its zero: at the minus pin of
/// its first source. No current flows to ground from there.
struct LocalZero {
  int part = -1;  ///< The source; its second pin is the minus.
  int net = -1;
};

/// A block that stands in the place of a part. Its parts and nets are among those of
/// the circuit, with its name before theirs: "quay1/r".
struct BlockUse {
  std::string name;               ///< "quay1"
  std::string block;              ///< "lamp"
  std::vector<std::string> pins;  ///< Each a net within it: "in" is "quay1/in".
  Span span;
};

/// Parts, nets, states and expectations of one description: what `read_circuit` makes.
/// The catalogue that it was read with must outlive it.
struct Circuit {
  std::string title;
  double ambient = 25.0;  ///< Degrees Celsius.
  std::vector<Part> parts;
  std::vector<Net> nets;  ///< Ground first, then in the order of the description.
  std::vector<LocalZero> local_zeros;  ///< One for each group apart from ground.
  std::vector<BlockUse> uses;          ///< Of blocks, outer ones before inner ones.
  /// Nets by the names that they have within blocks, where they are joined to others.
  std::map<std::string, int, std::less<>> inner_names;
  /// Of batteries that the catalogue knows by their words: their types by charge.
  std::map<int, std::map<std::string, const Type*>> charges;
  std::vector<State> states;
  std::vector<Expectation> expectations;
  std::vector<ExpectedFinding> expected_findings = {};
  std::vector<Run> runs;
  std::vector<Spreading> spreadings;
  std::vector<std::vector<int>> reels;  ///< Parts that are off by the same.
  std::vector<Variant> variants;        ///< All that are described.
  std::string variant;                  ///< The one that this is; empty: none.
  std::vector<Board> boards = {};       ///< As described.
};

/// Whether a state or run of that name is asked for: all are, where none is named.
[[nodiscard]] bool is_named(const std::vector<std::string>& only,
                            std::string_view name);

/// The circuit with a state's changed values put in: the parts of `circuit` with the
/// settings of `state` laid over them. A supply whose `voltage` the state changes moves
/// its `no_load` in proportion, unless the state gives that too.
[[nodiscard]] std::vector<Part> parts_in(const Circuit& circuit, const State& state);

/// One of them.
[[nodiscard]] Part part_in(const Circuit& circuit, const State& state, int index);

/// The setting of an output in a state (low if not named).
[[nodiscard]] OutputSetting output(const State& state, PinRef pin);

/// One stretch of time in which every output holds still. A state without PWM has one
/// phase of share 1; with PWM the phases' shares are their parts of the time.
struct Phase {
  std::string name;  ///< "" | "on" | "off" | "buoy on, quay off" ...
  double share = 1.0;
  bool all_on = true;   ///< Every PWM output is high.
  bool all_off = true;  ///< Every PWM output is low. Both hold in a state without PWM.
  State state;          ///< The state with each PWM output replaced by high or low.
};

/// The phases of a state, at most kMostPhases (the reader refuses more). Outputs of one
/// frequency switch on together and off by their duty (so their phases nest, the
/// longest last); outputs of different frequencies are taken as independent, which is
/// exact on the long average.
[[nodiscard]] std::vector<Phase> phases(const Circuit& circuit, const State& state);

/// How many phases a state has, or kMostPhases + 1 when there are more.
[[nodiscard]] std::size_t phase_count(const State& state);

/// The phases of all states times the parts: how much there is to be told.
[[nodiscard]] std::size_t figure_count(const Circuit& circuit);

/// Six frequencies of one duty each.
inline constexpr std::size_t kMostPhases = 64;

}  // namespace benchproof
