#pragma once

#include <cstddef>
#include <span>
#include <string_view>
#include <utility>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/catalogue/catalogue.h"

namespace benchproof {

/// The limits of a catalogue file; past one of them it is refused, with the figure.
struct CatalogueLimits {
  std::size_t bytes = 1 << 20;
  std::size_t types = 2000;  ///< Families as well.
  std::size_t points = 100;  ///< Of one type.
  int nesting = 16;
  std::size_t name_length = 64;  ///< Characters of a type's, family's or source's name.
  std::size_t text_length = 200;  ///< Characters of a figure or source.
  std::size_t complaints = 50;    ///< More are counted, not told.
};

/// Whose a catalogue file is: the project's may hold what a kind assumes when not told
/// (types named "default"), a user's may hold figures that are `given`, without source.
enum class Author { project, user };

/// What a catalogue file came to.
struct ReadTypes {
  /// In the file's order. With complaints: what was understood, enough to look names
  /// up in, not to solve with.
  std::vector<Type> types;
  std::vector<Diagnostic> diagnostics;  ///< In line order; empty when all is well.
  /// False: the file has types of which not even kind and name are known.
  bool has_all_names = true;
};

/// Reads one catalogue file by the rules of reference/parts/README.md and fits the
/// types' device models. All complaints come in one run, except that a TOML syntax
/// error ends the reading. `known` holds the types that there are already, whose names
/// are taken; `file_name` is the source of figures that are `given` without one. Never
/// throws on any input.
[[nodiscard]] ReadTypes read_types(std::string_view text, std::string_view file_name,
                                   const Catalogue& known, Author author,
                                   const CatalogueLimits& limits = {});

/// The catalogue with more types behind its own.
[[nodiscard]] Catalogue with_types(const Catalogue& known, std::vector<Type> more);

/// Reads data files (name and TOML text each) into types and fits their device models.
/// @throws std::runtime_error with file and line on data that breaks the rules stated
///         in reference/parts/README.md: our mistake, caught by a test.
[[nodiscard]] Catalogue read_catalogue(
    std::span<const std::pair<std::string, std::string_view>> files);

}  // namespace benchproof
