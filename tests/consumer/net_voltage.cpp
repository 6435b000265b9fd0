// Prints the voltage of one net in the first state of a description, by the nodal
// witness: net_voltage FILE NET

#include <algorithm>
#include <exception>
#include <fstream>
#include <iostream>
#include <iterator>
#include <string>

#include "core/base/quantity.h"
#include "core/catalogue/catalogue.h"
#include "core/circuit/read/reader.h"
#include "core/network/lower.h"
#include "core/network/observation.h"
#include "core/nodal/nodal_solver.h"

namespace {

using namespace benchproof;

int print_voltage(const std::string& path, const std::string& name) {
  std::ifstream file(path);
  const std::string text{std::istreambuf_iterator<char>(file), {}};
  const Catalogue catalogue = built_in_catalogue();
  const ReadResult read = read_circuit(text, path, catalogue);
  for (const Diagnostic& complaint : read.diagnostics)
    std::cerr << to_text(complaint, path, text);
  if (!read.circuit) return 2;

  const auto& nets = read.circuit->nets;
  const auto net = std::find_if(nets.begin(), nets.end(),
                                [&](const Net& each) { return each.name == name; });
  if (net == nets.end()) {
    std::cerr << "there is no net '" << name << "'\n";
    return 2;
  }
  const Network network = lower(*read.circuit, read.circuit->states.front());
  const Solution solution = solve_nodal(network);
  if (solution.status != SolveStatus::solved) {
    std::cerr << solution.reason << '\n';
    return 1;
  }
  const Observation seen = observe(*read.circuit, network, solution);
  const auto index = static_cast<std::size_t>(net - nets.begin());
  std::cout << format_quantity(seen.net_volts[index], Unit::volt, 4) << '\n';
  return 0;
}

}  // namespace

int main(int count, char** arguments) {
  if (count != 3) {
    std::cerr << "usage: net_voltage FILE NET\n";
    return 2;
  }
  try {
    return print_voltage(arguments[1], arguments[2]);
  } catch (const std::exception& error) {
    std::cerr << error.what() << '\n';
    return 1;
  }
}
