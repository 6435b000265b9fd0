#include "core/assemble/assembly.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <utility>

#include "core/assemble/fitting.h"
#include "core/assemble/wire_colours.h"
#include "core/order/shopping_list.h"

namespace benchproof {
namespace {

/// The pin on a net that the next one is joined to: the last that was placed, so that a
/// path stays one; of supply lines and ground the first, from where they spread.
PinRef joint_of(const Circuit& circuit, const BuildOrder& order, int net,
                const std::vector<int>& placed) {
  const bool spreads = net == 0 || order.branch_of_net[net] < 0;
  PinRef found;
  for (const int part : placed) {
    const std::vector<int>& nets = circuit.parts[part].nets;
    for (int pin = 0; pin < static_cast<int>(nets.size()); ++pin) {
      if (nets[pin] != net) continue;
      if (found.part < 0 || !spreads) found = {part, pin};
    }
  }
  return found;
}

/// What the shop calls each part, and what it shows.
void describe(const Circuit& circuit, const Verification& verification,
              std::vector<BuildStep>& steps) {
  const ShoppingList list = shopping_list(circuit, verification);
  for (BuildStep& step : steps) {
    for (const OrderLine& line : list.lines) {
      if (std::find(line.parts.begin(), line.parts.end(), step.part) ==
          line.parts.end())
        continue;
      step.what = line.what;
      if (line.value && !line.value->bands.empty())
        step.seen = fmt::format("bands {}, or {}", fmt::join(line.value->bands, " "),
                                line.value->code);
      else if (line.value)
        step.seen = "printed as " + line.value->code;
    }
  }
}

}  // namespace

Assembly assemble(const Circuit& circuit, const Board* board,
                  const Verification& verification, const Solve& engine,
                  const Solve& nodal) {
  Assembly assembly;
  assembly.order = build_order(circuit, part_flows(circuit, verification));
  assembly.board = board;
  if (board != nullptr) put_flat_first(circuit, *board, assembly.order);
  assembly.colours = wire_colours(circuit, assembly.order);
  std::vector<int> placed;
  std::vector<int> owed;  // Nets that could not be measured yet.
  for (std::size_t s = 0; s < assembly.order.stages.size(); ++s) {
    for (const int index : assembly.order.stages[s].parts) {
      const Part& part = circuit.parts[index];
      BuildStep step;
      step.part = index;
      step.stage = s;
      step.mark = mark_of(circuit, index);
      step.cautions = cautions_of(circuit, index, verification);
      if (part.kind == KindId::wire)
        step.metres = number_of(part, "length").value_or(0.0);
      for (int pin = 0; pin < static_cast<int>(part.nets.size()); ++pin) {
        const int net = part.nets[pin];
        BuildJoin join{pin, net, {}, {}};
        if (net >= 0) {
          join.to = joint_of(circuit, assembly.order, net, placed);
          join.colour = assembly.colours[net];
        }
        step.joins.push_back(std::move(join));
      }
      placed.push_back(index);
      assembly.steps.push_back(std::move(step));
    }
    assembly.checks.push_back(
        stage_checks(circuit, assembly.order, s, verification, engine, nodal, owed));
    if (assembly.checks.back().not_powered.empty())
      owed.clear();
    else
      owed.insert(owed.end(), assembly.order.stages[s].nets.begin(),
                  assembly.order.stages[s].nets.end());
  }
  describe(circuit, verification, assembly.steps);
  if (board == nullptr) return assembly;
  std::vector<BoardWork> work = work_on_board(circuit, *board, placed);
  for (std::size_t k = 0; k < work.size(); ++k)
    assembly.steps[k].board = std::move(work[k]);
  return assembly;
}

}  // namespace benchproof
