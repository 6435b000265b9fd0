#include "cli/render/schema.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <string_view>
#include <vector>

#include "core/base/complaints.h"
#include "core/base/quantity_pattern.h"
#include "core/catalogue/kind.h"
#include "core/circuit/board.h"
#include "core/circuit/read/reader.h"
#include "core/shape/shape.h"

namespace benchproof {
namespace {

using Json = nlohmann::ordered_json;
using Texts = std::vector<std::string>;

const Limits kLimits;

// --- words of JSON Schema -----------------------------------------------------------

Json text_schema(std::string_view about) {
  return {
      {"type", "string"}, {"maxLength", kLimits.text_length}, {"description", about}};
}

/// The name of the definition that says how a unit is written: "thermal-resistance".
std::string definition_name(Unit unit) {
  std::string name(quantity_name(unit));
  name.erase(0, name.find(' ') + 1);  // "a", "an"
  std::replace(name.begin(), name.end(), ' ', '-');
  return name;
}

Json reference_to(std::string_view definition) {
  return {{"$ref", fmt::format("#/definitions/{}", definition)}};
}

Json quantity_of(Unit unit, std::string_view about) {
  return {{"description", about},
          {"allOf", Json::array({reference_to(definition_name(unit))})}};
}

Json words_schema(const Texts& words, std::string_view about) {
  return {{"enum", words}, {"description", about}};
}

/// A table with these keys and no others.
Json table_schema(Json keys, const Texts& required) {
  Json table = {{"type", "object"}, {"properties", std::move(keys)}};
  if (!required.empty()) table["required"] = required;
  table["additionalProperties"] = false;
  return table;
}

/// That at least one of the keys is there.
Json any_there(const Texts& keys) {
  Json ways = Json::array();
  for (const std::string& key : keys) ways.push_back({{"required", Texts{key}}});
  return {{"anyOf", ways}};
}

/// That exactly one of the keys is there.
Json one_there(const Texts& keys) { return {{"oneOf", any_there(keys)["anyOf"]}}; }

/// That two keys do not stand side by side.
Json not_both(const std::string& a, const std::string& b) {
  return {{"not", {{"required", Texts{a, b}}}}};
}

/// A file in the description's folder or below.
Json file_beside(std::string_view about) {
  Json file = text_schema(about);
  file["pattern"] = "^(?!/)(?!(.*/)?\\.\\.(/|$)).*[^/]$";
  return file;
}

/// Names of parts, nets and the like.
std::string name_pattern() {
  return fmt::format("[A-Za-z][A-Za-z0-9_-]{{0,{}}}", kLimits.name_length - 1);
}

Json names_but(const Texts& reserved) {
  return {{"pattern", "^" + name_pattern() + "$"}, {"not", {{"enum", reserved}}}};
}

const Texts kReserved = {"open", "unpowered", "initial"};
const Texts kPinless = {"open", "unpowered", "initial", "ground"};

// --- parts --------------------------------------------------------------------------

Json legs_schema() {
  constexpr int kMostLegs = 64;
  return {{"type", "object"},
          {"description", "which lead is which pin: { vdd = 1, vss = 8 }"},
          {"additionalProperties",
           {{"type", "integer"}, {"minimum", 1}, {"maximum", kMostLegs}}}};
}

/// Puts the bounds of a plain number in.
template <typename Rule>  // A Key or a ModelParameter.
void put_range(Json& number, const Rule& rule) {
  number[rule.least_allowed ? "minimum" : "exclusiveMinimum"] = rule.least;
  number["maximum"] = rule.most;
}

Json model_of(KindId kind, std::string_view about) {
  Json keys = Json::object();
  for (const ModelParameter& parameter : model_parameters(kind)) {
    Json number = {{"type", "number"}, {"description", parameter.about}};
    put_range(number, parameter);
    keys[std::string(parameter.name)] = number;
  }
  Json model = table_schema(keys, {});
  model["description"] = about;
  return model;
}

/// What the catalogue knows for a key; descriptions with types of their own may say
/// something else.
Texts known_words(const Catalogue& catalogue, KindId kind, const Key& key) {
  return key.name == "type" ? catalogue.names(kind) : catalogue.words(kind, key.name);
}

Json key_of(const Catalogue& catalogue, KindId kind, const Key& key) {
  Json schema;
  switch (key.shape) {
    case Shape::quantity:
      return quantity_of(key.unit, key.about);
    case Shape::number:
      schema = {{"type", key.is_whole ? "integer" : "number"},
                {"description", key.about}};
      put_range(schema, key);
      return schema;
    case Shape::flag:
      return {{"type", "boolean"}, {"description", key.about}};
    case Shape::word:
      return words_schema(split_words(key.choices), key.about);
    case Shape::text:
      schema = text_schema(key.about);
      schema["anyOf"] = Json::array(
          {{{"enum", known_words(catalogue, kind, key)}}, {{"type", "string"}}});
      return schema;
    case Shape::names:
      return {{"type", "array"},
              {"description", key.about},
              {"maxItems", kLimits.pins},
              {"uniqueItems", true},
              {"items",
               {{"type", "string"}, {"allOf", Json::array({names_but(kReserved)})}}}};
    case Shape::model:
      return model_of(kind, key.about);
  }
  return schema;
}

/// What the table of kinds does not say of a kind's keys.
Json rules_of(KindId kind) {
  Json rules = Json::array();
  if (kind == KindId::controller)
    rules.push_back(any_there({"outputs", "inputs", "analogue"}));
  if (kind == KindId::dc_supply) {
    const Json unregulated = {{"properties", {{"regulated", {{"const", false}}}}},
                              {"required", Texts{"regulated"}}};
    rules.push_back({{"if", unregulated},
                     {"then", {{"required", Texts{"no_load", "current"}}}},
                     {"else", {{"not", {{"required", Texts{"no_load"}}}}}}});
    rules.push_back({{"properties", {{"isolated", {{"const", true}}}}}});
  }
  return rules;
}

/// Which keys of a kind stand only with others.
Json dependencies_of(const Kind& kind) {
  Json needs = Json::object();
  for (const Key& key : kind.keys) {
    if (!key.only_with.empty())
      needs[std::string(key.name)] = any_there(split_words(key.only_with));
    for (const std::string& mate : split_words(key.needed_with))
      needs[mate] = {{"required", Texts{std::string(key.name)}}};
  }
  return needs;
}

/// A kind's keys, and what may stand behind each.
Json keys_of(const Catalogue& catalogue, const Kind& kind) {
  Json keys = {{"kind", {{"const", kind.name}}},
               {"label", text_schema("for people")},
               {"shape", words_schema(built_in_shapes().names(), "its body and leads")},
               {"legs", legs_schema()}};
  for (const Key& key : kind.keys)
    keys[std::string(key.name)] = key_of(catalogue, kind.id, key);
  return {{"title", kind.name}, {"type", "object"}, {"properties", std::move(keys)}};
}

/// What besides its keys' values a part of that kind is held to.
Json demands_of(const Kind& kind) {
  Texts names = {"kind", "label", "shape", "legs"};
  for (const Key& key : kind.keys) names.emplace_back(key.name);
  Json demands = {{"allOf", Json::array({reference_to(kind.name)})},
                  {"propertyNames", {{"enum", names}}}};
  for (const Json& rule : rules_of(kind.id)) demands["allOf"].push_back(rule);
  if (const Texts required = split_words(kind.required); !required.empty())
    demands["required"] = required;
  if (!kind.one_of.empty()) demands.update(one_there(split_words(kind.one_of)));
  if (Json needs = dependencies_of(kind); !needs.empty())
    demands["dependencies"] = std::move(needs);
  return demands;
}

/// A part that stands for a block: its values go by the names within.
Json use_of_block() {
  return {{"title", "a block"},
          {"type", "object"},
          {"properties", {{"block", text_schema("the name of a block")}}}};
}

/// Editors complete from the ways that a part can be, and tell mistakes best by what
/// each kind demands.
Json part_schema() {
  Texts names;
  Json ways = Json::array();
  Json demands = Json::array({one_there({"kind", "block"})});
  for (const Kind& kind : kinds()) {
    names.emplace_back(kind.name);
    ways.push_back(reference_to(kind.name));
    demands.push_back({{"if",
                        {{"properties", {{"kind", {{"const", kind.name}}}}},
                         {"required", Texts{"kind"}}}},
                       {"then", demands_of(kind)}});
  }
  ways.push_back(use_of_block());
  return {{"type", "object"},
          {"properties", {{"kind", words_schema(names, "what it is")}}},
          {"anyOf", ways},
          {"allOf", demands}};
}

/// That a part's words are the built-in catalogue's.
Json known_part(const Catalogue& catalogue) {
  Json rules = Json::array();
  for (const Kind& kind : kinds()) {
    Json keys = Json::object();
    for (const Key& key : kind.keys)
      if (key.shape == Shape::text)
        keys[std::string(key.name)] = {{"enum", known_words(catalogue, kind.id, key)}};
    if (keys.empty()) continue;
    rules.push_back({{"if",
                      {{"properties", {{"kind", {{"const", kind.name}}}}},
                       {"required", Texts{"kind"}}}},
                     {"then", {{"properties", keys}}}});
  }
  return {{"allOf", rules}};
}

// --- nets, states, variants ---------------------------------------------------------

Json nets_schema() {
  const Json pin = {{"type", "string"},
                    {"pattern", fmt::format("^{0}(/{0})*\\.{0}$", name_pattern())}};
  return {{"type", "object"},
          {"description", "which pins meet; the net ground is the zero"},
          {"propertyNames", names_but({"unpowered", "initial"})},
          {"properties", {{"open", {{"description", "pins left open on purpose"}}}}},
          {"maxProperties", kLimits.nets + 1},
          {"additionalProperties",
           {{"type", "array"}, {"items", pin}, {"uniqueItems", true}}}};
}

/// Where there are lists alone, each net is whole in one.
Json whole_nets() {
  return {{"required", Texts{"ground"}},
          {"properties", {{"open", {{"type", "array"}}}}},
          {"additionalProperties", {{"minItems", 2}}}};
}

Json paths_schema() {
  return {{"type", "object"},
          {"description", "how parts are joined, along the current"},
          {"additionalProperties",
           {{"type", "array"},
            {"minItems", 2},
            {"items", {{"type", "string"}, {"minLength", 1}}}}}};
}

/// What a block and a block's file have.
Json keys_of_block() {
  return {{"pins",
           {{"type", "array"},
            {"description", "the nets of the block that others are joined to"},
            {"minItems", 1},
            {"uniqueItems", true},
            {"items",
             {{"type", "string"}, {"allOf", Json::array({names_but(kPinless)})}}}}},
          {"parts", reference_to("parts")},
          {"nets", reference_to("nets")},
          {"paths", reference_to("paths")},
          {"expect", reference_to("expect")}};
}

Json blocks_schema() {
  Json own = table_schema(keys_of_block(), {"pins", "parts"});
  Json from_file =
      table_schema({{"file", file_beside("a block beside this file")}}, {"file"});
  return {{"type", "object"},
          {"description", "what repeats itself, described once"},
          {"propertyNames", names_but(kReserved)},
          {"additionalProperties",
           {{"if", {{"required", Texts{"file"}}}},
            {"then", std::move(from_file)},
            {"else", std::move(own)}}}};
}

Json pwm_schema() {
  return table_schema(
      {{"pwm", quantity_of(Unit::fraction, "how much of the time it is high")},
       {"frequency", quantity_of(Unit::hertz, "how often")}},
      {"pwm", "frequency"});
}

Json state_schema() {
  // A quoted name with a dot sets one thing, a bare one a switch or several.
  const Json thing = {{"anyOf", Json::array({{{"type", "string"}},
                                             {{"type", "number"}},
                                             {{"type", "boolean"}},
                                             pwm_schema()})}};
  const Json whole = {
      {"anyOf", Json::array({words_schema({"open", "closed"}, "a switch"),
                             {{"type", "object"}, {"additionalProperties", thing}}})}};
  const Json steady = {
      {"description", "false: runs only pass through it"},
      {"anyOf", Json::array({{{"type", "boolean"}}, {{"enum", {"open", "closed"}}}})}};
  return {{"type", "object"},
          {"properties", {{"steady", steady}}},
          {"patternProperties", {{"\\.", thing}, {"^(?!steady$)[^.]*$", whole}}}};
}

Json states_schema() {
  return {{"type", "object"},
          {"description", "what switches and outputs do"},
          {"propertyNames", names_but(kReserved)},
          {"maxProperties", kLimits.states},
          {"additionalProperties", state_schema()}};
}

Json variants_schema() {
  return {
      {"type", "object"},
      {"description", "what else might be built or tried"},
      {"propertyNames", names_but(kReserved)},
      {"maxProperties", kLimits.variants},
      {"additionalProperties",
       {{"type", "object"},
        {"properties", {{"ambient", quantity_of(Unit::celsius, "of all parts")}}}}}};
}

/// How copies may differ: a share, or bounds.
Json tolerances_schema() {
  const Json text = {{"type", "string"}};
  const Json names = {{"type", "array"}, {"items", text}};
  Json bounds =
      table_schema({{"within", text},
                    {"min", text},
                    {"max", text},
                    {"distribution", words_schema({"uniform", "normal"}, "of copies")}},
                   {});
  bounds["oneOf"] = Json::array(
      {{{"required", Texts{"within"}}, {"not", any_there({"min", "max"})}},
       {{"required", Texts{"min", "max"}}, {"not", any_there({"within"})}}});
  return {{"type", "object"},
          {"description", "how far copies may differ"},
          {"properties",
           {{"together",
             {{"description", "parts from one reel"},
              {"type", "array"},
              {"items", {{"anyOf", Json::array({text, names})}}}}}}},
          {"additionalProperties", {{"anyOf", Json::array({text, bounds})}}}};
}

// --- runs, expectations -------------------------------------------------------------

Json step_schema() {
  return table_schema(
      {{"at", quantity_of(Unit::second, "when it begins")},
       {"state", text_schema("the state that is entered, or unpowered")},
       {"rise", quantity_of(Unit::second, "how long supplies move")}},
      {"at", "state"});
}

Json runs_schema() {
  const std::string name =
      fmt::format("^[!-~]([ -~]{{0,{}}}[!-~])?$", kLimits.name_length - 2);
  Json run = table_schema(
      {{"name", {{"type", "string"}, {"pattern", name}}},
       {"from", text_schema("a state at rest, unpowered or initial")},
       {"state", text_schema("the state that is entered")},
       {"steps",
        {{"type", "array"},
         {"items", step_schema()},
         {"minItems", 1},
         {"maxItems", kLimits.steps}}},
       {"rise", quantity_of(Unit::second, "how long supplies move; 1 ms if not told")},
       {"span", quantity_of(Unit::second, "how long is looked at")}},
      {"name", "span"});
  run["allOf"] =
      Json::array({one_there({"state", "steps"}), not_both("rise", "steps")});
  return {{"type", "array"},
          {"description", "what happens in time"},
          {"maxItems", kLimits.runs},
          {"items", run}};
}

/// { nominal, within } or { min, max }.
Json bounds_of(Unit unit, std::string_view about) {
  const Json quantity = quantity_of(unit, about);
  const Json within = {
      {"anyOf", Json::array({reference_to(definition_name(unit)),
                             reference_to(definition_name(Unit::fraction))})}};
  Json bounds = table_schema(
      {{"nominal", quantity}, {"within", within}, {"min", quantity}, {"max", quantity}},
      {});
  Json both = any_there({"min", "max"});
  both["not"] = any_there({"nominal", "within"});
  bounds["oneOf"] =
      Json::array({{{"required", Texts{"nominal", "within"}}}, std::move(both)});
  bounds["description"] = about;
  return bounds;
}

/// A level of a voltage, a current or a power.
Json level_schema() {
  Json units = Json::array();
  for (const Unit unit : {Unit::volt, Unit::ampere, Unit::watt})
    units.push_back(reference_to(definition_name(unit)));
  return {{"anyOf", units}};
}

Json reaches_schema() {
  return table_schema(
      {{"level", level_schema()},
       {"before", quantity_of(Unit::second, "no later than this")},
       {"not-before", quantity_of(Unit::second, "no earlier than this")},
       {"direction", words_schema({"rising", "falling"}, "rising if not told")}},
      {"level"});
}

Json stays_schema() {
  Json demand = table_schema({{"above", level_schema()},
                              {"below", level_schema()},
                              {"after", quantity_of(Unit::second, "from this time on")},
                              {"until", quantity_of(Unit::second, "up to this time")}},
                             {});
  demand.update(any_there({"above", "below"}));
  return demand;
}

/// What stands beside what in an expectation.
Json expectation_rules() {
  const Texts quantities = {"voltage", "current", "power", "temperature"};
  Texts asked = quantities;
  asked.insert(asked.end(), {"reaches", "stays"});
  Json rules = Json::array({one_there({"net", "part"}), any_there(asked),
                            not_both("run", "state"), not_both("run", "phase"),
                            not_both("run", "temperature"), not_both("at", "figure"),
                            not_both("at", "after")});
  for (const char* demand : {"reaches", "stays"})
    for (const char* other :
         {"voltage", "current", "power", "temperature", "at", "figure", "after"})
      rules.push_back(not_both(demand, other));
  for (std::size_t k = 0; k < quantities.size(); ++k)
    for (std::size_t n = k + 1; n < quantities.size(); ++n)
      rules.push_back(not_both(quantities[k], quantities[n]));
  for (const char* quantity : {"current", "power", "temperature"})
    rules.push_back(not_both("net", quantity));
  return rules;
}

Json expectations_schema() {
  Json one = table_schema(
      {{"state", text_schema("in this state; in every one if not told")},
       {"run", text_schema("in this run")},
       {"net", text_schema("of this net")},
       {"to", text_schema("against this net in place of ground")},
       {"part", text_schema("of this part")},
       {"pin", text_schema("at this pin of the part")},
       {"voltage", bounds_of(Unit::volt, "of a net or a part")},
       {"current", bounds_of(Unit::ampere, "into the part")},
       {"power", bounds_of(Unit::watt, "that the part takes up")},
       {"temperature", bounds_of(Unit::celsius, "of the junction")},
       {"reaches", reaches_schema()},
       {"stays", stays_schema()},
       {"at", quantity_of(Unit::second, "at this time of the run")},
       {"figure", words_schema({"average", "ripple", "peak", "least"}, "over the run")},
       {"after", quantity_of(Unit::second, "from this time of the run on")},
       {"phase", words_schema({"on", "off"}, "of PWM")},
       {"source", text_schema("where the figure comes from")},
       {"mark",
        words_schema({"verified", "memory", "practice"}, "how far to trust it")},
       {"why", text_schema("for people")}},
      {});
  one["allOf"] = expectation_rules();
  one["dependencies"] = {{"reaches", Texts{"run"}}, {"stays", Texts{"run"}},
                         {"at", Texts{"run"}},      {"figure", Texts{"run"}},
                         {"after", Texts{"run"}},   {"to", Texts{"net"}},
                         {"pin", Texts{"part"}}};
  return {{"type", "array"},
          {"description", "what you want to be sure of"},
          {"items", one}};
}

// --- boards -------------------------------------------------------------------------

Json hole_schema(std::string_view about) {
  return {{"type", "string"},
          {"pattern", "^([A-Z]{1,2}|[+-][TB])[1-9][0-9]{0,3}$"},
          {"description", about}};
}

Json place_schema() {
  const Json sides = words_schema({"north", "east", "south", "west"}, "of the board");
  Json place = {{"type", "object"},
                {"description", "the holes of its pins, or one and the side it faces"},
                {"properties",
                 {{"faces", sides},
                  {"flat", {{"anyOf", Json::array({{{"type", "boolean"}}, sides})}}}}},
                {"additionalProperties", hole_schema("of that pin: \"B12\"")}};
  return place;
}

Json joins_schema() {
  return {{"type", "array"},
          {"items", table_schema({{"from", hole_schema("\"B6\"")},
                                  {"to", hole_schema("\"B8\"")},
                                  {"as", words_schema({"bridge", "wire", "jumper"},
                                                      "solder, insulated or bare")},
                                  {"colour", text_schema("of the wire")}},
                                 {"from", "to", "as"})}};
}

Json board_schema() {
  const auto count = [](int most, std::string_view about) {
    return Json{
        {"type", "integer"}, {"minimum", 1}, {"maximum", most}, {"description", about}};
  };
  const Json names = {{"type", "array"}, {"items", {{"type", "string"}}}};
  Json space = table_schema({{"width", quantity_of(Unit::metre, "west to east")},
                             {"depth", quantity_of(Unit::metre, "north to south")},
                             {"height", quantity_of(Unit::metre, "above the board")}},
                            {});
  Json board = table_schema(
      {{"kind", words_schema({"pads", "strips", "groups"}, "what copper joins")},
       {"columns", count(kMostColumns, "holes from west to east")},
       {"rows", count(kMostRows, "holes from north to south")},
       {"rails", {{"enum", {0, 2, 4}}, {"description", "of groups, at the edges"}}},
       {"cuts", {{"type", "array"}, {"items", hole_schema("where a strip is cut")}}},
       {"off", names},
       {"on", names},
       {"space", std::move(space)},
       {"places", {{"type", "object"}, {"additionalProperties", place_schema()}}},
       {"joins", joins_schema()}},
      {"kind"});
  board["description"] = "holes, places of parts, joins";
  return board;
}

// --- the whole ----------------------------------------------------------------------

Json parts_schema() {
  return {{"type", "object"},
          {"description", "what you buy: a kind, then its figures"},
          {"propertyNames", names_but(kReserved)},
          {"maxProperties", kLimits.parts},
          {"additionalProperties", reference_to("part")}};
}

Json definitions_schema(const Catalogue& catalogue) {
  Json all = Json::object();
  for (int k = 0; k < static_cast<int>(Unit::none); ++k) {
    const auto unit = static_cast<Unit>(k);
    all[definition_name(unit)] = {{"type", "string"},
                                  {"pattern", quantity_pattern(unit)},
                                  {"description", how_to_write(unit)}};
  }
  for (const Kind& kind : kinds())
    all[std::string(kind.name)] = keys_of(catalogue, kind);
  all["part"] = part_schema();
  all["parts"] = parts_schema();
  all["nets"] = nets_schema();
  all["paths"] = paths_schema();
  all["blocks"] = blocks_schema();
  all["states"] = states_schema();
  all["variants"] = variants_schema();
  all["runs"] = runs_schema();
  all["expect"] = expectations_schema();
  all["board"] = board_schema();
  all["known-part"] = known_part(catalogue);
  return all;
}

/// Tables that a description has and the circuit that proves a block alone.
Json keys_of_circuit() {
  Json keys = {{"ambient", quantity_of(Unit::celsius, "25 C if not told")}};
  for (const char* key :
       {"parts", "nets", "paths", "states", "variants", "runs", "expect"})
    keys[key] = reference_to(key);
  return keys;
}

Json description_schema() {
  Json keys = {
      {"title", text_schema("of the circuit; any language")},
      {"catalogue", file_beside("a file with types of your own")},
      {"blocks", reference_to("blocks")},
      {"tolerances", tolerances_schema()},
      {"board", reference_to("board")},
      {"boards", {{"type", "object"}, {"additionalProperties", reference_to("board")}}},
      {"pins", keys_of_block()["pins"]}};
  keys.update(keys_of_circuit());
  Json test = table_schema(keys_of_circuit(), {});
  test["description"] = "the circuit that proves this block alone";
  keys["test"] = std::move(test);
  return table_schema(std::move(keys), {"parts"});
}

/// What stands beside what in a description, or in a block's file.
Json description_rules() {
  const Json is_block = {{"required", Texts{"pins"}}};
  const Json block = {{"required", Texts{"test"}},
                      {"propertyNames",
                       {{"enum", Texts{"title", "catalogue", "pins", "parts", "nets",
                                       "paths", "expect", "blocks", "test"}}}}};
  Json circuit = any_there({"nets", "paths"});
  circuit["not"] = {{"required", Texts{"test"}}};
  const Json has_lists_alone = {{"not", any_there({"paths", "blocks", "pins"})}};
  // Without types of its own a description has those of the built-in catalogue.
  const Json has_no_types = {{"not", {{"required", Texts{"catalogue"}}}}};
  const Json known = {
      {"properties",
       {{"parts", {{"additionalProperties", reference_to("known-part")}}}}}};
  return Json::array(
      {{{"if", is_block}, {"then", block}, {"else", circuit}},
       {{"if", has_lists_alone}, {"then", {{"properties", {{"nets", whole_nets()}}}}}},
       {{"if", has_no_types}, {"then", known}}});
}

}  // namespace

std::string schema_json(const Catalogue& catalogue) {
  Json schema = {{"$schema", "http://json-schema.org/draft-07/schema#"},
                 {"title", "A circuit for benchproof"}};
  schema.update(description_schema());
  schema["allOf"] = description_rules();
  schema["definitions"] = definitions_schema(catalogue);
  return schema.dump(1);
}

}  // namespace benchproof
