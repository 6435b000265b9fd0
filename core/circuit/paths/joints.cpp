#include "core/circuit/paths/joints.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <tuple>
#include <utility>

#include "core/circuit/entries/usual_names.h"

namespace benchproof {
namespace {

using Toml = TomlNode::Type;

/// Where a name is written: in the description itself (""), or in the use of a block
/// ("quay1/").
std::string_view scope_of(std::string_view name) {
  const std::size_t slash = name.rfind('/');
  return slash == std::string_view::npos ? std::string_view()
                                         : name.substr(0, slash + 1);
}

std::ptrdiff_t depth_of(std::string_view scope) {
  return std::count(scope.begin(), scope.end(), '/');
}

TomlNode text_node(std::string text, const Span& span) {
  TomlNode node;
  node.type = Toml::string;
  node.text = std::move(text);
  node.span = span;
  return node;
}

/// The zero is the same net in all blocks.
std::string whole_name(const std::string& name) {
  return std::string_view(name).substr(scope_of(name).size()) == kGround
             ? std::string(kGround)
             : name;
}

bool is_open_list(std::string_view key) {
  return key.substr(scope_of(key).size()) == kOpen;
}

/// A name, and where it came to the joint.
struct Named {
  std::string name;
  Span span;
};

/// The parts on both sides of the first place of a path that makes a joint.
struct Neighbours {
  std::string scope;
  std::string before;
  std::string after;
  Span span;
  int order = 0;  ///< Of all meetings.
};

/// Pins and names of nets that meet.
struct Joint {
  std::map<std::string, Named, std::less<>> names;  ///< By scope, without ground.
  std::optional<Named> ground;
  std::vector<std::string> nets;    ///< All names, in the order in which they came.
  std::vector<int> pins;            ///< Their nodes.
  std::optional<Neighbours> first;  ///< Of the outermost scope.
};

/// A pin or the name of a net, where it was first met.
struct End {
  std::string text;
  Span span;
  PinRef pin;  ///< Of a pin.
};

/// Where an end is listed as open.
struct LeftOpen {
  Span span;
  std::string inner;  ///< The scope within a block, where its pin is joined as usual.
};

/// No scope is called so.
constexpr std::string_view kNoScope = ".";

/// What an item of a path, or of a list, is.
struct Item {
  int enters = -1;  ///< The end that the item before is joined to; -1: not known.
  int leaves = -1;
  bool is_pin = false;
  bool is_through = false;  ///< A part of two pins, or a block.
  std::string owner;        ///< The part, block or net.
};

/// All joints of a description while they are made.
class Joints {
 public:
  Joints(Reading& reading, const TomlNode& root) : reading_(reading), root_(root) {
    collect("nets", lists_);
    collect("paths", paths_);
    for (const TomlEntry* path : paths_) note_unread(path->value);
  }

  Joined make() {
    for (const TomlEntry* list : lists_)
      if (!is_open_list(list->key)) (void)net(list->key, list->key_span);
    note_nets();
    read_open();
    for (const auto& [scope, statements] : by_scope()) {
      for (const TomlEntry* list : statements.lists) read_list(*list);
      for (const TomlEntry* path : statements.paths) read_path(*path);
    }
    check_passed();
    check_uses();
    return result();
  }

 private:
  void collect(std::string_view key, std::vector<const TomlEntry*>& into) {
    const TomlEntry* table = find_entry(root_, key);
    if (table == nullptr || table->value.type != Toml::table) return;
    for (const TomlEntry& entry : table->value.entries) into.push_back(&entry);
  }

  /// Notes that a path is none, or what one of its items is cannot be told.
  void note_unread(const TomlNode& path) {
    const bool is_read =
        path.type == Toml::array &&
        std::all_of(path.items.begin(), path.items.end(),
                    [](const TomlNode& item) { return item.type == Toml::string; });
    if (!is_read) reading_.has_unread_wiring = true;
  }

  /// The scope of a list or path. One that the user called so has none.
  std::string_view scope_at(const std::string& key) const {
    return reading_.made_names.contains(key) ? scope_of(key) : std::string_view();
  }

  /// What is said in one scope.
  struct Statements {
    std::vector<const TomlEntry*> lists;
    std::vector<const TomlEntry*> paths;
  };

  /// All that is said, the innermost scopes first.
  std::map<std::pair<std::ptrdiff_t, std::string_view>, Statements> by_scope() const {
    std::map<std::pair<std::ptrdiff_t, std::string_view>, Statements> found;
    const auto at = [&](const TomlEntry& entry) -> Statements& {
      const std::string_view scope = scope_at(entry.key);
      return found[{-depth_of(scope), scope}];
    };
    for (const TomlEntry* list : lists_)
      if (!is_open_list(list->key)) at(*list).lists.push_back(list);
    for (const TomlEntry* path : paths_) at(*path).paths.push_back(path);
    return found;
  }

  // Which words are nets.

  /// Counts in how many places each word stands as a net; a place that can mean nothing
  /// else counts as two.
  void note_nets() {
    standing_.emplace(kGround, 2);
    for (const auto& [name, node] : net_nodes_) standing_[name] += 2;
    for (const auto& [name, use] : reading_.uses)
      for (const std::string& pin : use.pins) standing_[name + "/" + pin] += 2;
    for (const TomlEntry* path : paths_)
      for (const TomlNode& item : path->value.items) {
        const bool is_marked = item.text.starts_with(kNetMark);
        if (item.type == Toml::string)
          standing_[is_marked ? item.text.substr(kNetMark.size()) : item.text] +=
              is_marked ? 2 : 1;
      }
    const TomlEntry* expect = find_entry(root_, "expect");
    if (expect == nullptr) return;
    for (const TomlNode& table : expect->value.items)
      for (const std::string_view key : {"net", "to"})
        if (const TomlEntry* entry = find_entry(table, key))
          standing_[entry->value.text] += 2;
  }

  // Ends, and what is known of them.

  int root_of(int node) {
    while (parents_[static_cast<std::size_t>(node)] != node)
      node = parents_[static_cast<std::size_t>(node)] =
          parents_[static_cast<std::size_t>(parents_[static_cast<std::size_t>(node)])];
    return node;
  }

  Joint& joint(int node) { return joints_[static_cast<std::size_t>(root_of(node))]; }

  int add(Joint joint, End end) {
    parents_.push_back(static_cast<int>(parents_.size()));
    joints_.push_back(std::move(joint));
    ends_.push_back(std::move(end));
    return parents_.back();
  }

  [[nodiscard]] const End& end(int node) const {
    return ends_[static_cast<std::size_t>(node)];
  }

  int net(const std::string& written, const Span& span) {
    const std::string name = whole_name(written);
    const auto [place, is_new] = net_nodes_.emplace(name, -1);
    if (!is_new) return place->second;
    Joint made;
    made.nets = {name};
    if (name == kGround) {
      made.ground = Named{name, span};
    } else {
      made.names.emplace(scope_of(name), Named{name, span});
    }
    return place->second = add(std::move(made), {name, span, {}});
  }

  int pin(PinRef ref, const Span& span) {
    const auto [place, is_new] = pin_nodes_.emplace(ref, -1);
    if (!is_new) return place->second;
    const Part& part = reading_.circuit.parts[static_cast<std::size_t>(ref.part)];
    Joint made;
    made.pins = {static_cast<int>(parents_.size())};
    return place->second =
               add(std::move(made),
                   {fmt::format("{}.{}", part.name,
                                part.pins[static_cast<std::size_t>(ref.pin)]),
                    span, ref});
  }

  int use_pin(const std::string& use, const std::string& name, const Span& span) {
    std::string inner = fmt::format("{}/{}", use, name);
    mentioned_.insert(inner);
    return net(inner, span);
  }

  // Items.

  Item bare_part(const TomlNode& item, const std::string& word) {
    const int index = reading_.part_index.find(word)->second;
    const Part& part = reading_.circuit.parts[static_cast<std::size_t>(index)];
    PartNotes& notes = reading_.notes[static_cast<std::size_t>(index)];
    if (!notes.is_understood) return {};
    if (part.pins.size() != 2) {
      notes.has_pin_complaint = true;
      refuse_bare(item, word, part.pins);
      return {};
    }
    passed_.push_back({index, item.span});
    return {pin({index, 0}, item.span), pin({index, 1}, item.span), false, true, word};
  }

  Item bare_use(const TomlNode& item, const std::string& word) {
    const Use& use = reading_.uses.find(word)->second;
    if (!use.is_understood) return {};
    if (use.pins.size() != 2) {
      misread_.insert(word);
      refuse_bare(item, word, use.pins);
      return {};
    }
    return {use_pin(word, use.pins[0], item.span),
            use_pin(word, use.pins[1], item.span), false, true, word};
  }

  void refuse_bare(const TomlNode& item, const std::string& word,
                   const std::vector<std::string>& pins) {
    complain(reading_, kPinMalformed, item.span,
             fmt::format("{} has {} {}, so a path has to say at which", quoted(word),
                         pins.size(), pins.size() == 1 ? "pin" : "pins"),
             fmt::format("pins: {}", fmt::join(pins, ", ")));
  }

  /// A pin of a block's use, written "quay1.in".
  Item pin_of_use(const TomlNode& item, const std::string& name,
                  const std::string& pin_name) {
    const Use& use = reading_.uses.find(name)->second;
    if (!use.is_understood) return {};
    if (item.text.size() == name.size()) {
      misread_.insert(name);
      complain(reading_, kPinMalformed, item.span,
               fmt::format("{} is a block; which of its pins is meant?", quoted(name)),
               fmt::format("pins: {}", fmt::join(use.pins, ", ")));
      return {};
    }
    if (std::find(use.pins.begin(), use.pins.end(), pin_name) == use.pins.end()) {
      misread_.insert(name);
      complain(reading_, kPinUnknown, item.span,
               fmt::format("{} has no pin {}", quoted(name), quoted(pin_name)),
               suggestion(reading_, pin_name, use.pins, "pins"));
      return {};
    }
    const int node = use_pin(name, pin_name, item.span);
    return {node, node, true, false, name};
  }

  Item word_item(const TomlNode& item, const std::string& word,
                 std::string_view scope) {
    if (reading_.part_index.contains(word)) return bare_part(item, word);
    if (reading_.uses.contains(word)) return bare_use(item, word);
    const auto stands = standing_.find(whole_name(word));
    if (stands != standing_.end() && stands->second >= 2)
      return net_item(item, word, scope);
    if (auto meant = undotted_pin(item, word)) return *std::move(meant);
    return unknown_word(item, word, scope);
  }

  /// A pin that is written without its dot: "adapter +", "adapter-".
  std::optional<Item> undotted_pin(const TomlNode& item, const std::string& word) {
    const std::size_t blank = word.rfind(' ');
    const std::size_t sign = word.find_last_not_of("+-");
    const std::size_t cut = blank != std::string::npos ? blank + 1 : sign + 1;
    const std::string owner = word.substr(0, blank != std::string::npos ? blank : cut);
    const auto found = reading_.part_index.find(owner);
    if (cut >= word.size() || found == reading_.part_index.end()) return std::nullopt;
    const auto index = static_cast<std::size_t>(found->second);
    if (!reading_.notes[index].is_understood) return Item{};
    const Part& part = reading_.circuit.parts[index];
    const std::string name(meant_pin(part, word.substr(cut)));
    if (name.empty()) return std::nullopt;
    complain(reading_, kPinMalformed, item.span,
             fmt::format("{} is no part and no net", quoted(word)),
             fmt::format("a pin is written with a dot: '{}.{}'", owner, name),
             "a pin without its dot");
    reading_.guessed.push_back(item.span);
    const int node = pin({found->second, pin_index(part, name)}, item.span);
    return Item{node, node, true, false, owner};
  }

  /// A word of a path that names nothing, as what is likely meant by it.
  Item unknown_word(const TomlNode& item, const std::string& word,
                    std::string_view scope) {
    const std::string message =
        fmt::format("{} is no part, and stands nowhere else as a net", quoted(word));
    const std::string_view written = std::string_view(word).substr(scope.size());
    if (means_ground(written)) {
      const bool has_ground = standing_.at(std::string(kGround)) > 2;
      complain(reading_, has_ground ? kPathWord : kGroundMissing, item.span,
               has_ground ? message : std::string("there is no net 'ground'"),
               fmt::format("call {} 'ground': {}", quoted(written), kGroundHint));
      return net_item(text_node(std::string(kGround), item.span), std::string(kGround),
                      {});
    }
    const NearName near =
        near_part(reading_, word, item.span, true, other_words(word, scope));
    if (near.name.empty() && reading_.has_unread_wiring) return {};
    if (near.name.empty()) note_unknown(reading_, word, "", item.span);
    complain(reading_, kPathWord, item.span, message,
             fmt::format("{}; a net that is named here only is written 'net:{}'",
                         near.hint, printable(written.substr(0, kMostNameShown))));
    reading_.guessed.push_back(item.span);
    if (near.name.empty()) return {};
    if (const auto part = reading_.part_index.find(near.name);
        part != reading_.part_index.end()) {
      reading_.notes[static_cast<std::size_t>(part->second)].has_pin_complaint = true;
    } else if (reading_.uses.contains(near.name)) {
      misread_.insert(near.name);
    } else {
      return net_item(item, near.name, scope);
    }
    return {};
  }

  /// What a word of a path may name besides a part: a block's use, or a net.
  std::vector<std::string> other_words(const std::string& word,
                                       std::string_view scope) const {
    if (reading_.suggestions_left <= 0) return {};
    std::vector<std::string> names;
    if (!scope.empty()) names.push_back(fmt::format("{}{}", scope, kGround));
    for (const auto& [name, use] : reading_.uses) names.push_back(name);
    for (const auto& [name, places] : standing_)
      if (places >= 2 && name != word && !reading_.part_index.contains(name))
        names.push_back(name);
    return names;
  }

  Item net_item(const TomlNode& item, const std::string& name, std::string_view scope) {
    const bool is_inner = !scope.empty() && name.starts_with(scope);
    if (!check_name(reading_, is_inner ? name.substr(scope.size()) : name, item.span,
                    "a net"))
      return {};
    if (is_inner) reading_.made_names.insert(name);
    const int node = net(name, item.span);
    return {node, node, false, false, name};
  }

  /// Whether an item names what is inside of a block, seen from where it is written;
  /// complains then.
  bool is_inside(const TomlNode& item, std::string_view scope) {
    std::string_view text = item.text;
    if (text.starts_with(kNetMark)) text.remove_prefix(kNetMark.size());
    if (text.starts_with(scope)) text.remove_prefix(scope.size());
    const std::size_t slash = text.substr(0, text.find('.')).find('/');
    if (slash == std::string_view::npos) return false;
    const auto use =
        reading_.uses.find(fmt::format("{}{}", scope, text.substr(0, slash)));
    if (use == reading_.uses.end()) return false;
    complain(reading_, kBlockInside, item.span,
             fmt::format("{} is inside of block {}", quoted(text), quoted(use->first)),
             fmt::format("from outside only its pins are joined: {}",
                         fmt::join(use->second.pins, ", ")));
    return true;
  }

  Item path_item(const TomlNode& item, std::string_view scope) {
    const std::string& text = item.text;
    if (is_inside(item, scope)) return {};
    if (text.starts_with(kNetMark))
      return net_item(item, text.substr(kNetMark.size()), scope);
    const std::size_t dot = text.find('.');
    if (dot == std::string::npos) return word_item(item, text, scope);
    const std::string owner = text.substr(0, dot);
    if (reading_.uses.contains(owner))
      return pin_of_use(item, owner, text.substr(dot + 1));
    const auto ref = read_pin(reading_, text, item.span);
    if (!ref || ref->pin < 0) return {};
    const int node = pin(*ref, item.span);
    return {node, node, true, false, owner};
  }

  // Statements.

  /// Where two ends are joined, and what stands on both sides.
  struct Meeting {
    std::string before;
    std::string after;
    Span span;
    std::string_view scope;
  };

  void read_open() {
    for (const TomlEntry* list : lists_) {
      if (!is_open_list(list->key)) continue;
      for (const TomlNode& item : list->value.items) {
        const auto [owner, name] = halves(item);
        if (reading_.uses.contains(owner)) {
          const Item found = pin_of_use(item, owner, name);
          if (found.enters >= 0) open_[found.enters] = {item.span, owner + "/"};
        } else if (const auto ref = known_pin(item)) {
          open_[pin(*ref, item.span)] = {item.span, std::string(kNoScope)};
        }
      }
    }
  }

  static std::pair<std::string, std::string> halves(const TomlNode& item) {
    const std::size_t dot = std::min(item.text.find('.'), item.text.size());
    return {item.text.substr(0, dot),
            dot < item.text.size() ? item.text.substr(dot + 1) : std::string()};
  }

  /// The pin that an item of a list names; nothing, and no complaint, for anything
  /// else.
  std::optional<PinRef> known_pin(const TomlNode& item) const {
    const auto [owner, name] = halves(item);
    const auto found = reading_.part_index.find(owner);
    if (found == reading_.part_index.end()) return std::nullopt;
    const int index = pin_index(
        reading_.circuit.parts[static_cast<std::size_t>(found->second)], name);
    if (index < 0) return std::nullopt;
    return PinRef{found->second, index};
  }

  /// What a list says of pins that stand in two lists is told when the list is read.
  void read_list(const TomlEntry& list) {
    const int here = net(list.key, list.key_span);
    for (const TomlNode& item : list.value.items) {
      if (is_inside(item, scope_at(list.key))) continue;
      const auto [owner, name] = halves(item);
      if (reading_.uses.contains(owner)) {
        const Item found = pin_of_use(item, owner, name);
        meet(here, found.enters, {list.key, owner, item.span, scope_at(list.key)});
        if (found.enters < 0) doubt(here);
      } else if (const auto ref = known_pin(item)) {
        const int node = pin(*ref, item.span);
        if (open_.contains(node)) continue;
        if (listed_.insert(node).second) {
          meet(here, node, {list.key, owner, item.span, scope_at(list.key)});
        } else if (root_of(here) != root_of(node)) {
          disputed_.insert({here, node});
        }
      }
    }
  }

  void read_path(const TomlEntry& path) {
    check_name(reading_, path.key, path.key_span, "a path");
    if (!expect_type(reading_, path.value, Toml::array,
                     fmt::format("path {}", quoted(path.key)),
                     R"(write a list: ["jack.plus", "lamp", "ground"])"))
      return;
    const std::string_view scope = scope_at(path.key);
    std::optional<Item> before;
    for (const TomlNode& node : path.value.items) {
      Item item;
      if (expect_type(reading_, node, Toml::string,
                      fmt::format("an item of path {}", quoted(path.key))))
        item = path_item(node, scope);
      if (before) step(*before, item, {before->owner, item.owner, node.span, scope});
      before = std::move(item);
    }
    if (path.value.items.size() >= 2) return;
    if (before) doubt(before->leaves);
    complain(reading_, kPathShort, path.key_span,
             fmt::format("path {} joins nothing", quoted(path.key)),
             "a path has two items or more");
  }

  /// From an item of a path to the next one.
  void step(const Item& before, const Item& item, const Meeting& meeting) {
    if (before.enters < 0 || item.enters < 0) {
      doubt(before.leaves);
      doubt(item.enters);
    } else if (item.is_through && before.is_through && item.owner == before.owner) {
      complain(reading_, kPathConflict, meeting.span,
               fmt::format("{} follows itself", quoted(item.owner)),
               "a part is passed once");
    } else if (!(item.is_pin && before.is_pin && item.owner == before.owner)) {
      meet(before.leaves, item.enters, meeting);
    }
  }

  /// What is told of an end may only follow from another complaint.
  void doubt(int node) {
    if (node >= 0) doubted_.push_back(node);
  }

  static const Named* name_in(const Joint& joint, std::string_view scope) {
    if (joint.ground) return &*joint.ground;
    const auto found = joint.names.find(scope);
    return found == joint.names.end() ? nullptr : &found->second;
  }

  /// Joins two ends, unless both have names of their own.
  void meet(int a, int b, const Meeting& meeting) {
    if (a < 0 || b < 0) return;
    if (is_open(a, meeting) || is_open(b, meeting)) {
      doubt(a);
      doubt(b);
      return;
    }
    if (root_of(a) == root_of(b)) return;
    const Named* one = name_in(joint(a), meeting.scope);
    const Named* other = name_in(joint(b), meeting.scope);
    if (one != nullptr && other != nullptr && one->name != other->name) {
      if (!is_disputed(a) && !is_disputed(b))
        tell_conflict(a, *one, b, *other, meeting);
      doubt(a);
      doubt(b);
      return;
    }
    const bool is_smaller = size(joint(a)) < size(joint(b));
    const int into = root_of(is_smaller ? b : a);
    const int from = root_of(is_smaller ? a : b);
    parents_[static_cast<std::size_t>(from)] = into;
    merge(joints_[static_cast<std::size_t>(into)],
          std::exchange(joints_[static_cast<std::size_t>(from)], {}), meeting);
  }

  /// Whether an end is of a joint of which two lists say the same pin: what does not
  /// fit there follows from that.
  bool is_disputed(int node) {
    return std::any_of(disputed_.begin(), disputed_.end(), [&](const int other) {
      return root_of(other) == root_of(node);
    });
  }

  static std::size_t size(const Joint& joint) {
    return joint.pins.size() + joint.nets.size();
  }

  void merge(Joint& into, Joint from, const Meeting& meeting) {
    // A net that was but a name comes to the joint here.
    for (Joint* side : {&into, &from}) {
      if (!side->pins.empty() || side->nets.size() > 1) continue;
      if (side->ground) side->ground->span = meeting.span;
      for (auto& [scope, named] : side->names) named.span = meeting.span;
    }
    into.names.merge(from.names);
    if (!into.ground) into.ground = std::move(from.ground);
    into.nets.insert(into.nets.end(), from.nets.begin(), from.nets.end());
    into.pins.insert(into.pins.end(), from.pins.begin(), from.pins.end());
    const auto is_outer = [](const Neighbours& a, const std::optional<Neighbours>& b) {
      return !b || std::pair(depth_of(a.scope), a.order) <
                       std::pair(depth_of(b->scope), b->order);
    };
    if (from.first && is_outer(*from.first, into.first))
      into.first = std::move(from.first);
    Neighbours here{std::string(meeting.scope), meeting.before, meeting.after,
                    meeting.span, ++meetings_};
    if (is_outer(here, into.first)) into.first = std::move(here);
  }

  /// Whether an end is one that is left open; complains then.
  bool is_open(int node, const Meeting& meeting) {
    const auto found = open_.find(node);
    if (found == open_.end() || found->second.inner == meeting.scope) return false;
    complain(reading_, kPathConflict, meeting.span,
             fmt::format("{} is joined here, and listed as open{}",
                         quoted(end(node).text), by_line(found->second.span)),
             "every pin stands once, on one net or in 'open'");
    return true;
  }

  static std::string by_line(const Span& span) {
    return span.begin.line < 1 ? std::string()
                               : fmt::format(" in line {}", span.begin.line);
  }

  void tell_conflict(int a, const Named& one, int b, const Named& other,
                     const Meeting& meeting) {
    const auto stands = [this](int node, const Named& on) {
      const std::string net = "net " + quoted(on.name);
      if (end(node).text == on.name) return net;
      return fmt::format("{}, which stands on {}{},", quoted(end(node).text), net,
                         by_line(on.span));
    };
    complain(reading_, kPathConflict, meeting.span,
             fmt::format("this joins {} to {}", stands(a, one), stands(b, other)),
             "every pin stands on one net");
  }

  /// A part whose two ends meet is not passed.
  void check_passed() {
    std::set<int> told;
    for (const auto& [part, span] : passed_) {
      const int a = pin_nodes_.at({part, 0});
      const int b = pin_nodes_.at({part, 1});
      if (root_of(a) != root_of(b) || !told.insert(part).second) continue;
      const std::string& name =
          reading_.circuit.parts[static_cast<std::size_t>(part)].name;
      complain(reading_, kPathConflict, span,
               fmt::format("both pins of {} come to stand on one net, so nothing "
                           "passes through it",
                           quoted(name)),
               "another path, or a list, joins what is before it to what is behind it");
    }
  }

  /// Complains about pins of blocks that stand nowhere.
  void check_uses() {
    for (const auto& [name, use] : reading_.uses) {
      std::vector<std::string> missing;
      for (const std::string& pin : use.pins) {
        const std::string inner = name + "/" + pin;
        if (mentioned_.contains(inner)) continue;
        missing.push_back(quoted(name + "." + pin));
        if (const auto node = net_nodes_.find(inner); node != net_nodes_.end())
          doubt(node->second);
      }
      if (missing.empty() || misread_.contains(name) || !use.is_understood ||
          reading_.has_unread_wiring)
        continue;
      complain(reading_, kPinNowhere, use.span,
               fmt::format("{}{} on no net", fmt::join(missing, ", "),
                           missing.size() == 1 ? " stands" : " stand"),
               "put the pin on a net, or list it in 'open'");
    }
  }

  // The result.

  /// What a joint is called: by its outermost name, or its neighbours.
  std::string name_of(const Joint& joint) {
    if (joint.ground) return std::string(kGround);
    const Named* best = nullptr;
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

  /// "quay_r-quay", numbered where that is taken.
  std::string automatic_name(const Neighbours& at) {
    const auto inner = [&at](const std::string& name) {
      const std::string rest =
          name.starts_with(at.scope) ? name.substr(at.scope.size()) : name;
      return rest.substr(0, kMostNameShown);
    };
    const std::string name =
        fmt::format("{}{}-{}", at.scope, inner(at.before), inner(at.after));
    std::string free = name;
    for (int k = 2; standing_as_net(free); ++k) free = fmt::format("{}-{}", name, k);
    automatic_.insert(free);
    reading_.made_names.insert(free);
    return free;
  }

  bool standing_as_net(const std::string& name) const {
    return net_nodes_.contains(name) || automatic_.contains(name);
  }

  TomlEntry& entry_of(const std::string& name, const Span& span) {
    const auto [place, is_new] =
        entries_.emplace(name, joined_.nets.value.entries.size());
    if (is_new) {
      TomlNode list;
      list.type = Toml::array;
      list.span = span;
      joined_.nets.value.entries.push_back({name, span, std::move(list)});
    }
    return joined_.nets.value.entries[place->second];
  }

  /// Puts what the lists say into the result, in their order.
  void put_lists(const std::map<int, std::string>& names) {
    for (const TomlEntry* list : lists_) {
      const std::string name =
          is_open_list(list->key)
              ? std::string(kOpen)
              : names.at(root_of(net_nodes_.at(whole_name(list->key))));
      TomlEntry& entry = entry_of(name, list->key_span);
      if (name == list->key) entry.key_span = list->key_span;
      if (list->value.type != Toml::array) {
        entry.value = list->value;
        continue;
      }
      for (const TomlNode& item : list->value.items)
        if (!reading_.uses.contains(halves(item).first))
          entry.value.items.push_back(item);
    }
  }

  void put_pins(const std::map<int, std::string>& names) {
    // The ground is there though no pin is known of it.
    if (const auto ground = net_nodes_.find(kGround); ground != net_nodes_.end())
      (void)entry_of(std::string(kGround), end(ground->second).span);
    for (const auto& [node, name] : names) {
      Joint& joint = joints_[static_cast<std::size_t>(node)];
      if (name.empty()) continue;
      std::sort(joint.pins.begin(), joint.pins.end());
      for (const int pin : joint.pins)
        if (!listed_.contains(pin))
          entry_of(name, first_place(joint, pin))
              .value.items.push_back(text_node(end(pin).text, end(pin).span));
    }
  }

  Span first_place(const Joint& joint, int pin) const {
    for (const std::string& net : joint.nets)
      if (scope_of(net).empty()) return end(net_nodes_.at(net)).span;
    return joint.first ? joint.first->span : end(pin).span;
  }

  /// Whether a joint is a block's pin that is left open, and only one pin.
  bool is_left_alone(const Joint& joint) const {
    return joint.pins.size() == 1 &&
           std::any_of(joint.nets.begin(), joint.nets.end(), [this](const auto& net) {
             return open_.contains(net_nodes_.at(net));
           });
  }

  std::map<int, std::string> joint_names() {
    std::map<int, std::string> names;
    for (int node = 0; node < static_cast<int>(joints_.size()); ++node) {
      if (root_of(node) != node) continue;
      const Joint& joint = joints_[static_cast<std::size_t>(node)];
      names[node] = is_left_alone(joint) ? std::string(kOpen) : name_of(joint);
    }
    return names;
  }

  /// Of what was doubted no more is told.
  void note_doubts(const std::map<int, std::string>& names) {
    for (const int node : doubted_) {
      const Joint& joint = joints_[static_cast<std::size_t>(root_of(node))];
      const std::string& name = names.at(root_of(node));
      if (!name.empty()) {
        joined_.doubted.insert(name);
      } else {
        for (const int pin : joint.pins)
          reading_.notes[static_cast<std::size_t>(end(pin).pin.part)]
              .has_pin_complaint = true;
      }
    }
  }

  Joined result() {
    const TomlEntry* nets = find_entry(root_, "nets");
    const TomlEntry* paths = find_entry(root_, "paths");
    joined_.nets.key = "nets";
    if (paths != nullptr) joined_.nets.key_span = paths->key_span;
    if (nets != nullptr) joined_.nets.key_span = nets->key_span;
    const std::map<int, std::string> names = joint_names();
    put_lists(names);
    put_pins(names);
    note_doubts(names);
    for (const auto& [name, node] : net_nodes_)
      if (names.at(root_of(node)) != name)
        joined_.other_names.emplace_back(name, names.at(root_of(node)));
    std::vector<TomlEntry>& all = joined_.nets.value.entries;
    std::stable_sort(
        all.begin(), all.end(), [](const TomlEntry& a, const TomlEntry& b) {
          // What is within blocks comes last.
          return std::tuple(a.key_span.file != 0, a.key_span.file, a.key_span.begin) <
                 std::tuple(b.key_span.file != 0, b.key_span.file, b.key_span.begin);
        });
    return std::move(joined_);
  }

  static constexpr std::size_t kMostNameShown = 30;

  Reading& reading_;
  const TomlNode& root_;
  std::vector<const TomlEntry*> lists_;
  std::vector<const TomlEntry*> paths_;
  std::map<std::string, int, std::less<>> standing_;
  std::vector<int> parents_;
  std::vector<Joint> joints_;
  std::map<std::string, int, std::less<>> net_nodes_;
  std::map<PinRef, int> pin_nodes_;
  std::vector<End> ends_;
  std::set<int> listed_;
  std::map<int, LeftOpen> open_;
  std::vector<int> doubted_;
  std::set<int> disputed_;
  int meetings_ = 0;
  std::vector<std::pair<int, Span>> passed_;
  std::set<std::string> mentioned_;  ///< Nets of blocks' pins that are joined outside.
  std::set<std::string> misread_;    ///< Blocks whose pins were misspelt.
  std::set<std::string> automatic_;
  std::map<std::string, std::size_t> entries_;
  Joined joined_;
};

}  // namespace

bool needs_joining(const Reading& reading, const TomlNode& root) {
  return !reading.uses.empty() || find_entry(root, "paths") != nullptr;
}

Joined join(Reading& reading, const TomlNode& root) {
  return Joints(reading, root).make();
}

}  // namespace benchproof
