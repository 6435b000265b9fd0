#pragma once

#include <optional>
#include <string_view>

#include "core/circuit/circuit.h"

namespace benchproof {

/// Below this share of its set voltage a regulator's input counts as switched off, not
/// as low. Common practice, no source.
inline constexpr double kRegulatorOffShare = 0.1;

/// Below this supply voltage a chip counts as switched off. Common practice, no source.
inline constexpr double kControllerOffVolts = 0.5;

/// The band of an input's voltage, over the supply, in which a level is not certain.
inline constexpr double kLowShare = 0.3, kHighShare = 0.7;

/// The greatest supply voltage at which a chip is made to work; nothing where the
/// description gives its `supply_max` and no `operating_max`: that is the builder's
/// word for how far it may go. Volt.
[[nodiscard]] std::optional<Figure> operating_limit(const Part& chip, double ambient);

/// A chip's supply the wrong way round by more than this drives the chip's own diodes
/// forward. Common practice, no source (what sheets usually allow below VSS). Volt.
inline constexpr double kReversedChipVolts = 0.3;

// Limits that follow from several figures of a part, or from a table that all share. A
// function that the table of ratings names takes the part and the ambient temperature,
// in degrees Celsius, and gives nothing where the part has no such limit.

/// The thermal resistance from a part's junction to the air: that of the part in still
/// air, or with a heat sink that of junction to case and of the sink. Nothing where it
/// is not known. K/W.
struct ThermalPath {
  Figure resistance;
  bool on_heatsink = false;
};
[[nodiscard]] std::optional<ThermalPath> thermal_path(const Part& part);

/// Its resistance alone. K/W.
[[nodiscard]] std::optional<double> kelvin_per_watt(const Part& part);

/// The power that a part bears for ever: its rating, or what brings its junction to its
/// limit, whichever is less.
[[nodiscard]] std::optional<Figure> lasting_watts(const Part& part, double ambient);
[[nodiscard]] std::optional<double> lasting_watts_number(const Part& part,
                                                         double ambient);

/// The share of its power rating that a resistor may use at an ambient temperature: all
/// of it up to `full_power_to`, from there in a straight line to none at `no_power_at`.
[[nodiscard]] double power_share_at(const Part& part, double ambient);

/// The power that a resistor may take at an ambient temperature; nothing where it has
/// no rating. Watt.
[[nodiscard]] std::optional<Figure> resistor_rating(const Part& part, double ambient);
[[nodiscard]] std::optional<double> resistor_rating_number(const Part& part,
                                                           double ambient);

/// What a wire of its gauge carries, alone in free air; nothing for one that is thicker
/// or thinner than the table. Ampere.
[[nodiscard]] std::optional<Figure> wire_rating(const Part& wire, double ambient);

/// What is left of a battery's capacity, by its charge, and by the current that it
/// delivers where its type has the capacity by load. Ampere-hour. Nothing where the
/// capacity is not known. The shares: common practice, no source.
[[nodiscard]] std::optional<Figure> charge_left(const Part& battery, double amps);

/// The current that a battery whose sheet names none is good for: a share of its
/// capacity in an hour, by its chemistry. Ampere.
[[nodiscard]] std::optional<Figure> battery_rate(const Part& battery, double ambient);

/// The least input of a regulator: what it is set to and its dropout. Volt.
[[nodiscard]] std::optional<Figure> least_input(const Part& regulator, double ambient);
[[nodiscard]] std::optional<double> least_input_number(const Part& regulator,
                                                       double ambient);

/// What an aluminium electrolytic stands for a short while the wrong way round; above
/// it it heats, gases and can burst. Common practice, no source. Volt.
[[nodiscard]] std::optional<Figure> reverse_limit(const Part& capacitor,
                                                  double ambient);

/// A chip's supply the wrong way round by more than kReversedChipVolts is reversed.
[[nodiscard]] std::optional<Figure> reversed_chip_limit(const Part& chip,
                                                        double ambient);

/// A regulator's input below its common pin by more than this is reversed. Common
/// practice, no source. Volt.
[[nodiscard]] std::optional<Figure> reversed_input_limit(const Part& regulator,
                                                         double ambient);

/// What skin bears of metal: 60 C burns within 5 s (emc-pstc list post quoting burn
/// data, Shriners Burn Institute).
[[nodiscard]] std::optional<Figure> burn_limit(const Part& part, double ambient);

}  // namespace benchproof
