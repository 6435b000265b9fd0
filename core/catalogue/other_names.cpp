#include "core/catalogue/other_names.h"

#include <algorithm>
#include <array>

#include "core/base/pieces.h"
#include "core/base/quick_key.h"

namespace benchproof {
namespace {

/// What stands before and behind the number of a family of parts without changing a
/// figure, separated by spaces. Makers and packages are from memory; of the suffixes
/// only those of the package that the catalogue's figures are of (TO-220; of the 78L05
/// TO-92).
struct Naming {
  KindId kind;
  std::string_view begins;  ///< How the bare name begins.
  std::size_t size;         ///< Letters of the bare name.
  std::string_view prefixes;
  std::string_view suffixes;
};
constexpr std::string_view kMakers = "L LM MC UA \u00B5A \u03BCA KA NJM TA TS UPC AN";
constexpr std::string_view kPackages = "T CT CV CP ACT ACV AC A C CK CKC BT AT";
constexpr std::array kNamings = {
    Naming{KindId::regulator, "78L", 5, kMakers, "ACZ CZ AC ACP ABZ Z"},
    Naming{KindId::regulator, "78", 4, kMakers, kPackages},
    Naming{KindId::regulator, "79", 4, kMakers, kPackages},
    Naming{KindId::regulator, "LM317", 5, "", "T AT BT"},
};

/// A kind, and other words for it, separated by spaces.
struct KindWords {
  std::string_view kind;
  std::string_view words;
};
constexpr std::array kKindWords = {
    KindWords{"dc-supply",
              "supply psu power power-supply powersupply adapter adaptor ac-adapter "
              "wall-adapter wall-wart wallwart usb usb-supply dc dc-jack jack source "
              "mains-adapter plug wall-plug charger usb-charger usb-adapter usb-power "
              "plug-pack "
              "power-brick power-pack power-adapter power-adaptor powersupply-unit "
              "power-supply-unit wall-supply bench-supply plug-in-supply"},
    KindWords{"battery", "cell batteries accumulator akku"},
    KindWords{"led", "light-emitting-diode leds"},
    KindWords{"lamp", "bulb light-bulb lightbulb filament incandescent"},
    KindWords{"trimmer", "potentiometer pot poti trimpot variable-resistor preset"},
    KindWords{"light-resistor",
              "ldr photoresistor photo-resistor photocell light-sensor"},
    KindWords{"heat-resistor", "ntc ptc thermistor"},
    KindWords{"capacitor", "cap condenser electrolytic elko"},
    KindWords{"inductor", "coil choke"},
    KindWords{"relay-coil", "relay"},
    KindWords{"transistor", "npn pnp bjt bipolar"},
    KindWords{"mosfet", "mos fet nmos pmos n-mosfet p-mosfet"},
    KindWords{"regulator",
              "voltage-regulator vreg ldo stabilizer stabiliser linear-regulator"},
    KindWords{
        "switch",
        "button push-button pushbutton toggle reed reed-switch contact slide-switch "
        "toggle-switch rocker rocker-switch on-off-switch"},
    KindWords{"controller",
              "microcontroller mcu micro-controller chip microprocessor processor"},
    KindWords{"zener", "zener-diode z-diode"},
    KindWords{"diode", "rectifier schottky"},
    KindWords{"buzzer", "beeper piezo"},
    KindWords{"motor", "dc-motor engine"},
    KindWords{"wire", "cable lead jumper jumper-wire jumper-lead"},
    KindWords{"resistor", "resistance res"},
};

constexpr int kEnd = -1;

/// The next letter of a text in plain(), taken off it; kEnd where there is none.
int next_plain(std::string_view& text) {
  while (!text.empty() && (text[0] == ' ' || text[0] == '-' || text[0] == '_'))
    text.remove_prefix(1);
  if (text.empty()) return kEnd;
  const char c = text[0];
  text.remove_prefix(1);
  return static_cast<unsigned char>(c >= 'a' && c <= 'z' ? c - 'a' + 'A' : c);
}

std::string plain(std::string_view text) {
  std::string result;
  for (int c = next_plain(text); c != kEnd; c = next_plain(text))
    result += static_cast<char>(c);
  return result;
}

/// Whether two texts are the same in plain().
bool are_alike(std::string_view one, std::string_view other) {
  for (;;) {
    const int c = next_plain(one);
    if (c != next_plain(other)) return false;
    if (c == kEnd) return true;
  }
}

const Type* find_plain(const Catalogue& catalogue, KindId kind, std::string_view name) {
  const std::string same = same_word(name, catalogue.names(kind));
  return same.empty() ? nullptr : catalogue.find(kind, same);
}

/// A name apart: what stands before the family's own name, that, and what is behind.
struct Pieces {
  std::string prefix;
  std::string bare;
  std::string suffix;
};

std::optional<Pieces> pieces_of(const std::string& name, const Naming& naming) {
  const auto allows = [](std::string_view list, const std::string& word) {
    const std::vector<std::string> words = split_words(list);
    return word.empty() || std::find(words.begin(), words.end(), word) != words.end();
  };
  const std::size_t at = name.find(naming.begins);
  if (at == std::string::npos || at + naming.size > name.size()) return std::nullopt;
  Pieces pieces{name.substr(0, at), name.substr(at, naming.size),
                name.substr(at + naming.size)};
  if (!allows(naming.prefixes, pieces.prefix) ||
      !allows(naming.suffixes, pieces.suffix))
    return std::nullopt;
  return pieces;
}

}  // namespace

const Kind* find_kind_called(std::string_view word) {
  std::string small = lower_case(word);
  for (char& c : small)
    if (c == ' ' || c == '_') c = '-';
  if (const Kind* same = find_kind(small)) return same;
  for (const KindWords& entry : kKindWords) {
    const std::vector<std::string> words = split_words(entry.words);
    if (std::find(words.begin(), words.end(), small) != words.end())
      return find_kind(entry.kind);
  }
  return nullptr;
}

std::string same_word(std::string_view word, const std::vector<std::string>& known) {
  std::string found;
  for (const std::string& candidate : known) {
    if (!are_alike(candidate, word)) continue;
    if (!found.empty()) return {};
    found = candidate;
  }
  return found;
}

std::string same_word(std::string_view word, const Catalogue& catalogue, KindId kind,
                      std::string_view key) {
  const std::string* found = nullptr;
  for (const Type& type : catalogue.types()) {
    if (type.kind != kind) continue;
    const auto there = type.words.find(QuickKey{key});
    if (there == type.words.end() || !are_alike(there->second, word)) continue;
    if (found != nullptr && *found != there->second) return {};
    found = &there->second;
  }
  return found != nullptr ? *found : std::string();
}

std::string held_word(std::string_view text, const std::vector<std::string>& known) {
  constexpr std::size_t kLeastLetters = 3;
  const std::string all = plain(text);
  std::string best;
  for (const std::string& candidate : known) {
    const std::vector<std::string> words = split_words(candidate);
    const bool is_held = std::all_of(words.begin(), words.end(), [&](const auto& word) {
      return all.find(plain(word)) != std::string::npos;
    });
    if (is_held && candidate.size() > best.size()) best = candidate;
  }
  return best.size() < kLeastLetters ? std::string() : best;
}

const Type* find_called(const Catalogue& catalogue, KindId kind,
                        std::string_view name) {
  if (const Type* same = find_plain(catalogue, kind, name)) return same;
  const std::string given = plain(name);
  for (const Naming& naming : kNamings) {
    if (naming.kind != kind) continue;
    const auto pieces = pieces_of(given, naming);
    if (!pieces) continue;
    // The maker's own figures come first, where the catalogue has them.
    for (const std::string& bare : {pieces->prefix + pieces->bare, pieces->bare})
      if (const Type* type = find_plain(catalogue, kind, bare)) return type;
  }
  // The one of a diode's name, read as a capital I.
  if (given.starts_with("IN"))
    return find_plain(catalogue, kind, "1" + given.substr(1));
  return nullptr;
}

}  // namespace benchproof
