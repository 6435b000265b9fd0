#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/complaints.h"
#include "core/base/diagnostic.h"
#include "core/base/toml_tree.h"
#include "core/catalogue/catalogue.h"
#include "core/catalogue/figure_names.h"
#include "core/catalogue/read/read_types.h"

namespace benchproof {

/// Name of the type that holds what its kind assumes when not told.
inline constexpr std::string_view kDefaultType = "default";

/// A type as read, before its model is fitted.
struct Draft {
  Type type;
  std::string curve_of;  ///< The type whose n and rs its forward curve shares.
  Span curve_span;
  Span span;
  bool is_whole = true;  ///< Nothing of it earned a complaint.
};

struct Source {
  std::string text;
  Span span;
  bool is_used = false;
};

struct Family {
  Type type;
  bool is_whole = true;
};

/// One data file while it is read: read_types.cpp has the order of the steps.
struct DataFile {
  const Catalogue& known;
  Author author;
  const CatalogueLimits& limits;
  std::string name;
  std::map<std::string, Source, std::less<>> sources = {};
  std::map<std::string, Family, std::less<>> families = {};
  std::vector<Draft> drafts = {};
  std::vector<Diagnostic> diagnostics = {};
  bool has_all_names = true;
  int suggestions_left = kMostSuggestions;
};

void complain(DataFile& file, const DiagnosticId& id, const Span& span,
              std::string message, std::string hint = "");

/// Whether a node is of that type; a complaint if not. `target` is its key.
[[nodiscard]] bool expect_type(DataFile& file, const TomlNode& node,
                               TomlNode::Type type, std::string_view target);

/// Whether it is a text that can be shown, of at most `most` characters and not empty;
/// a complaint if not.
bool expect_text(DataFile& file, const TomlNode& node, std::size_t most,
                 std::string_view target);

/// The figure of that entry of a type, or nothing after a complaint.
[[nodiscard]] std::optional<Figure> figure_of(DataFile& file, KindId id,
                                              const TomlEntry& entry);

/// A point of that curve, "150 mA, 15 mA, 0.3 V | mark | source | condition", or
/// nothing after a complaint.
[[nodiscard]] std::optional<CurvePoint> curve_point_of(DataFile& file,
                                                       const CurveName& curve,
                                                       const TomlNode& node);

/// "20 mA, 2.0 V | mark | source | condition", or nothing after a complaint.
[[nodiscard]] std::optional<ForwardPoint> point_of(DataFile& file,
                                                   const TomlNode& node);

void read_sources(DataFile& file, const TomlNode& table);
void read_families(DataFile& file, const TomlEntry& families);
void read_drafts(DataFile& file, const TomlEntry& types);

/// Complains of names that are taken: a name means one thing.
void check_names(DataFile& file);
/// Complains of what a type of its kind cannot do without.
void check_needs(DataFile& file, Draft& draft);
/// Complains of figures that contradict each other.
void check_orders(DataFile& file, Draft& draft);

/// Checks what every draft needs and fits the device models of those that are whole;
/// who shares a curve comes last.
void fit_drafts(DataFile& file);

}  // namespace benchproof
