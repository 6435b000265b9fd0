#include "core/circuit/paths/joints.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <utility>

#include "core/base/pieces.h"
#include "core/circuit/paths/detail/joining.h"
#include "core/circuit/paths/detail/path_items.h"
#include "core/circuit/paths/detail/scopes.h"

namespace benchproof {
namespace {

/// No scope is called so.
constexpr std::string_view kNoScope = ".";

/// The lists or paths of a description, or none where it has no such table.
std::vector<const TomlEntry*> lines_in(const TomlNode& root, std::string_view key) {
  std::vector<const TomlEntry*> lines;
  for (const TomlEntry& line : entries_in(root, key)) lines.push_back(&line);
  return lines;
}

/// Whether it can be told what each item of a path is.
bool is_readable(const TomlNode& path) {
  return path.type == TomlNode::Type::array &&
         std::all_of(path.items.begin(), path.items.end(), [](const TomlNode& item) {
           return item.type == TomlNode::Type::string;
         });
}

/// The scope of a list or path. One that the user called so has none.
std::string_view scope_at(const Reading& reading, const std::string& key) {
  return reading.made_names.contains(key) ? scope_of(key) : std::string_view();
}

/// What is said in one scope.
struct Statements {
  std::vector<const TomlEntry*> lists;
  std::vector<const TomlEntry*> paths;
};

/// All that is said, the innermost scopes first.
std::map<std::pair<std::ptrdiff_t, std::string_view>, Statements> by_scope(
    const Joining& joining) {
  std::map<std::pair<std::ptrdiff_t, std::string_view>, Statements> found;
  const auto at = [&](const TomlEntry& entry) -> Statements& {
    const std::string_view scope = scope_at(joining.reading, entry.key);
    return found[{-depth_of(scope), scope}];
  };
  for (const TomlEntry* list : joining.lists)
    if (!is_open_list(list->key)) at(*list).lists.push_back(list);
  for (const TomlEntry* path : joining.paths) at(*path).paths.push_back(path);
  return found;
}

/// Counts where words stand as nets (see Joining::standing).
void note_standing(Joining& joining, const TomlNode& root) {
  std::map<std::string, int, std::less<>>& standing = joining.standing;
  standing.emplace(kGround, 2);
  for (const auto& [name, node] : joining.graph.nets()) standing[name] += 2;
  for (const auto& [name, use] : joining.reading.uses)
    for (const std::string& pin : use.pins) standing[name + "/" + pin] += 2;
  for (const TomlEntry* path : joining.paths)
    for (const TomlNode& item : path->value.items) {
      const bool is_marked = item.text.starts_with(kNetMark);
      if (item.type == TomlNode::Type::string)
        standing[is_marked ? item.text.substr(kNetMark.size()) : item.text] +=
            is_marked ? 2 : 1;
    }
  const TomlEntry* expect = find_entry(root, "expect");
  if (expect == nullptr) return;
  for (const TomlNode& table : expect->value.items)
    for (const std::string_view key : {"net", "to"})
      if (const TomlEntry* entry = find_entry(table, key))
        standing[entry->value.text] += 2;
}

/// The pin that an item of a list names; nothing, and no complaint, for anything else.
std::optional<PinRef> known_pin(const Reading& reading, const TomlNode& item) {
  const auto [owner, name] = split_at_dot(item.text);
  const auto found = reading.part_index.find(owner);
  if (found == reading.part_index.end()) return std::nullopt;
  const int index =
      pin_index(reading.circuit.parts[static_cast<std::size_t>(found->second)], name);
  if (index < 0) return std::nullopt;
  return PinRef{found->second, index};
}

/// Notes what is left open.
void read_open(Joining& joining) {
  for (const TomlEntry* list : joining.lists) {
    if (!is_open_list(list->key)) continue;
    for (const TomlNode& item : list->value.items) {
      const auto [owner, name] = split_at_dot(item.text);
      if (joining.reading.uses.contains(owner)) {
        const PathItem found = pin_of_use(joining, item, owner, name);
        if (found.enters >= 0) joining.open[found.enters] = {item.span, owner + "/"};
      } else if (const auto ref = known_pin(joining.reading, item)) {
        joining.open[pin_node(joining, *ref, item.span)] = {item.span,
                                                            std::string(kNoScope)};
      }
    }
  }
}

/// What is said of pins that stand in two lists is told when the list is read as a net.
void join_list(Joining& joining, const TomlEntry& list) {
  JointGraph& graph = joining.graph;
  const int here = graph.net(list.key, list.key_span);
  const std::string_view scope = scope_at(joining.reading, list.key);
  for (const TomlNode& item : list.value.items) {
    if (is_inside(joining, item, scope)) continue;
    const auto [owner, name] = split_at_dot(item.text);
    const Meeting meeting{list.key, owner, item.span, scope};
    if (joining.reading.uses.contains(owner)) {
      const PathItem found = pin_of_use(joining, item, owner, name);
      meet(joining, here, found.enters, meeting);
      if (found.enters < 0) doubt(joining, here);
    } else if (const auto ref = known_pin(joining.reading, item)) {
      const int node = pin_node(joining, *ref, item.span);
      if (joining.open.contains(node)) continue;
      if (joining.listed.insert(node).second) {
        meet(joining, here, node, meeting);
      } else if (graph.root_of(here) != graph.root_of(node)) {
        joining.disputed.insert({here, node});
      }
    }
  }
}

/// Joins an item of a path to the next one.
void join_items(Joining& joining, const PathItem& before, const PathItem& item,
                const Meeting& meeting) {
  if (before.enters < 0 || item.enters < 0) {
    doubt(joining, before.leaves);
    doubt(joining, item.enters);
  } else if (item.is_through && before.is_through && item.owner == before.owner) {
    complain(joining.reading, kPathConflict, meeting.span,
             fmt::format("{} follows itself", quoted(item.owner)),
             "a part is passed once");
  } else if (!(item.is_pin && before.is_pin && item.owner == before.owner)) {
    meet(joining, before.leaves, item.enters, meeting);
  }
}

void join_path(Joining& joining, const TomlEntry& path) {
  Reading& reading = joining.reading;
  check_name(reading, path.key, path.key_span, "a path");
  if (!expect_type(reading, path.value, TomlNode::Type::array,
                   fmt::format("path {}", quoted(path.key)),
                   R"(write a list: ["jack.plus", "lamp", "ground"])"))
    return;
  const std::string_view scope = scope_at(reading, path.key);
  std::optional<PathItem> before;
  for (const TomlNode& node : path.value.items) {
    PathItem item;
    if (expect_type(reading, node, TomlNode::Type::string,
                    fmt::format("an item of path {}", quoted(path.key))))
      item = path_item(joining, node, scope);
    if (before)
      join_items(joining, *before, item, {before->owner, item.owner, node.span, scope});
    before = std::move(item);
  }
  if (path.value.items.size() >= 2) return;
  if (before) doubt(joining, before->leaves);
  complain(reading, kPathShort, path.key_span,
           fmt::format("path {} joins nothing", quoted(path.key)),
           "a path has two items or more");
}

/// A part whose two ends meet is not passed.
void check_passed(Joining& joining) {
  std::set<int> told;
  for (const auto& [part, span] : joining.passed) {
    const int a = joining.graph.pins().at({part, 0});
    const int b = joining.graph.pins().at({part, 1});
    if (joining.graph.root_of(a) != joining.graph.root_of(b) ||
        !told.insert(part).second)
      continue;
    const std::string& name =
        joining.reading.circuit.parts[static_cast<std::size_t>(part)].name;
    complain(joining.reading, kPathConflict, span,
             fmt::format("both pins of {} come to stand on one net, so nothing "
                         "passes through it",
                         quoted(name)),
             "another path, or a list, joins what is before it to what is behind it");
  }
}

/// Complains about pins of blocks that stand nowhere.
void check_uses(Joining& joining) {
  for (const auto& [name, use] : joining.reading.uses) {
    std::vector<std::string> missing;
    for (const std::string& pin : use.pins) {
      const std::string inner = name + "/" + pin;
      if (joining.mentioned.contains(inner)) continue;
      missing.push_back(quoted(name + "." + pin));
      if (const auto node = joining.graph.nets().find(inner);
          node != joining.graph.nets().end())
        doubt(joining, node->second);
    }
    if (missing.empty() || joining.misread.contains(name) || !use.is_understood ||
        joining.reading.has_unread_wiring)
      continue;
    complain(joining.reading, kPinNowhere, use.span,
             fmt::format("{}{} on no net", fmt::join(missing, ", "),
                         missing.size() == 1 ? " stands" : " stand"),
             "put the pin on a net, or list it in 'open'");
  }
}

}  // namespace

bool needs_joining(const Reading& reading, const TomlNode& root) {
  return !reading.uses.empty() || find_entry(root, "paths") != nullptr;
}

Joined join(Reading& reading, const TomlNode& root) {
  Joining joining{reading, lines_in(root, "nets"), lines_in(root, "paths")};
  for (const TomlEntry* path : joining.paths)
    if (!is_readable(path->value)) reading.has_unread_wiring = true;
  for (const TomlEntry* list : joining.lists)
    if (!is_open_list(list->key)) (void)joining.graph.net(list->key, list->key_span);
  note_standing(joining, root);
  read_open(joining);
  for (const auto& [scope, statements] : by_scope(joining)) {
    for (const TomlEntry* list : statements.lists) join_list(joining, *list);
    for (const TomlEntry* path : statements.paths) join_path(joining, *path);
  }
  check_passed(joining);
  check_uses(joining);
  return joined_lists(joining, root);
}

}  // namespace benchproof
