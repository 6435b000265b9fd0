#include "core/assemble/wire_colours.h"

#include <fmt/format.h>

#include <array>
#include <string_view>

#include "core/circuit/topology.h"

namespace benchproof {
namespace {

/// Told apart by most people who do not see all colours, too: by their brightness.
constexpr std::array<std::string_view, 6> kOfBranches = {"yellow", "green", "white",
                                                         "violet", "brown", "grey"};

std::string of_branch(std::size_t branch) {
  const std::string_view colour = kOfBranches[branch % kOfBranches.size()];
  const std::size_t rings = branch / kOfBranches.size();
  if (rings == 0) return std::string(colour);
  return rings == 1 ? fmt::format("{} with a ring of tape", colour)
                    : fmt::format("{} with {} rings of tape", colour, rings);
}

}  // namespace

std::vector<std::string> wire_colours(const Circuit& circuit, const BuildOrder& order) {
  std::vector<std::string> colours;
  for (std::size_t n = 0; n < circuit.nets.size(); ++n) {
    const int line = order.lines.line_of_net[n];
    const int branch = order.branch_of_net[n];
    if (is_zero(circuit, static_cast<int>(n))) {
      colours.emplace_back("black");
    } else if (line >= 0) {
      const SupplyLine& of = order.lines.lines[line];
      const Part& from = circuit.parts[of.part];
      const bool is_way_back = is_source(from.kind) && !of.is_negative &&
                               from.nets[1] == static_cast<int>(n);
      if (is_way_back) {
        colours.emplace_back("black with a ring of tape");
        continue;
      }
      const bool is_regulated = from.kind == KindId::regulator;
      colours.emplace_back(of.is_negative ? "blue" : is_regulated ? "orange" : "red");
    } else if (branch >= 0) {
      colours.push_back(of_branch(static_cast<std::size_t>(branch)));
    } else {
      colours.emplace_back("pink");  // What sets a regulator, or holds a gate.
    }
  }
  return colours;
}

}  // namespace benchproof
