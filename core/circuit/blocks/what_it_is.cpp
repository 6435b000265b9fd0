#include <fmt/format.h>

#include <string>
#include <vector>

#include "core/base/pieces.h"
#include "core/catalogue/other_names.h"
#include "core/circuit/blocks/detail/expanding.h"
#include "core/circuit/entries/usual_names.h"

// What a part is that does not say so rightly.

namespace benchproof {
namespace {

/// Whether a key is "kind" or "block"; a kind in capitals is written small.
bool says_what_it_is(TomlEntry& entry) {
  if (entry.key == "kind" && entry.value.type == TomlNode::Type::string)
    if (const Kind* kind = find_kind(lower_case(entry.value.text)))
      entry.value.text = kind->name;
  return entry.key == "kind" || entry.key == "block";
}

/// Whether a key is misspelt for "kind" or "block"; tells it then, and reads on as if
/// it were that.
bool is_misspelt(Reading& reading, TomlEntry& entry) {
  static const std::vector<std::string> names = {"kind", "block"};
  const std::string near = nearest(entry.key, names);
  if (near.empty()) return false;
  complain(reading, kKeyUnknown, entry.key_span,
           fmt::format("{} is not a key of a part", quoted(entry.key)),
           fmt::format("did you mean {}?", quoted(near)));
  entry.key = near;
  return true;
}

/// Whether a kind stands behind another key; tells it then, and reads on as if it stood
/// behind "kind".
bool names_kind(Reading& reading, const TomlEntry& part, TomlEntry& entry) {
  const bool may_be =
      entry.value.type == TomlNode::Type::string && entry.key != "label";
  const Kind* called = may_be ? find_kind_called(entry.value.text) : nullptr;
  if (called == nullptr) return false;
  const std::string kind(called->name);
  complain(reading, kKeyMissing, part.key_span,
           fmt::format("{} has no 'kind'", quoted(part.key)),
           fmt::format("write kind = \"{}\" in place of {}", kind, entry.key),
           fmt::format("{} in place of a kind", entry.key));
  entry.key = "kind";
  entry.value.text = kind;
  return true;
}

}  // namespace

void name_what_it_is(Reading& reading, TomlEntry& part) {
  if (part.value.type != TomlNode::Type::table) return;
  for (TomlEntry& entry : part.value.entries)
    if (says_what_it_is(entry)) return;
  for (TomlEntry& entry : part.value.entries)
    if (is_misspelt(reading, entry)) return;
  for (TomlEntry& entry : part.value.entries)
    if (names_kind(reading, part, entry)) return;
}

}  // namespace benchproof
