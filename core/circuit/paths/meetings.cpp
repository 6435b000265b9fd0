#include <fmt/format.h>

#include <algorithm>

#include "core/circuit/paths/detail/joining.h"

// What happens where two ends are joined.

namespace benchproof {
namespace {

/// Whether an end is of a joint of which two lists say the same pin: what does not fit
/// there follows from that.
bool is_disputed(Joining& joining, int node) {
  return std::any_of(
      joining.disputed.begin(), joining.disputed.end(), [&](const int other) {
        return joining.graph.root_of(other) == joining.graph.root_of(node);
      });
}

std::string by_line(const Span& span) {
  return span.begin.line < 1 ? std::string()
                             : fmt::format(" in line {}", span.begin.line);
}

/// Whether an end is one that is left open; complains then.
bool is_left_open(Joining& joining, int node, const Meeting& meeting) {
  const auto found = joining.open.find(node);
  if (found == joining.open.end() || found->second.inner == meeting.scope) return false;
  complain(
      joining.reading, kPathConflict, meeting.span,
      fmt::format("{} is joined here, and listed as open{}",
                  quoted(joining.graph.end(node).text), by_line(found->second.span)),
      "every pin stands once, on one net or in 'open'");
  return true;
}

/// An end and the net that it stands on, in words.
std::string end_on_net(const std::string& end, const NetName& on) {
  const std::string net = "net " + quoted(on.name);
  if (end == on.name) return net;
  return fmt::format("{}, which stands on {}{},", quoted(end), net, by_line(on.span));
}

}  // namespace

void doubt(Joining& joining, int node) {
  if (node >= 0) joining.doubted.push_back(node);
}

void meet(Joining& joining, int a, int b, const Meeting& meeting) {
  if (a < 0 || b < 0) return;
  JointGraph& graph = joining.graph;
  const auto doubt_both = [&] {
    doubt(joining, a);
    doubt(joining, b);
  };
  if (is_left_open(joining, a, meeting) || is_left_open(joining, b, meeting))
    return doubt_both();
  if (graph.root_of(a) == graph.root_of(b)) return;
  const NetName* one = graph.joint(a).name_in(meeting.scope);
  const NetName* other = graph.joint(b).name_in(meeting.scope);
  if (one == nullptr || other == nullptr || one->name == other->name)
    return graph.merge(a, b, meeting);
  if (!is_disputed(joining, a) && !is_disputed(joining, b))
    complain(joining.reading, kPathConflict, meeting.span,
             fmt::format("this joins {} to {}", end_on_net(graph.end(a).text, *one),
                         end_on_net(graph.end(b).text, *other)),
             "every pin stands on one net");
  doubt_both();
}

}  // namespace benchproof
