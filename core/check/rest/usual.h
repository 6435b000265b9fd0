#pragma once

#include <array>
#include <optional>

#include "core/check/rest/check.h"
#include "core/check/rest/limits.h"

namespace benchproof {

/// Shares of a rating that careful use keeps to; a resistor's is its figure
/// `usual_share`. Common practice, no source.
inline constexpr double kUsualCapacitorShare = 0.8;  ///< Of the rated voltage.
inline constexpr double kUsualSupplyShare = 0.8;     ///< Of the rated current.
inline constexpr double kUsualFuseShare = 0.75;      ///< Of the rated current.
inline constexpr double kUsualPinShare = 0.8;        ///< Of a controller pin's limit.

/// What an aluminium electrolytic stands for a short while the wrong way round; above
/// it it heats, gases and can burst. Common practice, no source.
inline constexpr double kCapacitorReverseVolts = 1.0;

/// The ratings that resistors are sold with. Watt. Common practice, no source.
inline constexpr std::array kResistorPowers = {0.125, 0.25, 0.5,  1.0,  2.0,
                                               3.0,   5.0,  10.0, 20.0, 50.0};

/// The power that counts against a resistor's rating: what heats it. A trimmer's rating
/// is for its whole track: what a part of the track carries counts as if all of it did.
/// Watt.
[[nodiscard]] Peak resistor_watts(const CheckInput& input, int part);

/// The share of its power rating that a resistor may use at an ambient temperature: all
/// of it up to `full_power_to`, from there in a straight line to none at `no_power_at`.
[[nodiscard]] double power_share_at(const Part& part, double ambient);

/// The power that a resistor may take at an ambient temperature; nothing where it has
/// no rating. Watt.
[[nodiscard]] std::optional<Figure> resistor_rating(const Part& part, double ambient);

/// What a wire of its gauge carries, alone in free air; nothing for one that is thicker
/// or thinner than the table. Ampere.
[[nodiscard]] std::optional<Figure> wire_rating(const Part& wire);

/// What is left of a battery's capacity, by its charge. Ampere-hour. Nothing where the
/// capacity is not known. The shares: common practice, no source.
[[nodiscard]] std::optional<Figure> charge_left(const Part& part);

/// The current that heats a part of two pins: the root of the mean square over the
/// phases. Ampere.
[[nodiscard]] double heating_amps(const CheckInput& input, int part);

}  // namespace benchproof
