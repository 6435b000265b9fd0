#include "core/circuit/paths/detail/joint_graph.h"

#include <fmt/format.h>

#include <utility>

#include "core/circuit/paths/detail/scopes.h"

namespace benchproof {
namespace {

std::size_t weight(const Joint& joint) { return joint.pins.size() + joint.nets.size(); }

/// Whether neighbours stand further out, or in the same depth earlier.
bool is_outer(const Neighbours& a, const std::optional<Neighbours>& b) {
  return !b || std::pair(depth_of(a.scope), a.order) <
                   std::pair(depth_of(b->scope), b->order);
}

}  // namespace

const NetName* Joint::name_in(std::string_view scope) const {
  if (ground) return &*ground;
  const auto found = names.find(scope);
  return found == names.end() ? nullptr : &found->second;
}

int JointGraph::add(Joint joint, JointEnd end) {
  parents_.push_back(static_cast<int>(parents_.size()));
  joints_.push_back(std::move(joint));
  ends_.push_back(std::move(end));
  return parents_.back();
}

int JointGraph::net(const std::string& written, const Span& span) {
  const std::string name = whole_name(written);
  const auto [place, is_new] = nets_.emplace(name, -1);
  if (!is_new) return place->second;
  Joint made;
  made.nets = {name};
  if (name == kGround) {
    made.ground = NetName{name, span};
  } else {
    made.names.emplace(scope_of(name), NetName{name, span});
  }
  return place->second = add(std::move(made), {name, span, {}});
}

int JointGraph::pin(PinRef ref, const Part& part, const Span& span) {
  const auto [place, is_new] = pins_.emplace(ref, -1);
  if (!is_new) return place->second;
  Joint made;
  made.pins = {size()};
  std::string text =
      fmt::format("{}.{}", part.name, part.pins[static_cast<std::size_t>(ref.pin)]);
  return place->second = add(std::move(made), {std::move(text), span, ref});
}

int JointGraph::root_of(int node) {
  while (parents_[static_cast<std::size_t>(node)] != node)
    node = parents_[static_cast<std::size_t>(node)] =
        parents_[static_cast<std::size_t>(parents_[static_cast<std::size_t>(node)])];
  return node;
}

Joint& JointGraph::joint(int node) {
  return joints_[static_cast<std::size_t>(root_of(node))];
}

const JointEnd& JointGraph::end(int node) const {
  return ends_[static_cast<std::size_t>(node)];
}

void JointGraph::merge(int a, int b, const Meeting& meeting) {
  const bool is_smaller = weight(joint(a)) < weight(joint(b));
  const int root = root_of(is_smaller ? b : a);
  const int other = root_of(is_smaller ? a : b);
  parents_[static_cast<std::size_t>(other)] = root;
  Joint& into = joints_[static_cast<std::size_t>(root)];
  Joint from = std::exchange(joints_[static_cast<std::size_t>(other)], {});
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
  if (from.first && is_outer(*from.first, into.first))
    into.first = std::move(from.first);
  Neighbours here{std::string(meeting.scope), meeting.before, meeting.after,
                  meeting.span, ++meetings_};
  if (is_outer(here, into.first)) into.first = std::move(here);
}

}  // namespace benchproof
