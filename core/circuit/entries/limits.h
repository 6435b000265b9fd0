#pragma once

#include <cstddef>
#include <span>
#include <string_view>

namespace benchproof {

/// The limits of a description; past one of them it is refused, with the figure.
struct Limits {
  std::size_t bytes = 1 << 20;
  std::size_t parts = 2000;
  std::size_t nets = 2000;
  std::size_t states = 200;
  std::size_t runs = 200;
  std::size_t variants = 50;
  std::size_t steps = 1000;          ///< Of one run.
  std::size_t pwm_corners = 12'000;  ///< Of one run: twice per change of an output.
  std::size_t all_corners = 60'000;  ///< Of all runs; steps count like changes.
  std::size_t figures = 250'000;     ///< Of all states: their phases times the parts.
  /// Of all versions that are judged together (a description with its variants, or what
  /// is compared): their states' phases times their parts.
  std::size_t all_figures = 500'000;
  std::size_t pins = 200;  ///< Outputs or inputs of one controller.
  int nesting = 16;
  int block_depth = 8;                ///< Blocks within each other.
  std::size_t block_files = 50;       ///< From which blocks are taken.
  std::size_t block_items = 100'000;  ///< Parts, and items of lists, of all blocks.
  std::size_t name_length = 64;
  std::size_t text_length = 200;  ///< Characters of a title, label, source or reason.
  std::size_t complaints = 50;    ///< More are counted, not told.
  /// The ids of the findings that a description may expect; empty: whatever.
  std::span<const std::string_view> findings = {};
};

}  // namespace benchproof
