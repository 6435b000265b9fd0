#include "cli/render/diagram/svg_symbols.h"

#include <fmt/format.h>

#include "core/circuit/topology.h"

namespace benchproof {
namespace {

/// A stroke.
std::string path(std::string_view course) {
  return fmt::format("<path d=\"{}\"/>", course);
}

std::string filled(std::string_view course) {
  return fmt::format("<path class=\"full\" d=\"{}\"/>", course);
}

std::string ring() { return "<circle r=\"14\"/>"; }

/// The leads of a symbol that reaches so far up and down.
std::string leads(int half) {
  return path(fmt::format("M0 -30V{}M0 {}V30", -half, half));
}

std::string side_lead(double side, int to) {
  return path(fmt::format("M{:.0f} 0H{}", -side, to));
}

std::string box(int half_width, int half_height) {
  return fmt::format("<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
                     -half_width, -half_height, 2 * half_width, 2 * half_height);
}

std::string resistor() { return leads(18) + box(8, 18); }

/// Anode above.
std::string diode() { return leads(9) + path("M-10 -9H10L0 9Z") + path("M-10 9H10"); }

/// Light that leaves or comes in.
std::string light_arrow(int x, int y) {
  return path(fmt::format("M{} {}l8 -8", x, y)) +
         filled(fmt::format("M{} {}l-5 1l4 4Z", x + 9, y - 9));
}

std::string light_comes(int x, int y) {
  return path(fmt::format("M{} {}l8 8", x, y)) +
         filled(fmt::format("M{} {}l-5 -1l4 -4Z", x + 9, y + 9));
}

std::string capacitor(bool is_polarised) {
  std::string text = leads(4) + path("M-13 -4H13M-13 4H13");
  if (is_polarised) text += path("M-14 -12H-7M-10.5 -15.5V-8.5");
  return text;
}

/// The first main pin above: the collector of an NPN, the emitter of a PNP.
std::string transistor(double side, bool is_pnp) {
  std::string text = side_lead(side, -9) + path("M-9 -12V12") +
                     path("M-9 -5L0 -15V-30M-9 5L0 15V30") +
                     "<circle cx=\"-3\" r=\"17\"/>";
  // At the emitter: out of an NPN, into a PNP.
  text += is_pnp ? filled("M-8 -6L-1.5 -8.5L-5.8 -13.2Z")
                 : filled("M-0.8 14.2L-2.2 7.5L-7 12Z");
  return text;
}

/// The first main pin above: the drain of an n-channel, the source of a p-channel one.
std::string mosfet(double side, bool is_p_channel) {
  std::string text = side_lead(side, -13) + path("M-13 -11V11") +
                     path("M-8 -14V-7M-8 -3.5V3.5M-8 7V14") +
                     path("M-8 -10.5H0V-30M-8 10.5H0V30") +
                     "<circle cx=\"-3\" r=\"17\"/>";
  text += is_p_channel ? path("M-8 0H0V-10.5") + filled("M0 0L-6 -3V3Z")
                       : path("M-8 0H0V10.5") + filled("M-8 0L-2 -3V3Z");
  return text;
}

std::string battery() {
  return leads(9) + path("M-12 -9H12M-12 3H12") +
         "<path style=\"stroke-width: 3\" d=\"M-6 -3H6M-6 9H6\"/>" +
         path("M0 -3V3M-15 -16H-8M-11.5 -19.5V-12.5");
}

std::string dc_supply() {
  return leads(16) + box(14, 16) +
         path("M-8 -2H8M-8 3H-4M-2 3H2M4 3H8M-3 -10H3M0 -13V-7M-3 10H3");
}

}  // namespace

std::string symbol_shape(const Part& part, double side) {
  switch (part.kind) {
    case KindId::resistor:
      return resistor();
    case KindId::trimmer:
      return resistor() + side_lead(side, -14) + filled("M-8 0L-15 -3.5V3.5Z");
    case KindId::light_resistor:
      return resistor() + light_comes(-28, -10) + light_comes(-28, 0);
    case KindId::heat_resistor:
      return resistor() + path("M-20 18H-13L13 -18");
    case KindId::capacitor:
      return capacitor(part.pins.front() == "plus");
    case KindId::inductor:
      return leads(20) + path(
                             "M0 -20a5 5 0 0 1 0 10a5 5 0 0 1 0 10a5 5 0 0 1 0 10a5 5 "
                             "0 0 1 0 10");
    case KindId::diode:
      return diode();
    case KindId::zener:
      return diode() + path("M-10 9V14");
    case KindId::led:
      return diode() + light_arrow(13, -1) + light_arrow(17, 7);
    case KindId::transistor:
      return transistor(side, polarity(part) < 0);
    case KindId::mosfet:
      return mosfet(side, polarity(part) < 0);
    case KindId::regulator:
      return leads(17) + side_lead(side, -28) + box(28, 17);
    case KindId::switch_:
      return leads(12) + "<circle cy=\"-12\" r=\"2\"/><circle cy=\"12\" r=\"2\"/>";
    case KindId::dc_supply:
      return dc_supply();
    case KindId::battery:
      return battery();
    case KindId::fuse:
      return box(6, 15) + path("M0 -30V30");
    case KindId::lamp:
      return leads(14) + ring() + path("M-9.9 -9.9L9.9 9.9M-9.9 9.9L9.9 -9.9");
    case KindId::motor:
      return leads(14) + ring();
    case KindId::relay_coil:
      return leads(9) + box(15, 9);
    case KindId::buzzer:
      return path("M0 -30V-7H6M0 30V7H6") + path("M6 -14V14A14 14 0 0 1 6 -14Z");
    case KindId::wire:
      return leads(16) + "<path style=\"stroke-width: 4\" d=\"M0 -16V16\"/>";
    case KindId::voltage_source:
      return ring() + path("M0 -30V30M-20 -20H-13M-16.5 -23.5V-16.5");
    case KindId::current_source:
      return leads(14) + ring() + path("M-14 0H14M-20 12V-4") +
             filled("M-20 -11L-24 -3H-16Z");
    case KindId::controller:
      break;  // A block.
  }
  return {};
}

std::string letters_of(const Part& part, const Symbol& symbol) {
  const auto letters = [&](double dx, double dy, const char* classes,
                           std::string_view text) {
    return fmt::format(
        "<text class=\"{}\" x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"middle\">{}</text>"
        "\n",
        classes, symbol.at.x + dx, symbol.at.y + dy, text);
  };
  switch (part.kind) {
    case KindId::motor:
      return letters(0.0, 4.5, "name", "M");
    case KindId::heat_resistor:
      return letters(-18.0, -2.0, "small", "\u03D1");
    case KindId::regulator: {
      const double up = symbol.is_flipped ? 14.0 : -8.0;
      const double down = symbol.is_flipped ? -8.0 : 14.0;
      const bool is_negative = polarity(part) < 0;
      return letters(0.0, up, "small", is_negative ? "out" : "in") +
             letters(0.0, down, "small", is_negative ? "in" : "out");
    }
    default:
      return {};
  }
}

std::string lever_text(const Symbol& symbol, bool is_closed) {
  // The lever hangs at the lower contact.
  return fmt::format("<path d=\"M{:.1f} {:.1f}L{:.1f} {:.1f}\"/>\n", symbol.at.x,
                     symbol.at.y + 10.0, symbol.at.x - (is_closed ? 0.0 : 12.0),
                     symbol.at.y - (is_closed ? 10.0 : 9.0));
}

std::string light_text(const Part& part, const Symbol& symbol) {
  if (part.kind == KindId::led)
    return fmt::format(
        "<path class=\"full\" transform=\"translate({:.1f} {:.1f}) scale(1 {})\" "
        "d=\"M-10 -9H10L0 9Z\"/>\n",
        symbol.at.x, symbol.at.y, symbol.is_flipped ? -1 : 1);
  return fmt::format(
      "<path transform=\"translate({:.1f} {:.1f})\" d=\"M-15 -10L-21 -14M15 -10L21 -14"
      "M-15 10L-21 14M15 10L21 14M-17 0H-24M17 0H24\"/>\n",
      symbol.at.x, symbol.at.y);
}

}  // namespace benchproof
