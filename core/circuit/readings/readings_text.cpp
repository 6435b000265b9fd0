#include <fmt/format.h>

#include <cmath>

#include "core/circuit/readings/readings.h"

namespace benchproof {
namespace {

/// A text of one line in the quotes of TOML.
std::string toml_quoted(std::string_view text) {
  std::string result = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') result += '\\';
    result += c;
  }
  return result + '"';
}

/// A value to the digits that its person wrote: "4.98 V".
std::string figure_text(const TakenReading& reading) {
  if (reading.is_open) return "open";
  const Unit unit = style_of(reading.question.asks).unit;
  const double step = reading.last_digit;
  if (!(step > 0.0)) return fmt::format("{} {}", shortest(reading.value), symbol(unit));
  // The largest prefix that the value fills, and whose digits end where they ended.
  struct Prefix {
    double factor;
    std::string_view sign;
  };
  constexpr Prefix kPrefixes[] = {{1e6, "M"},  {1e3, "k"},  {1.0, ""},
                                  {1e-3, "m"}, {1e-6, "u"}, {1e-9, "n"}};
  const Prefix* used = nullptr;
  const Prefix* finest = kPrefixes;
  for (const Prefix& prefix : kPrefixes) {
    if (step > prefix.factor * (1.0 + 1e-9)) break;
    finest = &prefix;
    if (used == nullptr && std::abs(reading.value) * (1.0 + 1e-9) >= prefix.factor)
      used = &prefix;
  }
  if (used == nullptr) used = finest;
  const int decimals =
      std::max(0, static_cast<int>(
                      std::lround(std::ceil(-std::log10(step / used->factor) - 1e-6))));
  return fmt::format("{:.{}f} {}{}", reading.value / used->factor, decimals, used->sign,
                     symbol(unit));
}

/// What stands behind 'meter': a name, or a table of figures in one line.
std::string meter_text(const TomlNode& meter) {
  if (meter.type == TomlNode::Type::string) return toml_quoted(meter.text);
  std::string text = "{ ";
  for (const TomlEntry& entry : meter.entries) {
    if (text.size() > 2) text += ", ";
    text += fmt::format("{} = {}", entry.key, toml_quoted(entry.value.text));
  }
  return text + " }";
}

}  // namespace

std::string reading_text(const TakenReading& reading, bool is_blank) {
  const Question& question = reading.question;
  std::string text = "[[reading]]\n";
  if (!question.powered) text += "power = \"off\"\n";
  if (!question.state.empty())
    text += fmt::format("state = {}\n", toml_quoted(question.state));
  if (!question.out.empty()) {
    std::string list;
    for (const std::string& part : question.out)
      list += (list.empty() ? "" : ", ") + toml_quoted(part);
    text += fmt::format("out = [{}]\n", list);
  }
  if (!question.part.empty())
    text += fmt::format("part = {}\n", toml_quoted(question.part));
  if (!question.pin.empty())
    text += fmt::format("pin = {}\n", toml_quoted(question.pin));
  if (!question.net.empty()) {
    text += fmt::format("net = {}\n", toml_quoted(question.net));
    if (!question.to.empty())
      text += fmt::format("to = {}\n", toml_quoted(question.to));
  }
  const bool has_value = !is_blank && reading.is_reached;
  const std::string value = !has_value ? std::string()
                            : question.asks == Asks::looks
                                ? std::string(word_of(reading.looks))
                                : figure_text(reading);
  text += fmt::format("{} = {}\n", style_of(question.asks).key, toml_quoted(value));
  if (!reading.is_reached) text += "reached = false\n";
  return text;
}

std::string readings_text(const ReadingsFile& file) {
  std::string text;
  if (!file.circuit.empty())
    text += fmt::format("circuit = {}\n", toml_quoted(file.circuit));
  if (file.meter) text += fmt::format("meter = {}\n", meter_text(*file.meter));
  for (const TakenReading& reading : file.readings)
    text += "\n" + reading_text(reading, false);
  return text;
}

}  // namespace benchproof
