#include "core/circuit/entries/usual_names.h"

#include <algorithm>
#include <array>
#include <span>
#include <string>

#include "core/base/pieces.h"
#include "core/catalogue/kind.h"

namespace benchproof {
namespace {

/// What is written here, and other words for it, separated by spaces.
struct OtherWords {
  std::string_view name;
  std::string_view words;
};

constexpr std::array kKeyWords = {
    OtherWords{"voltage", "volts volt v voltage_rating output_voltage nominal_voltage"},
    OtherWords{"current", "amps amp ampere amperes a ma max_current current_limit"},
    OtherWords{"power", "watts watt w wattage power_rating"},
    OtherWords{"value",
               "resistance ohms ohm r capacitance farads c inductance henries l"},
    OtherWords{"rated",
               "rating voltage volts v max_voltage voltage_rating current amps a "
               "max_current"},
    OtherWords{"colour", "color"},
    OtherWords{"polarised", "polarized polarity electrolytic polar"},
    OtherWords{"type", "part part_number partnumber number model_number name"},
    OtherWords{"size", "diameter format package"},
    OtherWords{"drop", "forward_voltage vf forward"},
    OtherWords{"outputs", "output pins outs out"},
    OtherWords{"inputs", "input ins"},
    OtherWords{"analogue", "analog adc"},
    OtherWords{"output", "voltage volts v output_voltage"},
    OtherWords{"chemistry", "type"},
    OtherWords{"label", "name description comment note"},
    OtherWords{"turn", "position wiper"},
    OtherWords{"gauge", "awg cross_section thickness"},
};

constexpr std::array kTableWords = {
    OtherWords{"parts", "components component elements devices"},
    OtherWords{"nets", "wires wiring connections joints nodes"},
    OtherWords{"paths", "routes chains path"},
    OtherWords{"blocks", "block modules module"},
    OtherWords{"tolerances", "tolerance spreads"},
    OtherWords{"variants", "variant versions"},
    OtherWords{"runs", "run transients"},
    OtherWords{"states", "modes mode"},
    OtherWords{"expect", "expectation expectations checks check"},
    OtherWords{"title", "name"},
    OtherWords{"ambient", "temperature"},
    OtherWords{"catalogue", "library"},
};

constexpr std::array kReadingWords = {
    OtherWords{"voltage", "volts volt v vdc u dcv reads reading shows"},
    OtherWords{"current", "amps amp ampere amperes a ma milliamps"},
    OtherWords{"resistance", "ohms ohm r kohm continuity beep beeps"},
    OtherWords{"diode", "diode_test vf drop forward_voltage"},
    OtherWords{"net", "at from node point place where on red red_lead"},
    OtherWords{"to", "against reference ref and black black_lead"},
    OtherWords{"part", "component element lamp across through"},
    OtherWords{"pin", "lead leg terminal"},
    OtherWords{"looks", "look seen sight appearance light"},
    OtherWords{"state", "mode when switched"},
    OtherWords{"power", "powered supply"},
    OtherWords{"out", "removed unplugged without"},
    OtherWords{"reached", "reachable accessible"},
};

/// The pin of parts that have one of that name.
constexpr std::array kPinWords = {
    OtherWords{"anode", "+ a plus pos positive p"},
    OtherWords{"cathode", "- k c minus neg negative n kathode"},
    OtherWords{"plus", "+ pos positive p vcc vdd v+ vout out"},
    OtherWords{"minus", "- neg negative n gnd ground vss v- 0v"},
    OtherWords{"base", "b basis"},
    OtherWords{"collector", "c kollektor"},
    OtherWords{"emitter", "e"},
    OtherWords{"gate", "g"},
    OtherWords{"drain", "d"},
    OtherWords{"source", "s"},
    OtherWords{"vdd", "vcc + v+ 5v 3v3 vin plus positive power"},
    OtherWords{"vss", "gnd ground - v- 0v minus negative"},
    OtherWords{"in", "vin input i + vi"},
    OtherWords{"out", "vout output o vo"},
    OtherWords{"common", "gnd ground com - 0v minus"},
    OtherWords{"adjust", "adj"},
    OtherWords{"wiper", "w 2 middle"},
    OtherWords{"a", "1 + in plus p1 left pin1 positive anode"},
    OtherWords{"b", "2 3 - out minus p2 right pin2 negative cathode"},
};

std::string small_letters(std::string_view text) {
  std::string result = lower_case(text);
  std::replace(result.begin(), result.end(), ' ', '-');
  return result;
}

/// Whether one of the words between blanks is that one.
bool has_word(const OtherWords& entry, const std::string& word) {
  const std::string_view words = entry.words;
  if (word.empty() || word.find(' ') != std::string::npos) return false;
  for (std::size_t at = words.find(word); at != std::string_view::npos;
       at = words.find(word, at + 1)) {
    const std::size_t end = at + word.size();
    if ((at == 0 || words[at - 1] == ' ') && (end == words.size() || words[end] == ' '))
      return true;
  }
  return false;
}

/// A key as those of these lists are written.
std::string as_key(std::string_view word) {
  std::string small = small_letters(word);
  std::replace(small.begin(), small.end(), '-', '_');
  return small;
}

/// The name of the first entry that has a word; empty: none.
std::string_view name_for(std::span<const OtherWords> entries,
                          const std::string& word) {
  for (const OtherWords& entry : entries)
    if (has_word(entry, word)) return entry.name;
  return {};
}

}  // namespace

std::string_view meant_table(std::string_view word) {
  return name_for(kTableWords, small_letters(word));
}

std::string_view meant_reading_key(std::string_view word) {
  return name_for(kReadingWords, as_key(word));
}

std::string_view meant_key(const Kind& kind, std::string_view word) {
  const std::string small = as_key(word);
  for (const OtherWords& entry : kKeyWords) {
    const bool is_key = entry.name == "label" || find_key(kind, entry.name) != nullptr;
    if (is_key && has_word(entry, small)) return entry.name;
  }
  return {};
}

std::string_view meant_pin(const Part& part, std::string_view name) {
  const std::string small = small_letters(name);
  for (const std::string& pin : part.pins)
    if (small_letters(pin) == small) return pin;
  for (const OtherWords& entry : kPinWords)
    if (pin_index(part, entry.name) >= 0 && has_word(entry, small)) return entry.name;
  return {};
}

std::string_view taken_key(const Kind& kind, std::string_view word) {
  constexpr OtherWords kDoubtful{
      "",
      "name part part_number partnumber number model_number type a v r c l w pins "
      "pins output outs out input ins in position ma rating amperage"};
  if (has_word(kDoubtful, small_letters(word))) return {};
  return meant_key(kind, word);
}

bool is_count(std::string_view key) {
  constexpr OtherWords kCounts{
      "", "count quantity qty amount number pieces pcs units times copies n"};
  return has_word(kCounts, small_letters(key));
}

std::string_view taken_pin(const Part& part, std::string_view name) {
  constexpr OtherWords kLong{"anode",
                             "+ plus pos positive a long long-leg longleg "
                             "long-lead long-pin red p"};
  constexpr OtherWords kShort{"cathode",
                              "- minus neg negative k c kathode short "
                              "short-leg shortleg short-lead short-pin "
                              "black n gnd ground"};
  constexpr OtherWords kRed{"plus",
                            "+ pos positive p vcc vdd v+ vout out red long "
                            "long-leg"};
  constexpr OtherWords kBlack{"minus",
                              "- neg negative n gnd ground vss v- 0v black "
                              "short short-leg stripe"};
  constexpr OtherWords kChip{"vdd", "vcc v+ + plus positive 5v"};
  constexpr OtherWords kChipMinus{"vss", "gnd ground - v- 0v minus negative"};
  const std::string small = small_letters(name);
  for (const std::string& pin : part.pins)
    if (small_letters(pin) == small) return pin;
  for (const OtherWords& entry : {kLong, kShort, kRed, kBlack, kChip, kChipMinus})
    if (pin_index(part, entry.name) >= 0 && has_word(entry, small)) return entry.name;
  // The rail of a supply by its voltage: "5v".
  const bool is_volts = small.size() > 1 && small.back() == 'v' && small != "0v" &&
                        small.find_first_not_of("0123456789.") == small.size() - 1;
  if (is_volts && pin_index(part, "plus") == 0) return part.pins[0];
  if (part.pins.size() == 3 || pin_index(part, "in") >= 0) return meant_pin(part, name);
  return {};
}

bool means_ground(std::string_view name) {
  constexpr OtherWords kMeant{
      "ground",
      "ground gnd 0v 0 vss v- - minus neg negative common com earth mass masse "
      "agnd dgnd zero"};
  return has_word(kMeant, small_letters(name));
}

}  // namespace benchproof
