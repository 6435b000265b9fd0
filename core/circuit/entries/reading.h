#pragma once

#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <tuple>
#include <utility>
#include <vector>

#include "core/base/complaints.h"
#include "core/base/diagnostic.h"
#include "core/base/diagnostic_ids.h"
#include "core/base/toml_tree.h"
#include "core/catalogue/catalogue.h"
#include "core/circuit/circuit.h"
#include "core/circuit/read/reader.h"

// The steps of reading a description. Each takes the tree of its table, adds to the
// circuit what it understands, complains about the rest and goes on.

namespace benchproof {

/// The net that is the zero.
inline constexpr std::string_view kGround = "ground";
/// The list of pins that are left open.
inline constexpr std::string_view kOpen = "open";

/// Highest voltage of a supply or battery: extra-low voltage, dry skin. Volt.
inline constexpr double kMostSupplyVolts = 60.0;

/// What the later steps must know of a part, so that one mistake is told once.
struct PartNotes {
  bool is_understood = false;      ///< False: its pins are not known.
  bool has_pin_complaint = false;  ///< A pin of it was misspelt somewhere.
};

/// A block that stands in the place of a part.
struct Use {
  std::vector<std::string> pins;  ///< Each a net within it: "quay1/in".
  Span span;
  bool is_understood = true;  ///< False: its pins are not known.
};

/// The place of a complaint, and its id: what is said of a block's inside comes again
/// for each use of it.
using Told = std::tuple<int, Position, Position, std::string>;
[[nodiscard]] inline Told told(const Diagnostic& d) {
  return {d.span.file, d.span.begin, d.span.end, d.id};
}

/// A name in a list or path that is no part's, and that no part's is near to.
struct UnknownName {
  std::string name;
  std::string pin;  ///< Empty where the name stands by itself.
  Span span;        ///< Where it is told of.
};

/// What the steps of one reading share.
struct Reading {
  const Catalogue& catalogue;
  const Limits& limits;
  Circuit circuit = {};
  std::vector<PartNotes> notes = {};         ///< One per part.
  std::vector<std::string> part_names = {};  ///< One per part.
  std::map<std::string, int, std::less<>> part_index = {};
  std::map<std::string, int, std::less<>> net_index = {};
  std::map<std::string, int, std::less<>> run_index = {};
  std::map<std::string, Use, std::less<>> uses = {};   ///< Of blocks, by name.
  std::set<std::string, std::less<>> made_names = {};  ///< Not written so by the user.
  double corners = 0.0;      ///< Of all runs so far: see Limits::all_corners.
  bool has_all_runs = true;  ///< False: the list of runs was not understood.
  std::vector<Diagnostic> diagnostics = {};
  /// What was only guessed from a misspelt key: nothing is complained of there.
  std::vector<Span> guessed = {};
  /// Tables with a key that means nothing known: what they miss may be meant by it.
  std::vector<Span> strange = {};
  std::vector<UnknownName> unknown_names = {};
  /// Keys of parts whose values were not understood: they are not missed besides.
  std::set<std::pair<std::string, std::string>> misread_keys = {};
  /// A list or path was not understood: what stands on no net may stand there.
  bool has_unread_wiring = false;
  /// What lists and paths name, up to a point: of two names that are as near, the one
  /// that stands nowhere is meant.
  std::set<std::string, std::less<>> mentioned = {};
  /// The nearest names that were found, by the place of the name and its text.
  std::map<std::tuple<int, Position, std::string>, std::string> nearest_names = {};
  int suggestions_left = kMostSuggestions;
};

/// `cause` is what is wrong without whose it is (see Diagnostic).
void complain(Reading& reading, const DiagnosticId& id, const Span& span,
              std::string message, std::string hint = "", std::string cause = "");

/// names_hint with the candidate that is nearest to `name`.
[[nodiscard]] std::string suggestion(Reading& reading, std::string_view name,
                                     const std::vector<std::string>& candidates,
                                     std::string_view what,
                                     std::size_t most = kMostListed);

/// What may be meant by a name that is no part's.
struct NearName {
  std::string name;  ///< In full; empty where none is near.
  std::string hint;  ///< With the names that may stand there.
};

/// The part, or other thing, that is nearest to `name`. Within a block (see
/// Span::file) names are told as they are written there. `is_joined`: it is said of
/// pins, which do not reach into blocks.
[[nodiscard]] NearName near_part(Reading& reading, std::string_view name,
                                 const Span& span, bool is_joined,
                                 const std::vector<std::string>& others = {});

/// Notes a name that no part has, and the place at which that is told.
void note_unknown(Reading& reading, std::string_view name, std::string_view pin,
                  const Span& span);

/// Whether a key is but a guess from a misspelt one.
[[nodiscard]] bool is_guess(const Reading& reading, const Span& span);

/// Whether the text is a name; complains otherwise. `what` as in "a part".
bool check_name(Reading& reading, std::string_view name, const Span& span,
                std::string_view what);

/// Whether a title, label or reason is printable text of at most the limit's
/// characters.
bool check_text(Reading& reading, const std::string& text, const Span& span,
                std::string_view target);

/// Whether the node is of the type; complains otherwise. `target` names the key.
bool expect_type(Reading& reading, const TomlNode& node, TomlNode::Type type,
                 std::string_view target, std::string_view hint = {});

/// A table as it is read on when its unknown keys have been told.
struct KnownKeys {
  const TomlNode* given = nullptr;
  /// Each misspelt key by the name that it likely means; nothing where none is.
  std::optional<TomlNode> meant = {};
  bool has_stranger = false;  ///< A key means nothing that is known.

  [[nodiscard]] const TomlNode& table() const { return meant ? *meant : *given; }
};

/// Complains about every entry whose key is not among the known ones; `meaning` may
/// know what is meant by one better than by its spelling. What is misspelt is read on
/// as what it likely means, so that it is not missed as well.
[[nodiscard]] KnownKeys known_keys(
    Reading& reading, const TomlNode& table, const std::vector<std::string>& known,
    std::string_view where,
    const std::function<std::string_view(std::string_view)>& meaning = {});

/// The keys at the top of a description.
[[nodiscard]] const std::vector<std::string>& description_keys();

/// Adds to the complaint about a key that means nothing what its table misses, which
/// may be meant by it.
void advise(Reading& reading, std::string_view need);

/// The names of the keys that a part of that kind may have.
[[nodiscard]] std::vector<std::string> key_names(const Kind& kind);

/// A part's pin written "part.pin". Nothing after a complaint; an index of -1 for the
/// pin of a part that was not understood.
[[nodiscard]] std::optional<PinRef> read_pin(Reading& reading, std::string_view text,
                                             const Span& span);

/// Complains that a part has no such pin, with what is meant by it.
void tell_no_pin(Reading& reading, const Part& part, std::string_view pin,
                 const Span& span);

/// Reads a quantity with its unit; complains otherwise. `target` names it.
[[nodiscard]] std::optional<double> read_quantity(Reading& reading,
                                                  const TomlNode& node, Unit unit,
                                                  std::string_view target);

/// Reads what stands behind a key of a part of that kind.
[[nodiscard]] std::optional<Setting> read_setting(Reading& reading, KindId kind,
                                                  const Key& key, const TomlNode& node,
                                                  std::string_view target);

/// The battery of that charge, chemistry and size; null when the catalogue has none.
[[nodiscard]] const Type* find_battery(const Catalogue& catalogue, const Part& part);

/// The state of that name, or -1 after a complaint; `others` are the words that may
/// stand in its place.
[[nodiscard]] int read_state_index(Reading& reading, const TomlNode& name,
                                   const std::vector<std::string>& others = {});

/// Reads a time within a run of that length (0: not known); complains otherwise.
[[nodiscard]] std::optional<double> read_time(Reading& reading, const TomlNode& node,
                                              double span, std::string_view target);

/// Rules that need more than one key of a part: safety of supplies, the no-load
/// voltage.
void check_part(Reading& reading, const Part& part);

/// Reads the keys `shape` and `legs` of a part whose pins are known.
void read_shape(Reading& reading, const TomlNode& table, Part& part);

void read_parts(Reading& reading, const TomlNode& table);
void read_nets(Reading& reading, const TomlEntry& nets);
/// `states` is null where the description has none.
void read_states(Reading& reading, const TomlEntry* states);
void read_runs(Reading& reading, const TomlEntry& list);
void read_expectations(Reading& reading, const TomlEntry& list);
/// The tables of a list of tables, "[[runs]]"; a single one, "[runs]", is read on after
/// a complaint.
[[nodiscard]] std::vector<const TomlNode*> tables_of(Reading& reading,
                                                     const TomlEntry& list);
void read_tolerances(Reading& reading, const TomlNode& table);
/// Reads [board] or [boards], if there is one.
void read_boards(Reading& reading, const TomlNode& root);
/// Reads an expectation that has the key `finding`.
void read_expected_finding(Reading& reading, const TomlNode& table);

}  // namespace benchproof
