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
#include "core/circuit/entries/limits.h"

// What the steps of reading a description share. Each step takes the tree of its table,
// adds to the circuit what it understands, complains about the rest and goes on.

namespace benchproof {

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
/// Whether a name is one of these.
[[nodiscard]] bool is_key_name(const Kind& kind, std::string_view name);

/// The tables of a list of tables, "[[runs]]"; a single one, "[runs]", is read on after
/// a complaint.
[[nodiscard]] std::vector<const TomlNode*> tables_of(Reading& reading,
                                                     const TomlEntry& list);

}  // namespace benchproof
