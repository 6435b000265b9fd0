#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "core/network/network.h"
#include "spice/deck/deck.h"

/// The lines that decks at rest and in time have in common.
namespace benchproof::deck_lines {

inline constexpr std::string_view kTitle = "* a network of benchproof";

/// "n<index>", ground "0".
[[nodiscard]] std::string node(int index);

/// Reads back as the same double.
[[nodiscard]] std::string number(double value);

/// The k-th element (from 0) of its list: "<name><k + 1> n1 n2 <rest>".
[[nodiscard]] std::string two_ends(std::string_view name, std::size_t k,
                                   const TwoEnds& e, std::string_view rest);

/// Its ends change places: the engine's current runs from the first node through the
/// source to the second, ours leaves at the first.
[[nodiscard]] std::string current_source(std::size_t k, const TwoEnds& e,
                                         std::string_view rest);

enum class Analysis { at_rest, in_time };

/// Adds diodes, transistors and regulators with their models. Besides the letters of
/// their lists they take the names ff, fr, vf, vr, df, dr (an ideal transistor) with
/// nodes f and r, and those of regulator_lines.h.
void add_devices(std::vector<std::string>& lines, const Network& network,
                 Analysis analysis);

/// Whether a transistor is written as two diodes and two current-controlled current
/// sources.
[[nodiscard]] bool is_two_diodes(const BipolarModel& m);

/// See annotate(). What is explained are the names that the deck's lines have.
[[nodiscard]] std::string annotated(const Network& network, const Deck& deck,
                                    const std::vector<std::string>& part_names);

/// What is pinned of the engine's options in every deck.
[[nodiscard]] std::string options_line(double reltol, double vntol, double abstol,
                                       double celsius);

/// Adds a start for Newton's method: `volts` per node, ground first.
void add_nodesets(std::vector<std::string>& lines, const Structure& s,
                  const std::vector<double>& volts);

}  // namespace benchproof::deck_lines
