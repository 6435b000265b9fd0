#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>
#include <string>
#include <tuple>

#include "core/circuit/paths/detail/joining.h"
#include "core/circuit/paths/detail/scopes.h"

// What joints are called, and the lists of pins that they make.

namespace benchproof {
namespace {

/// A name that joints get from their neighbours is shortened.
constexpr std::size_t kMostOfNeighbour = 30;

/// The names of joints, by the node that stands for each.
using JointNames = std::map<int, std::string>;

/// Gives joints their names.
class Namer {
 public:
  explicit Namer(Joining& joining) : joining_(joining) {}

  /// What a joint is called: by its outermost name, or its neighbours.
  std::string name_of(const Joint& joint) {
    if (joint.ground) return std::string(kGround);
    const NetName* best = nullptr;
    std::ptrdiff_t depth = 0;
    for (const auto& [scope, named] : joint.names) {
      if (best != nullptr && depth_of(scope) >= depth) continue;
      best = &named;
      depth = depth_of(scope);
    }
    if (best != nullptr && (!joint.first || depth_of(joint.first->scope) >= depth))
      return best->name;
    return joint.first ? automatic_name(*joint.first) : std::string();
  }

 private:
  /// "quay_r-quay", numbered where that is taken.
  std::string automatic_name(const Neighbours& at) {
    const auto inner = [&at](const std::string& name) {
      const std::string rest =
          name.starts_with(at.scope) ? name.substr(at.scope.size()) : name;
      return rest.substr(0, kMostOfNeighbour);
    };
    const std::string name =
        fmt::format("{}{}-{}", at.scope, inner(at.before), inner(at.after));
    std::string free = name;
    for (int k = 2; is_taken(free); ++k) free = fmt::format("{}-{}", name, k);
    automatic_.insert(free);
    joining_.reading.made_names.insert(free);
    return free;
  }

  [[nodiscard]] bool is_taken(const std::string& name) const {
    return joining_.graph.nets().contains(name) || automatic_.contains(name);
  }

  Joining& joining_;
  std::set<std::string> automatic_;
};

/// Whether a joint is a block's pin that is left open, and only one pin.
bool is_left_alone(const Joining& joining, const Joint& joint) {
  return joint.pins.size() == 1 &&
         std::any_of(joint.nets.begin(), joint.nets.end(), [&](const auto& net) {
           return joining.open.contains(joining.graph.nets().at(net));
         });
}

JointNames joint_names(Joining& joining) {
  JointNames names;
  Namer namer(joining);
  for (int node = 0; node < joining.graph.size(); ++node) {
    if (joining.graph.root_of(node) != node) continue;
    const Joint& joint = joining.graph.joint(node);
    names[node] =
        is_left_alone(joining, joint) ? std::string(kOpen) : namer.name_of(joint);
  }
  return names;
}

/// Lists of pins by their names.
class NamedLists {
 public:
  explicit NamedLists(TomlEntry& table) : lists_(table.value.entries) {}

  /// The list of that name; made where it is new, as if it stood there.
  TomlEntry& at(const std::string& name, const Span& span) {
    const auto [place, is_new] = index_.emplace(name, lists_.size());
    if (is_new) {
      TomlNode list;
      list.type = TomlNode::Type::array;
      list.span = span;
      lists_.push_back({name, span, std::move(list)});
    }
    return lists_[place->second];
  }

 private:
  std::vector<TomlEntry>& lists_;
  std::map<std::string, std::size_t> index_;
};

/// Puts what the lists say into the result, in their order.
void put_lists(Joining& joining, const JointNames& names, NamedLists& into) {
  JointGraph& graph = joining.graph;
  for (const TomlEntry* list : joining.lists) {
    const std::string name =
        is_open_list(list->key)
            ? std::string(kOpen)
            : names.at(graph.root_of(graph.nets().at(whole_name(list->key))));
    TomlEntry& entry = into.at(name, list->key_span);
    if (name == list->key) entry.key_span = list->key_span;
    if (list->value.type != TomlNode::Type::array) {
      entry.value = list->value;
      continue;
    }
    for (const TomlNode& item : list->value.items)
      if (!joining.reading.uses.contains(item.text.substr(0, item.text.find('.'))))
        entry.value.items.push_back(item);
  }
}

/// Where a pin stands that no list names.
Span first_place(const Joining& joining, const Joint& joint, int pin) {
  for (const std::string& net : joint.nets)
    if (scope_of(net).empty())
      return joining.graph.end(joining.graph.nets().at(net)).span;
  return joint.first ? joint.first->span : joining.graph.end(pin).span;
}

/// Puts the pins into the result that no list names.
void put_pins(Joining& joining, const JointNames& names, NamedLists& into) {
  JointGraph& graph = joining.graph;
  // The ground is there though no pin is known of it.
  if (const auto ground = graph.nets().find(kGround); ground != graph.nets().end())
    (void)into.at(std::string(kGround), graph.end(ground->second).span);
  for (const auto& [node, name] : names) {
    if (name.empty()) continue;
    Joint& joint = graph.joint(node);
    std::sort(joint.pins.begin(), joint.pins.end());
    for (const int pin : joint.pins)
      if (!joining.listed.contains(pin))
        into.at(name, first_place(joining, joint, pin))
            .value.items.push_back(text_node(graph.end(pin).text, graph.end(pin).span));
  }
}

/// Of what was doubted no more is told: returns the names of such joints, and notes the
/// parts of those without.
std::set<std::string> doubted_names(Joining& joining, const JointNames& names) {
  std::set<std::string> doubted;
  for (const int node : joining.doubted) {
    const std::string& name = names.at(joining.graph.root_of(node));
    if (!name.empty()) {
      doubted.insert(name);
    } else {
      for (const int pin : joining.graph.joint(node).pins)
        joining.reading.notes[static_cast<std::size_t>(joining.graph.end(pin).pin.part)]
            .has_pin_complaint = true;
    }
  }
  return doubted;
}

}  // namespace

Joined joined_lists(Joining& joining, const TomlNode& root) {
  Joined joined;
  const TomlEntry* nets = find_entry(root, "nets");
  const TomlEntry* paths = find_entry(root, "paths");
  joined.nets.key = "nets";
  if (paths != nullptr) joined.nets.key_span = paths->key_span;
  if (nets != nullptr) joined.nets.key_span = nets->key_span;
  const JointNames names = joint_names(joining);
  NamedLists lists(joined.nets);
  put_lists(joining, names, lists);
  put_pins(joining, names, lists);
  joined.doubted = doubted_names(joining, names);
  for (const auto& [name, node] : joining.graph.nets())
    if (names.at(joining.graph.root_of(node)) != name)
      joined.other_names.emplace_back(name, names.at(joining.graph.root_of(node)));
  std::vector<TomlEntry>& all = joined.nets.value.entries;
  std::stable_sort(all.begin(), all.end(), [](const TomlEntry& a, const TomlEntry& b) {
    // What is within blocks comes last.
    return std::tuple(a.key_span.file != 0, a.key_span.file, a.key_span.begin) <
           std::tuple(b.key_span.file != 0, b.key_span.file, b.key_span.begin);
  });
  return joined;
}

}  // namespace benchproof
