#include "core/base/toml_tree.h"

#include <fmt/format.h>

#include <version>
#ifdef __cpp_lib_to_chars
#define TOML_FLOAT_CHARCONV 1  // The parser would read numbers from a stream.
#endif
#include <toml++/toml.h>

#include <algorithm>
#include <array>
#include <cassert>
#include <optional>
#include <utility>
#include <vector>

#include "core/base/complaints.h"
#include "core/base/detail/decimal.h"
#include "core/base/diagnostic_ids.h"
#include "core/base/pieces.h"

namespace benchproof {
namespace {

bool is_ascii(std::string_view text) {
  return std::all_of(text.begin(), text.end(), [](char byte) {
    return static_cast<unsigned char>(byte) < 0x80U;
  });
}

/// Where lines begin in a text, and where its code points stand: the parser counts
/// columns in code points, we count bytes. A column is found in constant time, whatever
/// the length of the line.
class LineIndex {
 public:
  explicit LineIndex(std::string_view text) : text_(text) {
    line_begins_.push_back({0, 0});
    if (is_ascii(text)) {
      for (std::size_t at = 0; (at = text.find('\n', at)) != text.npos;) {
        ++at;
        line_begins_.push_back({at, at});
      }
      return;
    }
    std::size_t code_points = 0;
    for (std::size_t at = 0; at < text.size(); ++at) {
      if (is_continuation(text[at])) continue;
      if (code_points % kStride == 0) strides_.push_back(at);
      ++code_points;
      if (text[at] == '\n') line_begins_.push_back({at + 1, code_points});
    }
  }

  /// The place of a byte.
  [[nodiscard]] Position at_byte(std::size_t offset) const {
    const auto next = std::upper_bound(
        line_begins_.begin(), line_begins_.end(), offset,
        [](std::size_t value, const LineBegin& line) { return value < line.byte; });
    const auto line = next - line_begins_.begin();
    const std::size_t begin = line_begins_[static_cast<std::size_t>(line - 1)].byte;
    return {static_cast<int>(line), static_cast<int>(offset - begin) + 1};
  }

  /// The byte at a place; the text's end where it is past that.
  [[nodiscard]] std::size_t byte_at(const Position& place) const {
    const auto line = static_cast<std::size_t>(place.line);
    if (line < 1 || line > line_begins_.size() || place.column < 1) return text_.size();
    return std::min(
        line_begins_[line - 1].byte + static_cast<std::size_t>(place.column) - 1,
        text_.size());
  }

  /// The place that the parser names.
  [[nodiscard]] Position position(const toml::source_position& place) const {
    if (place.line < 1 || place.line > line_begins_.size()) return {};
    const LineBegin& line = line_begins_[place.line - 1];
    const std::size_t column = std::max<std::size_t>(place.column, 1);
    const std::size_t byte = byte_of(line.code_point + column - 1);
    return {static_cast<int>(place.line), static_cast<int>(byte - line.byte) + 1};
  }

  [[nodiscard]] Span span(const toml::source_region& region) const {
    return {position(region.begin), position(region.end)};
  }

 private:
  struct LineBegin {
    std::size_t byte = 0;
    std::size_t code_point = 0;
  };

  static constexpr std::size_t kStride = 64;

  static bool is_continuation(char byte) {
    return (static_cast<unsigned char>(byte) & 0xC0U) == 0x80U;
  }

  [[nodiscard]] std::size_t byte_of(std::size_t code_point) const {
    if (strides_.empty()) return std::min(code_point, text_.size());
    if (code_point / kStride >= strides_.size()) return text_.size();
    std::size_t at = strides_[code_point / kStride];
    for (std::size_t left = code_point % kStride; left > 0 && at < text_.size();
         --left) {
      ++at;
      while (at < text_.size() && is_continuation(text_[at])) ++at;
    }
    return at;
  }

  std::string_view text_;
  std::vector<LineBegin> line_begins_;
  std::vector<std::size_t> strides_;  ///< Byte of every kStride-th code point, unless
                                      ///< all are ASCII.
};

/// The offset of the first byte that is not UTF-8 (RFC 3629), or nothing.
std::optional<std::size_t> first_invalid_byte(std::string_view text) {
  const auto byte = [&text](std::size_t at) -> unsigned {
    return at < text.size() ? static_cast<unsigned char>(text[at]) : 0U;
  };
  for (std::size_t at = 0; at < text.size();) {
    const unsigned lead = byte(at);
    std::size_t more = 0;
    unsigned least = 0x80U;  // Bounds of the second byte, RFC 3629 section 4.
    unsigned most = 0xBFU;
    if (lead < 0x80U) {
      ++at;
      continue;
    }
    if (lead >= 0xC2U && lead <= 0xDFU) {
      more = 1;
    } else if (lead >= 0xE0U && lead <= 0xEFU) {
      more = 2;
      if (lead == 0xE0U) least = 0xA0U;
      if (lead == 0xEDU) most = 0x9FU;
    } else if (lead >= 0xF0U && lead <= 0xF4U) {
      more = 3;
      if (lead == 0xF0U) least = 0x90U;
      if (lead == 0xF4U) most = 0x8FU;
    } else {
      return at;
    }
    if (byte(at + 1) < least || byte(at + 1) > most) return at;
    for (std::size_t i = 2; i <= more; ++i)
      if (byte(at + i) < 0x80U || byte(at + i) > 0xBFU) return at;
    at += more + 1;
  }
  return std::nullopt;
}

bool is_blank(char letter) {
  return letter == ' ' || letter == '\t' || letter == '\r' || letter == '\n';
}

/// Skips a string or a comment that begins at `at`; returns where the text goes on, or
/// `at` itself when neither begins there.
std::size_t after_string_or_comment(std::string_view text, std::size_t at) {
  const char first = text[at];
  if (first == '#') return std::min(text.find('\n', at), text.size());
  if (first != '"' && first != '\'') return at;
  const std::string_view triple = first == '"' ? R"(""")" : "'''";
  const bool is_long = text.substr(at).starts_with(triple);
  std::size_t i = at + (is_long ? 3 : 1);
  while (i < text.size()) {
    if (first == '"' && text[i] == '\\') {
      i += 2;
    } else if (!is_long && (text[i] == first || text[i] == '\n')) {
      return i + 1;
    } else if (is_long && text.substr(i).starts_with(triple)) {
      // Up to two quotes may stand before the closing three.
      i += 3;
      for (int extra = 0; extra < 2 && i < text.size() && text[i] == first; ++extra)
        ++i;
      return i;
    } else {
      ++i;
    }
  }
  return text.size();
}

/// The offset at which brackets or dotted keys are nested deeper than `most`, or
/// nothing.
std::optional<std::size_t> first_too_deep(std::string_view text, int most) {
  int brackets = 0;
  int dots = 0;
  for (std::size_t at = 0; at < text.size();) {
    switch (text[at]) {
      case '#':
      case '"':
      case '\'':
        at = after_string_or_comment(text, at);
        continue;
      case '[':
      case '{':
        ++brackets;
        dots = 0;
        break;
      case ']':
      case '}':
        brackets = std::max(0, brackets - 1);
        break;
      case '.':
        ++dots;
        break;
      case '=':
      case ',':
      case '\n':
        dots = 0;
        break;
      default:
        break;
    }
    if (brackets > most || dots > most) return at;
    ++at;
  }
  return std::nullopt;
}

/// Whether a string may begin there: at a line's begin, or behind a blank or a sign
/// that parts things. Elsewhere (1"a") the parser reads on as if there were none.
bool may_begin_string(std::string_view text, std::size_t at) {
  constexpr std::string_view kParting = "=,[{.";
  return at == 0 || is_blank(text[at - 1]) ||
         kParting.find(text[at - 1]) != std::string_view::npos;
}

/// The offset of the first byte outside of strings and comments that is not ASCII, or
/// nothing: TOML 1.0 has none there. The parser must not see one: its table of spaces
/// leads out of itself on U+00A1 to U+0499.
std::optional<std::size_t> first_not_ascii(std::string_view text) {
  for (std::size_t at = 0; at < text.size();) {
    const bool is_skipped = text[at] == '#' || may_begin_string(text, at);
    const std::size_t next = is_skipped ? after_string_or_comment(text, at) : at;
    if (next == at && static_cast<unsigned char>(text[at]) >= 0x80U) return at;
    at = std::max(next, at + 1);
  }
  return std::nullopt;
}

/// The offset within a long string in double quotes of a byte that is not ASCII where
/// the parser looks for blanks to leave out: behind a backslash, and behind a line that
/// ends in one as long as only blanks, quotes and escapes follow.
std::optional<std::size_t> first_taken_for_blank(std::string_view string) {
  bool is_leaving_out = false;
  for (std::size_t at = 3; at < string.size(); ++at) {
    const char here = string[at];
    const char next = at + 1 < string.size() ? string[at + 1] : ' ';
    const bool is_ascii = static_cast<unsigned char>(here) < 0x80U;
    if (here == '\\' && static_cast<unsigned char>(next) >= 0x80U) return at + 1;
    if (here == '\\' && is_blank(next)) {
      is_leaving_out = true;
    } else if (here == '\\') {
      at += next == 'u' ? 5 : next == 'U' ? 9 : 1;
    } else if (!is_ascii && is_leaving_out) {
      return at;
    } else if (!is_blank(here) && here != '"') {
      is_leaving_out = false;
    }
  }
  return std::nullopt;
}

/// The offset of a byte of that sort in any string of a text, or nothing. It is TOML,
/// but the parser asks the table of spaces, see first_not_ascii.
std::optional<std::size_t> first_unreadable(std::string_view text) {
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t next = after_string_or_comment(text, at);
    if (text.substr(at).starts_with(R"(""")")) {
      const auto offset = first_taken_for_blank(text.substr(at, next - at));
      if (offset) return at + *offset;
    }
    at = std::max(next, at + 1);
  }
  return std::nullopt;
}

/// The character that begins at a byte of valid UTF-8.
std::string_view character_at(std::string_view text, std::size_t at) {
  std::size_t size = 1;
  while (at + size < text.size() &&
         (static_cast<unsigned char>(text[at + size]) & 0xC0U) == 0x80U)
    ++size;
  return text.substr(at, size);
}

/// A character in quotes; one that is not seen, by what it is.
std::string named(std::string_view character) {
  if (character == "\xC2\xA0") return "a no-break blank";
  if (character == "\xE2\x80\x8B") return "an invisible blank of no width";
  return quoted(character);
}

Diagnostic too_deep(const Span& span, int nesting) {
  return {std::string(kTooDeep.name), span,
          fmt::format("tables and lists are nested more than {} deep", nesting), ""};
}

/// Turns the parser's tree into plain data. Throws the complaint when it is too deep.
TomlNode convert(const toml::node& node, const LineIndex& lines, int depth_left,
                 int nesting) {
  TomlNode result;
  result.span = lines.span(node.source());
  const bool is_deeper = node.is_table() || node.is_array();
  if (is_deeper && depth_left < 0) throw too_deep(result.span, nesting);
  if (const auto* string = node.as_string()) {
    result.type = TomlNode::Type::string;
    result.text = string->get();
  } else if (const auto* integer = node.as_integer()) {
    result.type = TomlNode::Type::number;
    result.number = static_cast<double>(integer->get());
  } else if (const auto* real = node.as_floating_point()) {
    result.type = TomlNode::Type::number;
    result.number = real->get();
  } else if (const auto* boolean = node.as_boolean()) {
    result.type = TomlNode::Type::boolean;
    result.flag = boolean->get();
  } else if (const auto* array = node.as_array()) {
    result.type = TomlNode::Type::array;
    result.items.reserve(array->size());
    for (const toml::node& item : *array)
      result.items.push_back(convert(item, lines, depth_left - 1, nesting));
  } else if (const auto* table = node.as_table()) {
    result.type = TomlNode::Type::table;
    std::vector<std::pair<Span, toml::table::const_iterator>> places;
    places.reserve(table->size());
    for (auto entry = table->begin(); entry != table->end(); ++entry)
      places.emplace_back(lines.span(entry->first.source()), entry);
    std::stable_sort(places.begin(), places.end(), [](const auto& a, const auto& b) {
      return a.first.begin < b.first.begin;
    });
    result.entries.reserve(places.size());
    for (const auto& [place, entry] : places)
      result.entries.push_back(
          {std::string(entry->first.str()), place,
           convert(entry->second, lines, depth_left - 1, nesting)});
  } else {
    result.type = TomlNode::Type::time;
  }
  return result;
}

/// The parser's message in our form.
std::string syntax_message(std::string_view description) {
  constexpr std::string_view kPrefix = "Error while parsing ";
  constexpr std::size_t kLongest = 200;
  if (description.starts_with(kPrefix)) description.remove_prefix(kPrefix.size());
  const std::string_view more = description.size() > kLongest ? "..." : "";
  return fmt::format("not TOML: {}{}", description.substr(0, kLongest), more);
}

/// The line of a text that a byte stands in.
std::string_view line_at(std::string_view text, std::size_t offset) {
  offset = std::min(offset, text.size());
  const std::size_t before = offset == 0 ? text.npos : text.rfind('\n', offset - 1);
  const std::size_t begin = before == text.npos ? 0 : before + 1;
  return text.substr(begin, std::min(text.find('\n', begin), text.size()) - begin);
}

/// The bare word or number that begins at or before a byte, up to a sign that parts.
std::string_view bare_word(std::string_view text, std::size_t offset) {
  constexpr std::string_view kParting = " \t\r\n=,[]{}#\"";
  offset = std::min(offset, text.size());
  const std::size_t before =
      offset == 0 ? text.npos : text.find_last_of(kParting, offset - 1);
  const std::size_t begin = before == text.npos ? 0 : before + 1;
  return text.substr(
      begin, std::min(text.find_first_of(kParting, begin), text.size()) - begin);
}

bool is_truth_word(std::string_view word) {
  constexpr std::array<std::string_view, 10> kWords = {
      "yes", "no", "Yes", "No", "YES", "NO", "True", "False", "TRUE", "FALSE"};
  return std::find(kWords.begin(), kWords.end(), word) != kWords.end();
}

/// What stands against a line as a whole, whatever the parser says of it; empty where
/// nothing is known.
std::string line_hint(std::string_view line) {
  const std::size_t first = line.find_first_not_of(" \t");
  if (first == line.npos) return {};
  const std::string_view rest = line.substr(first);
  const std::size_t equals = rest.find('=');
  if (rest.starts_with('[') && equals == rest.npos && rest.find(']') == rest.npos)
    return "a table's name stands in brackets at both ends: [parts]";
  if (rest.starts_with("//")) return "a comment begins with '#'";
  if (equals == rest.npos && rest.find(':') != rest.npos)
    return "a name and what it is are parted by '=': r1 = { ... }";
  if (equals == rest.npos && rest.front() != '[' && rest.front() != ']' &&
      rest.front() != '"' && rest.front() != '}')
    return "a line is a name, '=' and a value: lamp = { kind = \"led\", colour = "
           "\"red\" }; what follows a '#' is a comment; 'benchproof start --list' "
           "shows "
           "circuits to begin with";
  if (equals == rest.npos) return {};
  const std::string_view name =
      rest.substr(0, rest.find_last_not_of(" \t", equals - 1) + 1);
  if (equals > 0 && name.find_first_of(" \t") != name.npos &&
      name.find_first_of("\"'{[,") == name.npos)
    return "a name has no blanks: write a hyphen in their place, my-switch";
  if (rest.find("==") != rest.npos)
    return "one '=' stands between a name and its value";
  const std::size_t value = rest.find_first_not_of(" \t", equals + 1);
  if (value != rest.npos && rest[value] == '(')
    return "a list stands in [ ], a part in { }";
  if (rest.find(';') != rest.npos && rest.find('"') == rest.npos)
    return "a line ends without a ';'";
  return {};
}

/// Whether a comma stands between two digits.
bool has_decimal_comma(std::string_view line) {
  for (std::size_t k = line.find(','); k != line.npos; k = line.find(',', k + 1))
    if (k > 0 && k + 1 < line.size() && is_digit(line[k - 1]) && is_digit(line[k + 1]))
      return true;
  return false;
}

/// What is likely meant where the parser stops, at a byte of the text; empty where that
/// is not known.
std::string syntax_hint(std::string_view description, std::string_view text,
                        std::size_t offset) {
  constexpr std::string_view kQuotes =
      R"(texts and quantities stand in quotes: "red", "330R", "5 V")";
  constexpr std::string_view kTruth =
      "true and false are written so, in small letters and without quotes";
  const auto says = [description](std::string_view words) {
    return description.find(words) != std::string_view::npos;
  };
  if (text.find('\r') != text.npos && text.find('\n') == text.npos)
    return "its lines end in a carriage return alone: save it with line feeds (Unix) "
           "or "
           "both (Windows)";
  if (says("cannot redefine"))
    return "a name stands once: give this one another, or put what it says where the "
           "first one is";
  const std::string_view word = bare_word(text, offset);
  if (word == "on" || word == "off")
    return fmt::format(R"("{}" stands in quotes; true and false stand without)", word);
  if (is_truth_word(word)) return std::string(kTruth);
  const std::string_view line = line_at(text, offset);
  if (std::string hint = line_hint(line); !hint.empty()) return hint;
  const std::size_t at = std::min(offset, text.size());
  const std::size_t behind = text.find_first_not_of(" \t", at);
  const std::size_t before =
      at == 0 ? text.npos : text.substr(0, at).find_last_not_of(" \t");
  const auto is_at = [text](std::size_t place, std::string_view signs) {
    return place != text.npos && place < text.size() &&
           signs.find(text[place]) != signs.npos;
  };
  if (is_at(before, ":") || is_at(behind, ":"))
    return "a key and its value are parted by '='";
  if (is_at(behind, ";") || is_at(before, ";")) return "a line ends without a ';'";
  if (is_at(behind, "}") && is_at(before, ","))
    return "no comma stands before a closing '}'";
  if (says("inline table") && (behind == text.npos || is_at(behind, "\r\n")))
    return "what is in { } stands on one line, and ends with a '}'";
  const bool may_be_number = says("expected key") || says("key-value pair") ||
                             says("bare key") || says("expected '='");
  if (may_be_number && has_decimal_comma(line))
    return "a decimal point, not a comma, and in quotes: \"0.25 W\"";
  if (says("could not determine value type") || says("expected digit") ||
      says("expected decimal digit"))
    return std::string(kQuotes);
  if (says("string: ") && says("control characters"))
    return "a quote that is opened on this line is not closed on it";
  if (says("expected comma or closing") || says("expected a comment or whitespace")) {
    // A number with a blank before its unit reads as a number and something more.
    if (before != text.npos && is_digit(text[before])) return std::string(kQuotes);
    if (says("expected comma") && says("array") &&
        line.substr(0, line.find('=')).find('[') == line.npos &&
        line.find('=') != line.npos && is_at(behind, "abcdefghijklmnopqrstuvwxyz_["))
      return "a list that begins before this line is not closed by a ']'";
    if (says("expected comma"))
      return "a comma stands between two items, a quote at both ends of a text, and a "
             "bracket at both ends of a list";
  }
  if (says("saw '/'")) return "a comment begins with '#'";
  return {};
}

}  // namespace

const TomlEntry* find_entry(const TomlNode& table, std::string_view key) {
  const auto found =
      std::find_if(table.entries.begin(), table.entries.end(),
                   [key](const TomlEntry& entry) { return entry.key == key; });
  return found == table.entries.end() ? nullptr : &*found;
}

TomlEntry* find_entry(TomlNode& table, std::string_view key) {
  return const_cast<TomlEntry*>(find_entry(std::as_const(table), key));
}

const std::vector<TomlEntry>& entries_in(const TomlNode& table, std::string_view key) {
  static const std::vector<TomlEntry> none;
  const TomlEntry* entry = find_entry(table, key);
  return entry != nullptr && entry->value.type == TomlNode::Type::table
             ? entry->value.entries
             : none;
}

TomlNode text_node(std::string text, const Span& span) {
  TomlNode node;
  node.type = TomlNode::Type::string;
  node.text = std::move(text);
  node.span = span;
  return node;
}

std::string_view type_name(TomlNode::Type type) {
  switch (type) {
    case TomlNode::Type::string:
      return "a text";
    case TomlNode::Type::number:
      return "a number";
    case TomlNode::Type::boolean:
      return "true or false";
    case TomlNode::Type::time:
      return "a date or time";
    case TomlNode::Type::array:
      return "a list";
    case TomlNode::Type::table:
      return "a table";
  }
  assert(false && "every type has a name");
  return "";
}

std::variant<TomlNode, Diagnostic> parse_toml(std::string_view text, int nesting) {
  constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
  if (text.starts_with(kByteOrderMark)) text.remove_prefix(kByteOrderMark.size());
  const LineIndex lines(text);
  const auto at = [&lines](std::size_t offset) {
    const Position begin = lines.at_byte(offset);
    return Span{begin, {begin.line, begin.column + 1}};
  };
  const bool is_plain = is_ascii(text);
  if (const auto offset = is_plain ? std::nullopt : first_invalid_byte(text))
    return Diagnostic{std::string(kNotUtf8.name), at(*offset),
                      "the text is not valid UTF-8", "save the file as UTF-8"};
  if (const auto offset = first_too_deep(text, nesting))
    return too_deep(at(*offset), nesting);
  if (const auto offset = is_plain ? std::nullopt : first_not_ascii(text))
    return Diagnostic{std::string(kSyntax.name), at(*offset),
                      fmt::format("not TOML: {} outside of quotes",
                                  named(character_at(text, *offset))),
                      "names are of ASCII letters; text stands in straight quotes"};
  if (const auto offset = is_plain ? std::nullopt : first_unreadable(text))
    return Diagnostic{std::string(kSyntax.name), at(*offset),
                      fmt::format("cannot be read: {} behind a '\\' in a long text",
                                  quoted(character_at(text, *offset))),
                      "write the text on one line, and a backslash twice"};
  try {
    return convert(toml::parse(text), lines, nesting, nesting);
  } catch (const toml::parse_error& error) {
    const Span span = lines.span(error.source());
    return Diagnostic{
        std::string(kSyntax.name), span, syntax_message(error.description()),
        syntax_hint(error.description(), text, lines.byte_at(span.begin))};
  } catch (const Diagnostic& diagnostic) {
    return diagnostic;
  }
}

}  // namespace benchproof
