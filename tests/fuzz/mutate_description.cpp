// How the fuzzer changes descriptions: mostly by quoted texts and lines, so that what
// comes out is still a description more often than not.

#include <algorithm>
#include <cstdint>
#include <iterator>
#include <random>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

extern "C" std::size_t LLVMFuzzerMutate(std::uint8_t* bytes, std::size_t size,
                                        std::size_t most);

namespace {

/// Where a stretch of the text begins and how long it is.
using Stretch = std::pair<std::size_t, std::size_t>;

constexpr std::string_view kValues[] = {"1 V",
                                        "5 V",
                                        "9 V",
                                        "-12 V",
                                        "59.9 V",
                                        "0 V",
                                        "0.7 V",
                                        "1 uV",
                                        "1 pA",
                                        "20 mA",
                                        "3 A",
                                        "100 A",
                                        "1R",
                                        "330R",
                                        "4k7",
                                        "10M",
                                        "1e12 ohm",
                                        "1 mohm",
                                        "1 pF",
                                        "220uF",
                                        "1 F",
                                        "1 nH",
                                        "10 mH",
                                        "1 H",
                                        "1 us",
                                        "2 ms",
                                        "0.5 s",
                                        "1 h",
                                        "500 Hz",
                                        "1 MHz",
                                        "0.001 Hz",
                                        "5%",
                                        "0.1%",
                                        "99.9%",
                                        "100%",
                                        "25 C",
                                        "-40 C",
                                        "150 C",
                                        "0.25 W",
                                        "1 nW",
                                        "20 K/W",
                                        "AWG 26",
                                        "0.14 mm2",
                                        "3 m",
                                        "800 mAh",
                                        "1e300 V",
                                        "1e-300 ohm",
                                        "high",
                                        "low",
                                        "open",
                                        "closed",
                                        "red",
                                        "warm white",
                                        "5 mm",
                                        "alkaline",
                                        "AA",
                                        "9V",
                                        "CR2032",
                                        "fresh",
                                        "spent",
                                        "1N4148",
                                        "1N5819",
                                        "BC547",
                                        "BC557",
                                        "7805",
                                        "78L05",
                                        "LM317",
                                        "cmos-5v",
                                        "cmos-3v3",
                                        "initial",
                                        "unpowered",
                                        "resistor",
                                        "trimmer",
                                        "capacitor",
                                        "inductor",
                                        "diode",
                                        "zener",
                                        "led",
                                        "transistor",
                                        "mosfet",
                                        "regulator",
                                        "switch",
                                        "controller",
                                        "dc-supply",
                                        "battery",
                                        "fuse",
                                        "lamp",
                                        "motor",
                                        "relay-coil",
                                        "buzzer",
                                        "wire",
                                        "voltage-source",
                                        "current-source",
                                        "light-resistor",
                                        "heat-resistor"};

class Changing {
 public:
  Changing(std::string text, unsigned seed) : text_(std::move(text)), random_(seed) {
    std::size_t begin = 0;
    for (std::size_t at = 0; at <= text_.size(); ++at) {
      if (at < text_.size() && text_[at] != '\n') continue;
      lines_.emplace_back(begin, std::min(at + 1, text_.size()) - begin);
      add_quoted(begin, at);
      begin = at + 1;
    }
  }

  /// The text with one change, or nothing where there is nothing to change that way.
  std::string changed() {
    switch (below(7)) {
      case 0:
        return with_other_value();
      case 1:
        return with_swap();
      case 2:
        return with_digits();
      case 3:
        return with_scale();
      case 4:
        return with(line(), "");
      case 5: {
        const Stretch from = line();
        return with({line().first, 0}, text_.substr(from.first, from.second));
      }
      default:
        return with_copy();
    }
  }

 private:
  void add_quoted(std::size_t begin, std::size_t end) {
    std::size_t open = text_.find('"', begin);
    while (open < end) {
      const std::size_t close = text_.find('"', open + 1);
      if (close >= end) return;
      quoted_.emplace_back(open + 1, close - open - 1);
      open = text_.find('"', close + 1);
    }
  }

  std::size_t below(std::size_t end) { return random_() % end; }
  Stretch line() { return lines_[below(lines_.size())]; }
  Stretch quote() { return quoted_[below(quoted_.size())]; }
  [[nodiscard]] std::string behind(const Stretch& s) const {
    return text_.substr(std::min(s.first + s.second, text_.size()));
  }
  [[nodiscard]] std::string with(const Stretch& at, std::string_view other) const {
    return text_.substr(0, at.first).append(other) + behind(at);
  }

  std::string with_other_value() {
    if (quoted_.empty()) return {};
    return with(quote(), kValues[below(std::size(kValues))]);
  }

  std::string with_copy() {
    if (quoted_.empty()) return {};
    const Stretch from = quote();
    return with(quote(), text_.substr(from.first, from.second));
  }

  std::string with_swap() {
    if (quoted_.size() < 2) return {};
    Stretch a = quote();
    Stretch b = quote();
    if (a.first == b.first) return {};
    if (a.first > b.first) std::swap(a, b);
    const std::string first = text_.substr(a.first, a.second);
    const std::string second = text_.substr(b.first, b.second);
    const std::size_t middle = a.first + a.second;
    return text_.substr(0, a.first) + second + text_.substr(middle, b.first - middle) +
           first + behind(b);
  }

  /// Another digit in place of one.
  std::string with_digits() {
    if (quoted_.empty()) return {};
    const Stretch in = quote();
    std::string inner = text_.substr(in.first, in.second);
    const auto digit = std::find_if(inner.begin(), inner.end(),
                                    [](char c) { return c >= '0' && c <= '9'; });
    if (digit == inner.end()) return {};
    *digit = static_cast<char>('0' + below(10));
    return with(in, inner);
  }

  /// A power of ten behind the number.
  std::string with_scale() {
    if (quoted_.empty()) return {};
    const Stretch in = quote();
    std::string inner = text_.substr(in.first, in.second);
    const std::size_t end = inner.find_first_not_of("0123456789.");
    if (end == 0 || end == std::string::npos) return {};
    const int power = static_cast<int>(below(19)) - 9;
    return with(in, inner.insert(end, "e" + std::to_string(power) + " "));
  }

  std::string text_;
  std::minstd_rand random_;
  std::vector<Stretch> lines_;
  std::vector<Stretch> quoted_;
};

}  // namespace

extern "C" std::size_t LLVMFuzzerCustomMutator(std::uint8_t* bytes, std::size_t size,
                                               std::size_t most, unsigned seed) {
  if (size == 0 || seed % 4 == 0) return LLVMFuzzerMutate(bytes, size, most);
  Changing changing(std::string(reinterpret_cast<const char*>(bytes), size), seed);
  const std::string changed = changing.changed();
  if (changed.empty() || changed.size() > most)
    return LLVMFuzzerMutate(bytes, size, most);
  std::copy(changed.begin(), changed.end(), bytes);
  return changed.size();
}
