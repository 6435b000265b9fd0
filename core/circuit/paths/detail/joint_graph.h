#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/span.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// A name of a net, and where it came to the joint.
struct NetName {
  std::string name;
  Span span;
};

/// Where two ends are joined, and what stands on both sides.
struct Meeting {
  std::string before;
  std::string after;
  Span span;
  std::string_view scope;
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
  std::map<std::string, NetName, std::less<>> names;  ///< By scope, without ground.
  std::optional<NetName> ground;
  std::vector<std::string> nets;    ///< All names, in the order in which they came.
  std::vector<int> pins;            ///< Their nodes.
  std::optional<Neighbours> first;  ///< Of the outermost scope.

  /// What the joint is called in a scope; null where it has no name there.
  [[nodiscard]] const NetName* name_in(std::string_view scope) const;
};

/// A pin or the name of a net, where it was first met.
struct JointEnd {
  std::string text;
  Span span;
  PinRef pin;  ///< Of a pin.
};

/// Pins and names of nets as nodes, and which of them are one joint.
class JointGraph {
 public:
  /// The node of the net that is written so; made where it is new.
  int net(const std::string& written, const Span& span);

  /// The node of a part's pin; made where it is new.
  int pin(PinRef ref, const Part& part, const Span& span);

  /// Joins the joints of two nodes, which are not the same.
  void merge(int a, int b, const Meeting& meeting);

  /// The node that stands for all of its joint.
  [[nodiscard]] int root_of(int node);
  [[nodiscard]] Joint& joint(int node);
  [[nodiscard]] const JointEnd& end(int node) const;
  [[nodiscard]] int size() const { return static_cast<int>(ends_.size()); }

  /// The nodes of all names of nets, and of all pins.
  [[nodiscard]] const std::map<std::string, int, std::less<>>& nets() const {
    return nets_;
  }
  [[nodiscard]] const std::map<PinRef, int>& pins() const { return pins_; }

 private:
  int add(Joint joint, JointEnd end);

  std::vector<int> parents_;
  std::vector<Joint> joints_;
  std::vector<JointEnd> ends_;
  std::map<std::string, int, std::less<>> nets_;
  std::map<PinRef, int> pins_;
  int meetings_ = 0;
};

}  // namespace benchproof
