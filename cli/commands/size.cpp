#include "core/sizing/size.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "cli/commands/command_line/command.h"
#include "cli/commands/command_line/shared_options.h"
#include "cli/commands/files/reading.h"
#include "cli/commands/files/write_value.h"
#include "cli/commands/judging/progress.h"
#include "cli/commands/judging/witnesses.h"
#include "cli/commands/output.h"
#include "cli/render/layout.h"
#include "cli/render/size/size_advice.h"
#include "cli/render/size/size_report.h"
#include "cli/render/verify/text.h"
#include "core/base/complaints.h"
#include "core/base/preferred.h"
#include "core/nodal/transient.h"
#include "core/range/supply_range.h"
#include "spice/session/witness.h"

namespace benchproof {
namespace {

struct SizeOptions {
  std::string file;
  std::vector<std::string> parts;  ///< "quay_r" or "trim.turn"; one, two, with `same`
                                   ///< any number.
  bool same = false;               ///< One value for all parts.
  std::string want;                ///< "quay current = 8 mA"
  std::string state;               ///< Empty: see state_that_shows.
  std::string run;
  std::string series;  ///< "E24", or "any"; empty: the part's usual one.
  std::string least;   ///< As a quantity; empty: the usual bounds.
  std::string most;
  bool write = false;
  bool with_faults = false;  ///< Written although it leaves faults.
  bool yield = false;        ///< By how many copies do what is wanted.
  int copies = -1;           ///< -1: as many as usual.
  int seed = -1;             ///< -1: the usual one.
  bool json = false;
  VersionChoice version;
  bool allow_unsealed = false;
};

/// From which series the values are taken.
struct SeriesChoice {
  bool is_any_value = false;     ///< From none.
  std::optional<Series> series;  ///< Empty: from the part's usual one.
};

SeriesChoice parse_series(const std::string& text) {
  const SeriesChoice choice{text == "any", find_series(text)};
  if (!text.empty() && !choice.is_any_value && !choice.series)
    throw UsageError("--series",
                     "'" + text + "' is none of E3, E6, E12, E24, E48, E96, E192, any");
  return choice;
}

/// The series that a part of that kind is sold in. Common practice, no source.
std::optional<Series> usual_series(const Circuit& circuit, const SizedKey& key) {
  if (key.key != "value") return std::nullopt;
  switch (circuit.parts[key.part].kind) {
    case KindId::resistor:
      return Series::e24;
    case KindId::trimmer:
      return Series::e3;
    case KindId::capacitor:
    case KindId::inductor:
      return Series::e12;
    default:
      return std::nullopt;
  }
}

/// A bound given as a quantity that the key may have; complains otherwise.
void take_bound(const std::string& text, const std::string& option,
                const Circuit& circuit, const SizedKey& key, double& bound,
                std::vector<std::string>& complaints) {
  if (text.empty()) return;
  const auto parsed = parse_quantity(text, key.unit);
  const double* value = std::get_if<double>(&parsed);
  if (value == nullptr) {
    const auto& error = std::get<QuantityError>(parsed);
    complaints.push_back(fmt::format("{} {}: {}{}{}", option, benchproof::quoted(text),
                                     error.message, error.hint.empty() ? "" : "; ",
                                     error.hint));
    return;
  }
  const KindId id = circuit.parts[key.part].kind;
  Key rule = *find_key(kind(id), key.key);
  if (is_supply_voltage(id, key.key)) rule.most = std::min(rule.most, kMostRangeVolts);
  const bool is_above = rule.least_allowed ? *value >= rule.least : *value > rule.least;
  if (!is_above || !(*value <= rule.most)) {
    complaints.push_back(fmt::format(
        "{} {} is no value that '{}' may have; {}", option, benchproof::quoted(text),
        key.key, range_hint(rule.least, rule.least_allowed, rule.most, key.unit)));
    return;
  }
  bound = *value;
}

/// Looks only from the present value divided by `times` to as many times of it.
void narrow_bounds(SizedKey& key, double times) {
  if (!key.present || !(*key.present > 0.0)) return;
  key.least = std::max(key.least, *key.present / times);
  key.most = std::min(key.most, *key.present * times);
}

/// Takes out what is told already.
void keep_first_of_each(std::vector<std::string>& complaints) {
  std::set<std::string> told;
  std::erase_if(complaints, [&told](const std::string& complaint) {
    return !told.insert(complaint).second;
  });
}

/// Reads the goal; complains of one that is none, and of options that do not go with
/// it.
void take_goal(const Circuit& circuit, const SizeOptions& options, SizeRequest& request,
               std::vector<std::string>& complaints) {
  auto goal = read_goal(circuit, options.want, options.run);
  if (const auto* wrong = std::get_if<std::string>(&goal)) {
    complaints.push_back("--want: " + *wrong);
    return;
  }
  request.goal = std::move(std::get<Goal>(goal));
  const bool is_in_run = request.goal.measure == Goal::Measure::crossing;
  if (is_in_run && !options.state.empty())
    complaints.emplace_back(
        "--state goes with a goal at rest; what states a run enters it says itself");
  if (!is_in_run && !options.run.empty())
    complaints.emplace_back(
        "--run goes with 'reaches', as in \"rail reaches 4.5 V = 10 ms\"");
}

/// Sets the bounds of a value to be chosen; complains where nothing lies between them.
void bound_key(const Circuit& circuit, const SizeOptions& options,
               const std::string& part, bool is_in_run, SizedKey& key,
               std::vector<std::string>& complaints) {
  if (options.parts.size() > 1 && !options.same) narrow_bounds(key, 10.0);
  if (is_in_run) narrow_bounds(key, 100.0);
  take_bound(options.least, "--least", circuit, key, key.least, complaints);
  take_bound(options.most, "--most", circuit, key, key.most, complaints);
  if (std::isnan(key.least) || std::isnan(key.most))
    complaints.push_back(fmt::format(
        "'{}' has no present value to look around; give --least and --most", part));
  else if (key.least == key.most)
    complaints.push_back(
        fmt::format("'{}' would have one value only, {}: verify tells what it does",
                    part, format_quantity(key.least, key.unit)));
  else if (!(key.least <= key.most))
    complaints.push_back(fmt::format("'{}' would have to be at least {} and at most {}",
                                     part, format_quantity(key.least, key.unit),
                                     format_quantity(key.most, key.unit)));
}

/// "quay_r.value".
std::string name_of(const Circuit& circuit, const SizedKey& key) {
  return fmt::format("{}.{}", circuit.parts[key.part].name, key.key);
}

/// Complains of what is named more than once.
void check_twice(const Circuit& circuit, const std::vector<SizedKey>& keys,
                 std::vector<std::string>& complaints) {
  std::map<std::string, int> times;
  for (const SizedKey& key : keys)
    if (++times[name_of(circuit, key)] == 2)
      complaints.push_back(
          fmt::format("--part names '{}' more than once", name_of(circuit, key)));
}

/// Lets all keys have one value: all within the bounds of each. Complains of those that
/// cannot.
void make_same(const Circuit& circuit, std::vector<SizedKey>& keys,
               std::vector<std::string>& complaints) {
  const SizedKey first = keys.front();
  const auto kind_of = [&circuit](const SizedKey& key) {
    return circuit.parts[key.part].kind;
  };
  SizedKey all = first;
  for (const SizedKey& key : keys) {
    if (kind_of(key) != kind_of(first) || key.key != first.key)
      complaints.push_back(fmt::format(
          "--same is for one key of parts of one kind: '{}' is of a {}, '{}' of a {}",
          name_of(circuit, first), kind(kind_of(first)).name, name_of(circuit, key),
          kind(kind_of(key)).name));
    all.least = std::max(all.least, key.least);
    all.most = std::min(all.most, key.most);
  }
  if (complaints.empty() && !(all.least < all.most))
    complaints.push_back(
        fmt::format("no value may be had by all of them: each lies around its present "
                    "value; give --least and --most"));
  for (SizedKey& key : keys) {
    key.least = all.least;
    key.most = all.most;
  }
}

/// Sets what is wished of copies; complains of what goes without them, or cannot be
/// counted in them.
void take_yield(const Circuit& circuit, const SizeOptions& options,
                SizeRequest& request, std::vector<std::string>& complaints) {
  if (!options.yield) {
    if (options.copies >= 0) complaints.emplace_back("--copies goes with --yield");
    if (options.seed >= 0) complaints.emplace_back("--seed goes with --yield");
    return;
  }
  request.yield = YieldWish{};
  if (options.copies >= 0)
    request.yield->copies = static_cast<std::size_t>(options.copies);
  if (options.seed >= 0) request.yield->seed = static_cast<std::uint64_t>(options.seed);
  if (request.goal.measure == Goal::Measure::crossing)
    complaints.emplace_back(
        "--yield counts copies at rest; a goal with 'reaches' is one of a run");
  if (request.goal.measure == Goal::Measure::time_constant)
    complaints.emplace_back("--yield: a time constant is not measured in copies");
  for (const SizedKey& key : request.keys) {
    if (!key.series)
      complaints.push_back(fmt::format(
          "--yield picks among standard values: name a series for '{}' with --series",
          name_of(circuit, key)));
    const auto given = std::find_if(
        circuit.spreadings.begin(), circuit.spreadings.end(), [&](const Spreading& s) {
          return s.part == key.part && s.key == key.key && !s.is_share;
        });
    if (given != circuit.spreadings.end())
      complaints.push_back(fmt::format(
          "[tolerances] has '{}' between two values, which would stay where another "
          "value is chosen; for --yield write how far it is off as a share, like "
          "\"5%\"",
          name_of(circuit, key)));
  }
}

SizeRequest make_request(const Circuit& circuit, const SizeOptions& options,
                         const SeriesChoice& series,
                         std::vector<std::string>& complaints) {
  SizeRequest request;
  request.is_same = options.same;
  const bool is_pair = options.parts.size() > 1 && !options.same;
  take_goal(circuit, options, request, complaints);
  const bool is_in_run = request.goal.measure == Goal::Measure::crossing;
  for (const std::string& part : options.parts) {
    auto read = read_sized_key(circuit, part);
    if (const auto* wrong = std::get_if<std::string>(&read)) {
      complaints.push_back(*wrong);
      continue;
    }
    auto& key = std::get<SizedKey>(read);
    if (is_pair && !usual_series(circuit, key))
      complaints.push_back(
          fmt::format("two values at once are taken from series, and '{}' is sold in "
                      "none; choose it alone",
                      part));
    bound_key(circuit, options, part, is_in_run, key, complaints);
    if (!series.is_any_value)
      key.series = series.series ? series.series : usual_series(circuit, key);
    request.keys.push_back(std::move(key));
  }
  check_twice(circuit, request.keys, complaints);
  if (options.same && options.parts.size() < 2)
    complaints.emplace_back(
        "--same gives several parts one value; name them: --part A,B");
  else if (options.same && !request.keys.empty())
    make_same(circuit, request.keys, complaints);
  take_yield(circuit, options, request, complaints);
  keep_first_of_each(complaints);
  if (!complaints.empty()) return request;
  request.series = request.keys.front().series;
  if (is_pair && !request.series)
    complaints.emplace_back(
        "two values at once are taken from a series; name one with --series");
  return request;
}

/// Lets a goal of which copies are counted have a band: its own, else what the
/// description expects. Complains where neither is there.
void take_band(const Circuit& circuit, SizeRequest& request,
               std::vector<std::string>& complaints) {
  Goal& goal = request.goal;
  if (!request.yield || goal.relation != Goal::Relation::equal || goal.band) return;
  goal.band = expected_band(circuit, goal, circuit.states[request.state].name);
  if (goal.band) return;
  complaints.emplace_back(
      "--yield asks how many copies come near enough, and neither the goal nor an "
      "expectation of the description says what is near enough: write it behind the "
      "value, as in \"= 4 mA within 10%\", or ask for <= or >=");
}

/// The parts whose value moves while a state is looked for.
std::string subjects(const SizeOptions& options) {
  const auto moved = options.parts.begin() + (options.same ? options.parts.size() : 1);
  return fmt::format("'{}'", fmt::join(options.parts.begin(), moved, "', '"));
}

/// The state that the goal is looked at in; complains where there is none.
void choose_state(const Circuit& circuit, const SizeOptions& options,
                  const Solve& witness, SizeRequest& request,
                  std::vector<std::string>& complaints) {
  const auto check_says = [&](const State& state, std::string_view about) {
    for (const SizedKey& key : request.keys)
      if (says(state, {key}))
        complaints.push_back(fmt::format(
            "state '{}'{} itself says what '{}.{}' is, so that it cannot be "
            "chosen for it; take another {}",
            state.name, about, circuit.parts[key.part].name, key.key,
            about.empty() ? "state" : "run"));
  };
  if (request.goal.measure == Goal::Measure::crossing) {
    std::set<int> entered;
    const Run& run = circuit.runs[request.goal.subject.run];
    for (const RunStep& step : run.steps)
      if (step.state >= 0 && entered.insert(step.state).second)
        check_says(circuit.states[step.state], ", which the run enters,");
    return;
  }
  if (options.state.empty()) {
    request.state = state_that_shows(circuit, request, witness);
    if (request.state < 0)
      complaints.push_back(fmt::format("{} does not depend on {} in any state",
                                       request.goal.figure, subjects(options)));
    return;
  }
  for (std::size_t k = 0; k < circuit.states.size(); ++k)
    if (circuit.states[k].name == options.state) request.state = static_cast<int>(k);
  const State& state = circuit.states[request.state];
  check_says(state, "");
  const auto reach =
      complaints.empty() ? reach_in(circuit, state, request, witness) : std::nullopt;
  if (complaints.empty() && !(reach && reach->moves()))
    complaints.push_back(fmt::format("{} does not depend on {} in state '{}'",
                                     request.goal.figure, subjects(options),
                                     options.state));
}

/// Another state in which a goal is within reach that is not within it in the state
/// asked for; -1 for none.
int reached_elsewhere(const Circuit& circuit, const SizeRequest& request,
                      const Sizing& sizing, const Solve& witness) {
  const bool is_out = advise(request, sizing).outcome == SizeOutcome::out_of_reach;
  if (request.state < 0 || !is_out) return -1;
  const int other = state_that_shows(circuit, request, witness);
  if (other < 0 || other == request.state) return -1;
  const auto reach = reach_in(circuit, circuit.states[other], request, witness);
  return reach && reach->has(request.goal.want) ? other : -1;
}

/// Where the values stand in the description, with what is to stand there. Complains
/// where one does not stand there.
std::vector<Replacement> replacements_for(const Circuit& circuit,
                                          const SizeRequest& request,
                                          const SizeChoice& best,
                                          std::vector<std::string>& complaints) {
  std::vector<Replacement> replacements;
  for (std::size_t k = 0; k < request.keys.size(); ++k) {
    const SizedKey& key = request.keys[k];
    const Part& part = circuit.parts[key.part];
    const auto setting = part.settings.find(key.key);
    if (setting == part.settings.end()) {
      complaints.push_back(
          fmt::format("'{}.{}' does not stand in the description; write it there",
                      part.name, key.key));
      return {};
    }
    if (setting->second.span.file != 0) {
      const std::size_t slash = part.name.find('/');
      complaints.push_back(
          fmt::format("'{}.{}' stands in a block, which others may use; write it where "
                      "the block is "
                      "used, at '{}': \"{}.{}\" = \"...\"",
                      part.name, key.key, part.name.substr(0, slash),
                      part.name.substr(slash + 1), key.key));
      return {};
    }
    replacements.push_back({setting->second.span, best.values[k], key.unit, "", ""});
  }
  return replacements;
}

/// Whether a text is a description in which the keys have the values chosen.
bool has_values(const std::string& text, const FileReport& file,
                const Catalogue& built_in, const SizeRequest& request,
                const SizeChoice& best) {
  if (text.empty()) return false;
  const ReadResult again =
      read_circuit(text, file.file, file.catalogue ? *file.catalogue : built_in,
                   {.files = file.block_files});
  if (!again.circuit) return false;
  for (std::size_t k = 0; k < request.keys.size(); ++k) {
    constexpr double kClose = 1e-9;
    const auto value =
        figure(again.circuit->parts[request.keys[k].part], request.keys[k].key);
    if (!value ||
        !(std::abs(value->value - best.values[k]) <= kClose * std::abs(best.values[k])))
      return false;
  }
  return true;
}

/// Puts the recommended values into the description. Puts failures into
/// `complaints`.
std::vector<Written> write_values(const FileReport& file, const SizeOptions& options,
                                  const SizeRequest& request, const SizeChoice& best,
                                  const Catalogue& built_in,
                                  std::vector<std::string>& complaints) {
  std::vector<Replacement> replacements =
      replacements_for(*file.circuit, request, best, complaints);
  if (replacements.empty()) return {};
  const std::string text = replaced(file.source, replacements);
  if (!has_values(text, file, built_in, request, best)) {
    complaints.emplace_back("the value does not stand where it could be replaced");
    return {};
  }
  const std::string failure = rewrite_file(options.file, file.source, text);
  if (!failure.empty()) {
    complaints.push_back("not written: " + failure);
    return {};
  }
  std::vector<Written> written;
  written.reserve(replacements.size());
  for (const Replacement& r : replacements)
    written.push_back({r.span.begin.line, r.span.begin.column, r.from, r.to});
  return written;
}

/// Whether a fault is what it was: nothing that is chosen moves it.
bool stays_as_it_was(const Finding& fault, const std::vector<Finding>& before) {
  constexpr double kMoved = 0.01;  // Common practice, no source.
  return std::any_of(before.begin(), before.end(), [&fault](const Finding& other) {
    if (other.check != fault.check || other.part != fault.part ||
        other.net != fault.net)
      return false;
    if (!other.value || !fault.value) return other.message == fault.message;
    return std::abs(*fault.value - *other.value) <= kMoved * std::abs(*other.value);
  });
}

/// Of the faults that a choice leaves, those that have to do with what is chosen. The
/// others are there with the present values too, and are no reason to keep these.
std::vector<Finding> own_faults(const Circuit& circuit, const SizeChoice& best,
                                const Witnesses& by) {
  if (best.faults.empty()) return {};
  std::vector<Finding> before;
  const Verification present =
      verify(circuit, by.engine, by.nodal, {}, Supplies::as_described);
  for (const StateResult& state : present.states)
    before.insert(before.end(), state.findings.begin(), state.findings.end());
  std::vector<Finding> own = best.faults;
  std::erase_if(
      own, [&before](const Finding& fault) { return stays_as_it_was(fault, before); });
  return own;
}

void tell_complaints(const FileReport& file,
                     const std::vector<std::string>& complaints) {
  for (const std::string& complaint : complaints)
    write_error(wrapped(
        fmt::format("benchproof: {}: {}", printable(file.file), printable(complaint)),
        0, 2));
}

int status_of(const Sizing& sizing) {
  Verdict worst = Verdict::good;
  for (const SizeChoice& c : sizing.candidates)
    if (!c.agrees) worst = std::max(worst, c.verdict);
  if (worst > Verdict::fault) return exit_status(worst);
  if (sizing.recommended < 0) return kExitFault;
  return exit_status(sizing.candidates[sizing.recommended].verdict);
}

/// Complains where --write could not put the value where it was read.
void check_write(const SizeOptions& options, std::vector<std::string>& complaints) {
  if (!options.write) return;
  if (options.file == "-") complaints.emplace_back("--write needs a file");
  if (!options.version.variant.empty() || !options.version.changes.empty())
    complaints.emplace_back(
        "--write goes with the description as it stands, without --set and --variant");
}

/// Writes which value meets a goal, and with `write` puts it into the description.
/// Returns the exit status: 1 where no value meets it without a fault.
int run_size(const SizeOptions& options) {
  const Wishes asked = asked_version(options.version);
  const SeriesChoice series = parse_series(options.series);
  if (options.parts.size() > 2 && !options.same)
    throw UsageError("--part",
                     "at most two values can be chosen at once; --same gives several "
                     "parts one value");
  EngineSession session(engine_options(options.allow_unsealed));
  session.start();  // It gets ready while we read.
  const Catalogue catalogue = built_in_catalogue();
  std::vector<std::string> states;
  if (!options.state.empty()) states.push_back(options.state);
  const FileReport file = read_description(options.file, catalogue, asked, states);
  if (!file.circuit) return refuse(file, options.json);

  std::vector<std::string> complaints;
  check_write(options, complaints);
  SizeRequest request = make_request(*file.circuit, options, series, complaints);
  NodalWitness solvers;
  const Witnesses by = make_witnesses(session, solvers);
  if (complaints.empty())
    choose_state(*file.circuit, options, by.nodal, request, complaints);
  if (complaints.empty()) take_band(*file.circuit, request, complaints);
  if (!complaints.empty()) {
    tell_complaints(file, complaints);
    return kExitRefused;
  }

  StillSolving progress;
  SizeReport report{file, request, options.state.empty(), -1, {}, {}};
  report.sizing = find_size(*file.circuit, request, by);
  report.reached_in =
      reached_elsewhere(*file.circuit, request, report.sizing, by.nodal);
  std::vector<Finding> own;
  if (options.write && !options.with_faults && report.sizing.recommended >= 0)
    own = own_faults(*file.circuit, report.sizing.candidates[report.sizing.recommended],
                     by);
  session.finish();  // It ends while we write.
  progress.end();
  write_error(seal_text(session));
  if (options.write && report.sizing.recommended >= 0) {
    const SizeChoice& best = report.sizing.candidates[report.sizing.recommended];
    if (own.empty())
      report.written =
          write_values(file, options, request, best, catalogue, complaints);
    else
      complaints.push_back(fmt::format(
          "not written: with it {} would stay ({}); --with-faults writes it "
          "all the same",
          own.size() == 1 ? "a fault" : fmt::format("{} faults", own.size()),
          own.front().message));
  }
  const std::string text = options.json
                               ? size_json(report) + "\n"
                               : size_text(report, wants_colour()) + safety_text();
  const bool is_written = write_result(text);
  tell_complaints(file, complaints);
  const int status = status_of(report.sizing);
  return is_written && complaints.empty() ? status : std::max(status, kExitRefused);
}

}  // namespace

Command size_command() {
  const auto given = std::make_shared<SizeOptions>();
  Options options;
  add_description(options, given->file);
  options
      .repeated("--part", "PART", "whose value, or PART.KEY; two for a pair: A,B",
                given->parts)
      .names(Meaning::part_or_key)
      .separated(',')
      .is_required = true;
  options.flag("--same", "one value for all of these parts", given->same);
  options
      .text("--want", "GOAL", "as \"quay current = 8 mA within 10%\"; <= and >= too",
            given->want)
      .is_required = true;
  options
      .text("--state", "NAME", "in this state; else the first in which it decides",
            given->state)
      .names(Meaning::state);
  options.text("--run", "NAME", "the run of a goal with 'reaches'", given->run)
      .names(Meaning::run);
  options.text("--series", "NAME", "E3 to E192 or any; else E24, or E12 (C, L)",
               given->series);
  options.text("--least", "VALUE", "no smaller value", given->least);
  options.text("--most", "VALUE", "no larger value", given->most);
  options.flag("--yield", "the value with which the most copies work", given->yield);
  options.number("--copies", "N", "how many copies --yield makes", given->copies, 1,
                 kMostCopies);
  options.number("--seed", "N", "which series of copies", given->seed, 0,
                 2'147'483'647);
  options.flag("--write", "put the value into the description", given->write);
  options.flag("--with-faults", "write it though it leaves faults", given->with_faults);
  options.flag("--json", "as JSON", given->json);
  add_version_choice(options, given->version);
  add_unsealed(options, given->allow_unsealed);
  return {"size", "which standard value gives what is wanted", std::move(options),
          [given] { return run_size(*given); }};
}

}  // namespace benchproof
