#include "tests/coils/coil_circuits.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <initializer_list>
#include <map>
#include <random>
#include <string_view>

namespace benchproof::test {
namespace {

/// How the transistor stands: below the coil, or above it (there the coil is on the
/// controller's 5 V, so that an output can switch it off), or two below it that share
/// their collectors.
enum class Stand { bipolar, pair, mosfet, upper_bipolar, upper_mosfet };

struct Driver {
  std::string_view name;
  Stand stand;
  double amps;  ///< The most that it is given to switch: within its rating.
};
constexpr std::array kDrivers = {
    Driver{"2N2222A", Stand::bipolar, 0.5},
    Driver{"2N3904", Stand::bipolar, 0.2},
    Driver{"BC337", Stand::bipolar, 0.6},
    Driver{"BC547B", Stand::bipolar, 0.1},
    Driver{"BC327", Stand::upper_bipolar, 0.5},
    Driver{"BC547B and BC337", Stand::pair, 0.6},
    Driver{"2N7000", Stand::mosfet, 0.2},
    Driver{"IRL520N", Stand::mosfet, 3.0},
    Driver{"IRLZ44N", Stand::mosfet, 3.0},
    Driver{"AO3401", Stand::upper_mosfet, 3.0},
};

bool is_upper(const Driver& driver) {
  return driver.stand == Stand::upper_bipolar || driver.stand == Stand::upper_mosfet;
}
bool is_mosfet(const Driver& driver) {
  return driver.stand == Stand::mosfet || driver.stand == Stand::upper_mosfet;
}

struct Load {
  std::string_view name;
  std::string_view part;  ///< As the description has it.
  double volts;           ///< Of its supply.
  double amps;
  double tau;  ///< L/R. Second.
};

// From memory: what solenoids of these voltages have.
constexpr std::array kCoils = {
    Load{"1 mH 47R", R"(kind = "inductor", value = "1 mH", dcr = "47 ohm")", 5, 0.106,
         1e-3 / 47},
    Load{"1 mH 22R", R"(kind = "inductor", value = "1 mH", dcr = "22 ohm")", 5, 0.227,
         1e-3 / 22},
    Load{"1 mH 100R", R"(kind = "inductor", value = "1 mH", dcr = "100 ohm")", 12, 0.12,
         1e-3 / 100},
    Load{"2.2 mH 3.9R", R"(kind = "inductor", value = "2.2 mH", dcr = "3.9 ohm")", 5,
         1.28, 2.2e-3 / 3.9},
    Load{"4.7 mH 8.2R", R"(kind = "inductor", value = "4.7 mH", dcr = "8.2 ohm")", 12,
         1.46, 4.7e-3 / 8.2},
    Load{"10 mH 68R", R"(kind = "inductor", value = "10 mH", dcr = "68 ohm")", 5, 0.074,
         10e-3 / 68},
    Load{"10 mH 33R", R"(kind = "inductor", value = "10 mH", dcr = "33 ohm")", 12,
         0.364, 10e-3 / 33},
    Load{"22 mH 100R", R"(kind = "inductor", value = "22 mH", dcr = "100 ohm")", 9,
         0.09, 22e-3 / 100},
    Load{"47 mH 70R", R"(kind = "inductor", value = "47 mH", dcr = "70 ohm")", 5, 0.071,
         47e-3 / 70},
    Load{"47 mH 24R", R"(kind = "inductor", value = "47 mH", dcr = "24 ohm")", 9, 0.375,
         47e-3 / 24},
    Load{"100 mH 150R", R"(kind = "inductor", value = "100 mH", dcr = "150 ohm")", 12,
         0.08, 100e-3 / 150},
    Load{"100 mH 240R", R"(kind = "inductor", value = "100 mH", dcr = "240 ohm")", 12,
         0.05, 100e-3 / 240},
    Load{"220 mH 56R", R"(kind = "inductor", value = "220 mH", dcr = "56 ohm")", 12,
         0.214, 220e-3 / 56},
    Load{"220 mH 220R", R"(kind = "inductor", value = "220 mH", dcr = "220 ohm")", 9,
         0.041, 220e-3 / 220},
    Load{"300 mH 400R", R"(kind = "inductor", value = "300 mH", dcr = "400 ohm")", 12,
         0.03, 300e-3 / 400},
    Load{"500 mH 125R", R"(kind = "inductor", value = "500 mH", dcr = "125 ohm")", 5,
         0.04, 500e-3 / 125},
    Load{"500 mH 1k", R"(kind = "inductor", value = "500 mH", dcr = "1 kohm")", 12,
         0.012, 500e-3 / 1000},
};
/// Parts that wind a coil. Their inductance is the program's affair, the time constant
/// a usual one (from memory).
constexpr std::array kCoilParts = {
    Load{"SRD-05VDC-SL-C", R"(kind = "relay-coil", type = "SRD-05VDC-SL-C")", 5, 0.0714,
         1e-3},
    Load{"SRD-12VDC-SL-C", R"(kind = "relay-coil", type = "SRD-12VDC-SL-C")", 12, 0.03,
         1e-3},
    Load{"G5V-2 5 V", R"(kind = "relay-coil", type = "G5V-2 5 V")", 5, 0.1, 1e-3},
    Load{"G5V-2 12 V", R"(kind = "relay-coil", type = "G5V-2 12 V")", 12, 0.0417, 1e-3},
    Load{"motor 5 V", R"(kind = "motor", voltage = "5 V", current = "90 mA")", 5, 0.09,
         1e-3},
    Load{"motor 9 V", R"(kind = "motor", voltage = "9 V", current = "80 mA")", 9, 0.08,
         1e-3},
    Load{"motor 12 V", R"(kind = "motor", voltage = "12 V", current = "150 mA")", 12,
         0.15, 1e-3},
    Load{"bell 5 V", R"(kind = "buzzer", type = "magnetic 5 V")", 5, 0.03, 1e-3},
    Load{"bell 12 V", R"(kind = "buzzer", type = "magnetic 12 V")", 12, 0.03, 1e-3},
};

constexpr std::array<std::string_view, 9> kOhms = {"220R", "330R", "470R", "680R", "1k",
                                                   "1k5",  "2k2",  "3k3",  "4k7"};
constexpr std::array<std::string_view, 5> kGuards = {
    "1N4148", "1N4001", "diode and resistor", "diode and zener", "none"};
constexpr std::array<std::string_view, 3> kModes = {"on", "off", "pwm"};
constexpr std::array<std::string_view, 2> kDiodes = {"1N4148", "1N4001"};
constexpr std::array<std::string_view, 4> kGuardOhms = {"47R", "100R", "220R", "470R"};
constexpr std::array<std::string_view, 3> kZeners = {"BZX55C5V6", "BZX55C12",
                                                     "1N4744A"};

struct Pulses {
  std::string_view frequency;
  double hertz;
};
constexpr std::array kPulses = {Pulses{"100 Hz", 100}, Pulses{"490 Hz", 490},
                                Pulses{"1 kHz", 1e3},  Pulses{"2 kHz", 2e3},
                                Pulses{"5 kHz", 5e3},  Pulses{"10 kHz", 10e3},
                                Pulses{"20 kHz", 20e3}};
constexpr std::array<std::string_view, 4> kShares = {"25%", "50%", "70%", "90%"};

/// Draws from the number of a combination alone. Not by a distribution, which differs
/// from library to library.
class Draws {
 public:
  explicit Draws(std::uint64_t number) : random_(number) {}
  template <typename List>
  const auto& one_of(const List& list) {
    return list[random_() % list.size()];
  }

 private:
  std::mt19937_64 random_;
};

/// A description as it comes together.
class Circuit {
 public:
  void part(std::string_view name, std::string_view figures) {
    parts_ += fmt::format("{} = {{ {} }}\n", name, figures);
  }
  void resistor(std::string_view name, std::string_view ohms, std::string_view watts) {
    part(name,
         fmt::format(R"(kind = "resistor", value = "{}", power = "{}")", ohms, watts));
  }
  void join(std::string_view net, std::initializer_list<std::string_view> pins) {
    for (const std::string_view pin : pins)
      nets_[std::string(net)].push_back(fmt::format("\"{}\"", pin));
  }
  [[nodiscard]] std::string text() const {
    std::string all = "[parts]\n" + parts_ + "\n[nets]\n";
    for (const auto& [net, pins] : nets_)
      all += fmt::format("{} = [{}]\n", net, fmt::join(pins, ", "));
    return all;
  }

 private:
  std::string parts_;
  std::map<std::string, std::vector<std::string>> nets_;
};

void add_supplies(Circuit& c, double volts) {
  c.part("quay", fmt::format(R"(kind = "dc-supply", voltage = "{} V", current = "3 A")",
                             volts));
  c.part("near", R"(kind = "capacitor", value = "100nF", rated = "50 V")");
  c.part("chip", R"(kind = "controller", type = "cmos-5v", outputs = ["work"])");
  c.join("rail", {"quay.plus"});
  c.join("ground", {"quay.minus", "near.b", "chip.vss"});
  const bool is_shared = volts == 5;
  c.join(is_shared ? "rail" : "logic", {"near.a", "chip.vdd"});
  c.join("out", {"chip.work"});
  if (is_shared) return;
  c.part("hut", R"(kind = "dc-supply", voltage = "5 V", current = "500 mA")");
  c.join("logic", {"hut.plus"});
  c.join("ground", {"hut.minus"});
}

void add_pair(Circuit& c) {
  c.part("first", R"(kind = "transistor", type = "BC547B")");
  c.part("driver", R"(kind = "transistor", type = "BC337")");
  c.resistor("foot", "10k", "0.25 W");
  c.join("drive", {"first.base"});
  c.join("between", {"first.emitter", "driver.base", "foot.a"});
  c.join("switched", {"first.collector", "driver.collector"});
  c.join("ground", {"driver.emitter", "foot.b"});
}

void add_driver(Circuit& c, const Driver& driver, std::string_view ohms) {
  c.resistor("drive_r", ohms, "0.25 W");
  c.join("out", {"drive_r.a"});
  c.join("drive", {"drive_r.b"});
  const std::string_view from = is_upper(driver) ? "rail" : "ground";
  if (driver.stand == Stand::pair) return add_pair(c);
  if (!is_mosfet(driver)) {
    c.part("driver", fmt::format(R"(kind = "transistor", type = "{}")", driver.name));
    c.join("drive", {"driver.base"});
    c.join("switched", {"driver.collector"});
    return c.join(from, {"driver.emitter"});
  }
  c.part("driver", fmt::format(R"(kind = "mosfet", type = "{}")", driver.name));
  c.resistor("foot", "100k", "0.25 W");
  c.join("drive", {"driver.gate", "foot.a"});
  c.join("switched", {"driver.drain"});
  c.join(from, {"driver.source", "foot.b"});
}

/// `leaves` is the net to which the coil's current flows, `enters` that from which.
void add_guard(Circuit& c, std::string_view guard, std::string_view leaves,
               std::string_view enters, Draws& draws) {
  if (guard == "none") return;
  const bool is_alone = guard == "1N4148" || guard == "1N4001";
  c.part("catch", fmt::format(R"(kind = "diode", type = "{}")",
                              is_alone ? guard : draws.one_of(kDiodes)));
  c.join(leaves, {"catch.anode"});
  if (is_alone) return c.join(enters, {"catch.cathode"});
  if (guard == "diode and zener") {
    c.part("slow",
           fmt::format(R"(kind = "zener", type = "{}")", draws.one_of(kZeners)));
    c.join("caught", {"catch.cathode", "slow.cathode"});
    return c.join(enters, {"slow.anode"});
  }
  c.resistor("slow", draws.one_of(kGuardOhms), "1 W");
  c.join("caught", {"catch.cathode", "slow.a"});
  c.join(enters, {"slow.b"});
}

/// The states and the run. What is wired from above works while the output is low.
std::string events(const Driver& driver, std::string_view mode, double tau,
                   Draws& draws) {
  const std::string_view on = is_upper(driver) ? "low" : "high";
  const std::string_view off = is_upper(driver) ? "high" : "low";
  const Pulses& pulses = draws.one_of(kPulses);
  const std::string working = mode == "pwm"
                                  ? fmt::format(R"({{ pwm = "{}", frequency = "{}" }})",
                                                draws.one_of(kShares), pulses.frequency)
                                  : fmt::format("\"{}\"", on);
  const double span =
      mode == "pwm" ? std::max(10 / pulses.hertz, 5 * tau) : std::max(1e-3, 5 * tau);
  const bool is_off = mode == "off";
  return fmt::format(
      "\n[states.working]\n\"chip.work\" = {}\n\n[states.resting]\n"
      "\"chip.work\" = \"{}\"\n\n[[runs]]\nname = \"{}\"\nfrom = \"{}\"\n"
      "state = \"{}\"\nspan = \"{:.4g} ms\"\n",
      working, off, is_off ? "lets go" : "takes hold", is_off ? "working" : "resting",
      is_off ? "resting" : "working", 1e3 * span);
}

/// A coil, one time out of four a part that winds one.
Load load_for(const Driver& driver, Draws& draws) {
  constexpr std::array kIsPart = {true, false, false, false};
  const std::vector<Load> all =
      draws.one_of(kIsPart) ? std::vector<Load>(kCoilParts.begin(), kCoilParts.end())
                            : std::vector<Load>(kCoils.begin(), kCoils.end());
  std::vector<Load> fitting;
  for (const Load& load : all)
    if (load.amps <= driver.amps && (load.volts == 5 || !is_upper(driver)))
      fitting.push_back(load);
  return draws.one_of(fitting);
}

CoilCircuit combine(std::size_t number, const Driver& driver, std::string_view guard,
                    std::string_view mode) {
  Draws draws(number);
  const Load load = load_for(driver, draws);
  const std::string_view ohms = draws.one_of(kOhms);

  Circuit c;
  add_supplies(c, load.volts);
  c.part("coil", load.part);
  add_driver(c, driver, ohms);
  const std::string_view enters = is_upper(driver) ? "switched" : "rail";
  const std::string_view leaves = is_upper(driver) ? "ground" : "switched";
  c.join(enters, {"coil.a"});
  c.join(leaves, {"coil.b"});
  add_guard(c, guard, leaves, enters, draws);

  const std::string name =
      fmt::format("{:03} {} {} {}, {} V, guard {}, {}", number, driver.name, mode,
                  load.name, load.volts, guard, ohms);
  return {name,
          std::string(driver.name),
          std::string(load.name),
          std::string(guard),
          std::string(mode),
          fmt::format("title = \"Harbour {}\"\n\n{}{}", name, c.text(),
                      events(driver, mode, load.tau, draws))};
}

}  // namespace

std::vector<CoilCircuit> coil_circuits() {
  constexpr int kOfEach = 2;
  std::vector<CoilCircuit> all;
  for (const Driver& driver : kDrivers)
    for (const std::string_view guard : kGuards)
      for (const std::string_view mode : kModes)
        for (int k = 0; k < kOfEach; ++k)
          all.push_back(combine(all.size(), driver, guard, mode));
  return all;
}

}  // namespace benchproof::test
