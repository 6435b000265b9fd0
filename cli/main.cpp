#include <fmt/format.h>
#include <fmt/ranges.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <exception>
#include <optional>
#include <sstream>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "cli/commands/compare.h"
#include "cli/commands/deck.h"
#include "cli/commands/explain.h"
#include "cli/commands/output.h"
#include "cli/commands/parts.h"
#include "cli/commands/range.h"
#include "cli/commands/reading.h"
#include "cli/commands/regress.h"
#include "cli/commands/shopping.h"
#include "cli/commands/size.h"
#include "cli/commands/verify.h"
#include "cli/commands/wave.h"
#include "cli/render/layout.h"
#include "core/base/complaints.h"
#include "core/base/diagnostic.h"
#include "core/base/quantity.h"

namespace {

using namespace benchproof;

/// A text of several lines made safe to print, and fitting where a person reads it.
std::string printable_lines(const std::string& text) {
  std::istringstream lines(text);
  std::string result;
  for (std::string line; std::getline(lines, line);) {
    line = printable(line);
    result += wraps_errors() ? wrapped(line, 0, 2) : line + "\n";
  }
  return result;
}

/// What is asked for beside the description; throws what CLI11 tells as a mistake on
/// the command line.
Asked asked_for(const std::string& variant, const std::vector<std::string>& changes) {
  auto asked = parse_asked(variant, changes);
  if (const auto* problem = std::get_if<std::string>(&asked))
    throw CLI::ValidationError("--set", *problem);
  return std::get<Asked>(std::move(asked));
}

/// One column of `compare` for each list of changes.
std::vector<Asked> lists_for(const std::vector<std::string>& texts) {
  std::vector<Asked> lists;
  for (const std::string& text : texts) {
    auto list = parse_list(text);
    if (const auto* problem = std::get_if<std::string>(&list))
      throw CLI::ValidationError("--set", *problem);
    lists.push_back(std::get<Asked>(std::move(list)));
  }
  return lists;
}

/// Only versions of one file are asked for by name or value.
void check_compared(const CompareOptions& options) {
  const bool is_choice = !options.variants.empty() || !options.lists.empty();
  if (options.files.size() > 1 && is_choice)
    throw CLI::ValidationError("FILE", "several files are compared as they stand");
}

/// An option that may be given several times. Left alone, the library takes a value in
/// square brackets for a list.
CLI::Option* repeated(CLI::Option* option) {
  return option->expected(1)->take_all()->allow_extra_args(false);
}

// Options that several commands have.

void add_description(CLI::App& command, std::string& file) {
  command.add_option("FILE", file, "a description; - is standard input")
      ->type_name("")
      ->required();
}

/// Returns the option that names a variant.
CLI::Option* add_asked(CLI::App& command, std::string& variant,
                       std::vector<std::string>& changes) {
  repeated(command.add_option("--set", changes, "change a value; may be repeated")
               ->type_name("TARGET=VALUE"));
  return command.add_option("--variant", variant, "this variant of the description")
      ->type_name("NAME");
}

void add_unsealed(CLI::App& command, bool& allow) {
  command.add_flag("--allow-unsealed", allow,
                   "go on where the engine's worker cannot be sealed");
}

/// A time above 0, or nothing where none was given.
std::optional<double> parse_every(const std::string& text) {
  if (text.empty()) return std::nullopt;
  const auto parsed = parse_quantity(text, Unit::second);
  const double* seconds = std::get_if<double>(&parsed);
  if (seconds == nullptr || !(*seconds > 0.0))
    throw CLI::ValidationError("--every", "'" + text + "' is not a time, as in '10us'");
  return *seconds;
}

/// A share above 0 and at most 1, or nothing where none was given.
std::optional<double> parse_share(const std::string& option, const std::string& text) {
  if (text.empty()) return std::nullopt;
  const auto parsed = parse_quantity(text, Unit::fraction);
  const double* share = std::get_if<double>(&parsed);
  if (share == nullptr || !(*share > 0.0 && *share <= 1.0))
    throw CLI::ValidationError(
        option, "'" + text + "' is not a share up to 100 %, as in '60%'");
  return *share;
}

void take_series(const std::string& text, SizeOptions& options) {
  if (text.empty()) return;
  options.is_free = text == "any";
  options.series = find_series(text);
  if (!options.is_free && !options.series)
    throw CLI::ValidationError(
        "--series", "'" + text + "' is none of E3, E6, E12, E24, E48, E96, E192, any");
}

/// "2/4": the second of four.
Shard parse_shard(const std::string& text) {
  Shard shard;
  char slash = '\0';
  std::istringstream stream(text);
  stream >> shard.part >> slash >> shard.of;
  if (!stream || slash != '/' || !stream.eof() || shard.part < 1 ||
      shard.part > shard.of || shard.of > kMostShards)
    throw CLI::ValidationError("--shard", "'" + text + "' is not K/N, as in 2/4");
  return shard;
}

void add_regress(CLI::App& command, RegressOptions& options, std::string& shard) {
  command.add_option("DIR", options.paths, "folders and descriptions")->type_name("");
  repeated(command
               .add_option("--filter", options.filters,
                           "only names that hold this, or are like 'led*'")
               ->type_name("PATTERN"));
  command.add_option("--jobs", options.jobs, "so many at a time; else one a processor")
      ->type_name("COUNT")
      ->check(CLI::Range(1, 64));
  command
      .add_option("--changed-since", options.changed_since,
                  "what changed since a time or a file; 'last':\n"
                  "what did not pass before as it is now")
      ->type_name("WHEN");
  CLI::Option* part =
      command.add_option("--shard", shard, "the Kth of N parts of the library")
          ->type_name("K/N");
  command
      .add_option("--merge", options.merged, "put the JSON reports of shards together")
      ->type_name("FILE...")
      ->excludes(part);
  command.add_flag("--record", options.record,
                   "write the results beside the circuits that pass");
  command.add_option("--junit", options.junit, "write JUnit XML as well")
      ->type_name("FILE");
  CLI::Option* tap = command.add_flag("--tap", options.tap, "as TAP 14");
  command.add_flag("--json", options.json, "as JSON")->excludes(tap);
  command.add_flag("--all", options.all, "every circuit, and everything that moved");
  add_unsealed(command, options.allow_unsealed);
}

void check_regress(const RegressOptions& options) {
  if (options.merged.empty() && options.paths.empty()) throw CLI::RequiredError("DIR");
  if (!options.merged.empty() && (!options.paths.empty() || options.record))
    throw CLI::ValidationError("--merge", "solves nothing: no DIR, no --record");
  if (std::count(options.paths.begin(), options.paths.end(), "-") > 0)
    throw CLI::ValidationError("DIR", "standard input has no place for results");
}

void check_files(const std::vector<std::string>& files) {
  if (std::count(files.begin(), files.end(), "-") > 1)
    throw CLI::ValidationError("FILE", "standard input can be read only once");
}

/// An explanation needs no file; beside one it is text only.
void check_explain(const std::optional<std::string>& explained,
                   const VerifyOptions& options) {
  if (!explained && options.files.empty()) throw CLI::RequiredError("FILE");
  if (explained && !options.files.empty() && options.json)
    throw CLI::ValidationError("--explain", "takes no FILE together with --json");
}

/// Proves the files, if there are any, and then explains an id, if one is asked for.
int run_verify_and_explain(const VerifyOptions& options,
                           const std::optional<std::string>& explained) {
  if (!explained) return run_verify(options);
  if (options.files.empty()) return run_explain(*explained, options.json);
  const int status = run_verify(options);
  if (!write_result("\n")) return std::max(status, kExitRefused);
  return std::max(status, run_explain(*explained, false));
}

/// What is wrong where no command is given, or none of that name; empty where one is.
std::string command_complaint(const CLI::App& app, int count, char** arguments) {
  if (!app.get_subcommands().empty()) return {};
  std::vector<std::string> names;
  for (const CLI::App* command :
       app.get_subcommands([](const CLI::App*) { return true; }))
    names.push_back(command->get_name());
  if (count < 2)
    return fmt::format("no command is given\ncommands: {}\n", fmt::join(names, ", "));
  const std::string_view given = arguments[1];
  if (given.starts_with('-')) return {};
  std::string text = fmt::format("there is no command {}\n{}\n", quoted(given),
                                 names_hint(nearest(given, names), names, "commands"));
  if (given.ends_with(".toml"))
    text += fmt::format("a description is proved with: benchproof verify {}\n", given);
  return text;
}

int run(int count, char** arguments) {
  CLI::App app{"Proves small DC circuits: two independent solvers must agree.",
               "benchproof"};
  app.set_version_flag("--version", "benchproof " BENCHPROOF_VERSION);
  app.require_subcommand(1);
  app.footer(
      "Exit status: 0 good, cautions included; 1 a check failed; 2 a description or\n"
      "the command line is wrong; 3 a solver has no answer; 4 the solvers disagree.\n"
      "Of several files the highest counts.");

  VerifyOptions verify_options;
  std::string variant;
  std::vector<std::string> changes;
  CLI::App* verify =
      app.add_subcommand("verify", "prove a circuit: ratings, expectations, verdict");
  verify->add_option("FILE", verify_options.files, "descriptions; - is standard input")
      ->type_name("");
  std::optional<std::string> explained;
  verify
      ->add_option("--explain", explained,
                   "what an id of a finding means; 'list': all ids")
      ->type_name("ID");
  verify->add_flag("--json", verify_options.json, "as JSON; several files make a list");
  repeated(verify
               ->add_option("--state", verify_options.states,
                            "only this state; may be repeated")
               ->type_name("NAME"));
  repeated(
      verify->add_option("--run", verify_options.runs, "only this run; may be repeated")
          ->type_name("NAME"));
  add_asked(*verify, variant, changes)
      ->excludes(verify->add_flag("--all-variants", verify_options.all_variants,
                                  "each variant too, after the plain description"));
  verify->add_flag("--by-hand", verify_options.by_hand, "show the hand rules in full");
  add_unsealed(*verify, verify_options.allow_unsealed);

  DeckCommandOptions deck_options;
  CLI::App* deck = app.add_subcommand("deck", "show the deck that the engine is sent");
  add_description(*deck, deck_options.file);
  deck->add_option("--state", deck_options.state,
                   "this state; the first one at rest if not given")
      ->type_name("NAME");
  add_asked(*deck, variant, changes);
  deck->add_flag("--plain", deck_options.plain, "without explanations");

  WaveOptions wave_options;
  std::string every;
  CLI::App* wave = app.add_subcommand("wave", "show the waveforms of a run");
  add_description(*wave, wave_options.file);
  wave->add_option("--run", wave_options.run,
                   "this run; needed where there are several")
      ->type_name("NAME");
  repeated(wave->add_option("--nets", wave_options.nets,
                            "these nets' voltages, comma between")
               ->type_name("NAMES")
               ->delimiter(','));
  repeated(wave->add_option("--parts", wave_options.parts,
                            "currents into parts or pins, comma between")
               ->type_name("NAMES")
               ->delimiter(','));
  wave->add_option("--witness", wave_options.witness, "engine, nodal or both")
      ->type_name("NAME")
      ->check(CLI::IsMember({"engine", "nodal", "both"}));
  wave->add_option("--every", every, "rows at multiples of this time, as 10us")
      ->type_name("TIME");
  CLI::Option* csv = wave->add_flag("--csv", wave_options.csv, "as CSV (RFC 4180)");
  wave->add_flag("--json", wave_options.json, "as JSON")->excludes(csv);
  add_asked(*wave, variant, changes);
  add_unsealed(*wave, wave_options.allow_unsealed);

  ShoppingOptions shopping_options;
  std::string power_share;
  std::string voltage_share;
  CLI::App* shopping =
      app.add_subcommand("shopping", "what to buy, with the least ratings that do");
  add_description(*shopping, shopping_options.file);
  shopping
      ->add_option("--derate", power_share, "of a resistor's power, to use; else 60%")
      ->type_name("SHARE");
  shopping
      ->add_option("--derate-voltage", voltage_share,
                   "of a capacitor's voltage, to use; else 80%")
      ->type_name("SHARE");
  add_asked(*shopping, variant, changes);
  CLI::Option* shopping_csv =
      shopping->add_flag("--csv", shopping_options.csv, "as CSV (RFC 4180)");
  shopping->add_flag("--json", shopping_options.json, "as JSON")
      ->excludes(shopping_csv);
  add_unsealed(*shopping, shopping_options.allow_unsealed);

  SizeOptions size_options;
  std::string series;
  CLI::App* size =
      app.add_subcommand("size", "which standard value gives what is wanted");
  add_description(*size, size_options.file);
  repeated(size->add_option("--part", size_options.parts,
                            "whose value, or PART.KEY; twice for a pair")
               ->type_name("PART")
               ->required());
  size->add_option("--want", size_options.want,
                   "as \"quay current = 8 mA\"; <= and >= too")
      ->type_name("GOAL")
      ->required();
  size->add_option("--state", size_options.state,
                   "in this state; else the first in which it matters")
      ->type_name("NAME");
  size->add_option("--run", size_options.run, "the run of a goal with 'reaches'")
      ->type_name("NAME");
  size->add_option("--series", series, "E3 to E192 or any; else E24, or E12 (C, L)")
      ->type_name("NAME");
  size->add_option("--least", size_options.least, "no smaller value")
      ->type_name("VALUE");
  size->add_option("--most", size_options.most, "no larger value")->type_name("VALUE");
  size->add_flag("--write", size_options.write, "put the value into the description");
  size->add_flag("--json", size_options.json, "as JSON");
  add_asked(*size, variant, changes);
  add_unsealed(*size, size_options.allow_unsealed);

  PartsOptions parts_options;
  CLI::App* parts = app.add_subcommand("parts", "show the catalogue: kinds, types");
  parts
      ->add_option("WHAT", parts_options.words,
                   "a kind, a type or words; else all kinds")
      ->type_name("");
  parts->add_option("--catalogue", parts_options.file, "with the types of this file")
      ->type_name("FILE");
  CLI::Option* parts_csv =
      parts->add_flag("--csv", parts_options.csv, "as CSV (RFC 4180)");
  parts->add_flag("--json", parts_options.json, "as JSON")->excludes(parts_csv);

  RangeOptions range_options;
  CLI::App* range =
      app.add_subcommand("range", "over which supply voltages all checks pass");
  add_description(*range, range_options.file);
  range
      ->add_option("--over", range_options.over,
                   "the voltage to move, where there are several")
      ->type_name("PART.voltage");
  repeated(range
               ->add_option("--state", range_options.states,
                            "only this state; may be repeated")
               ->type_name("NAME"));
  range->add_flag("--with-expectations", range_options.rules.expectations,
                  "expectations that do not hold end the range too");
  range->add_flag("--cautious", range_options.rules.cautions,
                  "cautions end the range too");
  range->add_flag("--json", range_options.json, "as JSON");
  add_asked(*range, variant, changes);
  add_unsealed(*range, range_options.allow_unsealed);

  CompareOptions compare_options;
  std::vector<std::string> lists;
  CLI::App* compare =
      app.add_subcommand("compare", "what changes from one version to another");
  compare
      ->add_option("FILE", compare_options.files,
                   "one description, or several with the same nets")
      ->type_name("")
      ->required();
  repeated(compare
               ->add_option("--variant", compare_options.variants,
                            "beside the description; may be repeated; else all")
               ->type_name("NAME"));
  repeated(compare
               ->add_option("--set", lists,
                            "with these changes, comma between; may be repeated")
               ->type_name("TARGET=VALUE,..."));
  repeated(compare
               ->add_option("--state", compare_options.states,
                            "only this state; may be repeated")
               ->type_name("NAME"));
  compare->add_flag("--all", compare_options.all, "what hardly changes as well");
  compare->add_flag("--json", compare_options.json, "as JSON");
  add_unsealed(*compare, compare_options.allow_unsealed);

  RegressOptions regress_options;
  std::string shard;
  CLI::App* regress =
      app.add_subcommand("regress", "prove a library of circuits, against records");
  add_regress(*regress, regress_options, shard);

  try {
    app.parse(count, arguments);
    if (!shard.empty()) regress_options.shard = parse_shard(shard);
    if (regress->parsed()) check_regress(regress_options);
    const Asked asked = asked_for(variant, changes);
    verify_options.asked = asked;
    wave_options.asked = asked;
    wave_options.every = parse_every(every);
    deck_options.asked = asked;
    shopping_options.asked = asked;
    shopping_options.derating = {parse_share("--derate", power_share),
                                 parse_share("--derate-voltage", voltage_share)};
    range_options.asked = asked;
    compare_options.lists = lists_for(lists);
    size_options.asked = asked;
    take_series(series, size_options);
    if (size_options.parts.size() > 2)
      throw CLI::ValidationError("--part", "at most two values can be chosen at once");
    check_files(verify_options.files);
    check_files(compare_options.files);
    check_compared(compare_options);
    if (verify->parsed()) check_explain(explained, verify_options);
  } catch (const CLI::ParseError& error) {
    std::ostringstream output;
    std::ostringstream complaint;
    const int status = app.exit(error, output, complaint);
    if (const std::string told = command_complaint(app, count, arguments);
        status != 0 && !told.empty())
      complaint.str(told + "Run with --help for more information.\n");
    if (status != 0) write_error(printable_lines("benchproof: " + complaint.str()));
    const bool is_written = write_result(output.str());
    return status == 0 && is_written ? kExitGood : kExitRefused;
  }
  if (regress->parsed()) return run_regress(regress_options);
  if (parts->parsed()) return run_parts(parts_options);
  if (wave->parsed()) return run_wave(wave_options);
  if (shopping->parsed()) return run_shopping(shopping_options);
  if (range->parsed()) return run_range(range_options);
  if (compare->parsed()) return run_compare(compare_options);
  if (size->parsed()) return run_size(size_options);
  return verify->parsed() ? run_verify_and_explain(verify_options, explained)
                          : run_deck(deck_options);
}

}  // namespace

int main(int count, char** arguments) {
  prepare_streams();
  try {
    return run(count, arguments);
  } catch (const std::exception& error) {
    write_error("benchproof: " + told(error) + "\n");
    return kExitNoAnswer;
  }
}
