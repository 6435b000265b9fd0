#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/pieces.h"
#include "core/catalogue/other_names.h"
#include "core/circuit/entries/usual_names.h"
#include "core/circuit/wording/detail/kinds_and_keys.h"

// A kind among other words, as a shop names its goods: "red led 5 mm".

namespace benchproof {
namespace {

using Words = std::vector<std::string>;

/// The pieces of a text between blanks, commas, hyphens and underscores. A hyphen
/// before a digit or by itself is a sign.
Words pieces_of_words(std::string_view text) {
  Words words(1);
  for (std::size_t at = 0; at < text.size(); ++at) {
    const bool is_before_digit = at + 1 < text.size() && is_digit(text[at + 1]);
    const bool is_gap = text[at] == ' ' || text[at] == ',' || text[at] == '_' ||
                        (text[at] == '-' && !is_before_digit);
    if (!is_gap)
      words.back() += text[at];
    else if (!words.back().empty())
      words.emplace_back();
  }
  if (words.back().empty()) words.pop_back();
  return words;
}

std::string joined_words(const Words& words, std::size_t from, std::size_t count) {
  const auto begin = words.begin() + static_cast<std::ptrdiff_t>(from);
  return fmt::format("{}",
                     fmt::join(begin, begin + static_cast<std::ptrdiff_t>(count), " "));
}

/// Whether a word before a kind only says which make of it, and nothing that is
/// reckoned with.
bool is_manner(const std::string& word) {
  static const std::set<std::string, std::less<>> kManner = {
      "toggle", "slide",     "rocker", "push",    "tactile", "momentary", "latching",
      "spst",   "mini",      "small",  "little",  "plug",    "plugin",    "in",
      "wall",   "mains",     "bench",  "usb",     "plugtop", "jumper",    "hookup",
      "hook",   "up",        "dupont", "carbon",  "film",    "metal",     "axial",
      "the",    "my",        "a",      "an",      "on",      "off",       "ceramic",
      "on/off", "household", "lever",  "desktop", "power",   "stranded",  "solid"};
  return kManner.contains(lower_case(word));
}

/// A kind among other words, and where it stands there.
struct KindAmongWords {
  const Kind* kind = nullptr;
  std::size_t from = 0;
  std::size_t count = 0;
};

KindAmongWords kind_among(const Words& words) {
  for (std::size_t count = std::min<std::size_t>(words.size(), 3); count > 0; --count)
    for (std::size_t from = words.size() - count + 1; from-- > 0;)
      if (const Kind* kind = find_kind_called(joined_words(words, from, count)))
        return {kind, from, count};
  return {};
}

/// Whether the kind stands last, and the words before it say nothing more.
bool is_only_manner(const KindAmongWords& found, const Words& words) {
  return found.from + found.count == words.size() &&
         !says_more(joined_words(words, found.from, found.count)) &&
         std::all_of(words.begin(),
                     words.begin() + static_cast<std::ptrdiff_t>(found.from),
                     is_manner);
}

/// A key of a part, and what words say of it.
struct Figure {
  std::string key;
  std::string text;
};

/// What the words from `at` say of one key of the kind, and how many words they are;
/// a figure without a key where they say nothing.
std::pair<Figure, std::size_t> figure_at(const Catalogue& catalogue, const Kind& kind,
                                         const Words& words, std::size_t at) {
  for (std::size_t count = std::min<std::size_t>(3, words.size() - at); count > 0;
       --count) {
    const std::string text = joined_words(words, at, count);
    for (const std::string_view key : {"colour", "size", "chemistry"}) {
      if (find_key(kind, key) == nullptr) continue;
      std::string same = same_word(text, catalogue, kind.id, key);
      if (!same.empty()) return {{std::string(key), std::move(same)}, count};
    }
    if (count > 2) continue;
    if (find_key(kind, "type") != nullptr && find_key(kind, "colour") == nullptr)
      if (const Type* type = find_called(catalogue, kind.id, text))
        return {{"type", type->name}, count};
    const bool is_of_diode = kind.id == KindId::zener || kind.id == KindId::diode;
    for (const std::string_view name :
         {"value", "voltage", "output", "current", "power", "rated"}) {
      const Key* key = find_key(kind, name);
      if (key == nullptr || key->shape != Shape::quantity || is_of_diode) continue;
      const auto value = parse_quantity(text, key->unit);
      if (std::holds_alternative<double>(value))
        return {{std::string(name), text}, count};
    }
  }
  return {{}, 1};
}

/// Whether one of a part's keys is, or means, that one.
bool is_given(const TomlNode& part, const Kind& kind, std::string_view key) {
  return find_entry(part, key) != nullptr ||
         std::any_of(part.entries.begin(), part.entries.end(), [&](const auto& entry) {
           return meant_key(kind, entry.key) == key;
         });
}

/// What the words beside a kind say of keys that the part has not; the first of each.
std::vector<Figure> figures_beside(const Catalogue& catalogue,
                                   const KindAmongWords& found, const Words& words,
                                   const TomlNode& part) {
  std::vector<Figure> figures;
  for (std::size_t at = 0; at < words.size();) {
    if (at == found.from) {
      at += found.count;
      continue;
    }
    auto [figure, count] = figure_at(catalogue, *found.kind, words, at);
    at += count;
    const bool is_new =
        !figure.key.empty() && !is_given(part, *found.kind, figure.key) &&
        std::none_of(
            figures.begin(), figures.end(),
            [&key = figure.key](const Figure& other) { return other.key == key; });
    if (is_new) figures.push_back(std::move(figure));
  }
  return figures;
}

/// Tells how a kind is written that says more, and reads on as if it were.
void answer_kind(Wording& words, TomlEntry& part, const TomlNode& written,
                 const KindAmongWords& found, const Words& pieces) {
  const Span span = written.span;
  const std::string text = written.text;
  std::string advice = fmt::format("{}: kind = \"{}\"", part.key, found.kind->name);
  for (Figure& figure :
       figures_beside(words.reading.catalogue, found, pieces, part.value)) {
    advice += fmt::format(", {} = \"{}\"", figure.key, figure.text);
    part.value.entries.push_back(
        {std::move(figure.key), span, text_node(std::move(figure.text), span)});
  }
  for (const std::string& key : split_words(found.kind->required))
    if (!is_given(part.value, *found.kind, key))
      advice +=
          fmt::format(", {} = \"...\" ({})", key, find_key(*found.kind, key)->about);
  complain(words.reading, kKindUnknown, span,
           fmt::format("there is no kind {}", quoted(text)), advice,
           "a kind that says more than a kind");
  expect_no_more(words, span);
  miss_nothing(words, part.key_span);
}

}  // namespace

bool says_more(std::string_view word) {
  constexpr std::array kTelling = {"npn",    "pnp",          "nmos",     "pmos",
                                   "relay",  "n-mosfet",     "p-mosfet", "schottky",
                                   "piezo",  "electrolytic", "elko",     "source",
                                   "preset", "contact",      "engine",   "lead"};
  const std::string small = lower_case(word);
  return std::find(kTelling.begin(), kTelling.end(), small) != kTelling.end();
}

const Kind* kind_in_words(Wording& words, TomlEntry& part, const TomlNode& written) {
  const std::string text = written.text;
  if (const Kind* whole = find_kind_called(text))
    return says_more(text) ? nullptr : whole;
  const Words pieces = pieces_of_words(text);
  const KindAmongWords found = kind_among(pieces);
  if (found.kind == nullptr || is_only_manner(found, pieces)) return found.kind;
  // A kind that is misspelt is told as that.
  if (text.find(' ') == std::string::npos && words.reading.suggestions_left-- > 0) {
    std::vector<std::string> names;
    for (const Kind& kind : kinds()) names.emplace_back(kind.name);
    if (!nearest(text, names).empty()) return nullptr;
  }
  answer_kind(words, part, written, found, pieces);
  return found.kind;
}

}  // namespace benchproof
