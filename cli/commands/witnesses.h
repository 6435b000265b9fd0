#pragma once

#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "cli/render/report.h"
#include "core/network/network.h"
#include "core/network/witnesses.h"
#include "core/nodal/nodal_solver.h"
#include "core/verify/verify.h"
#include "spice/session/engine_session.h"

namespace benchproof {

/// One nodal solver for each structure met.
class NodalWitness {
 public:
  /// Solves from a cold start, so that no result depends on the order.
  [[nodiscard]] Solution solve(const Network& network);

  /// Solves from the last solution of that structure, where there is one.
  [[nodiscard]] Solution solve_near(const Network& network);

 private:
  struct Known {
    std::shared_ptr<const Structure> structure;
    NodalSolver solver;
    Solution last;  ///< Without voltages before the first.
  };
  Known& known(const Network& network);

  std::vector<Known> known_;
};

/// How the engine's worker is started.
[[nodiscard]] EngineOptions engine_options(bool allow_unsealed);

/// Both witnesses, with kForOneDescription for all that they are asked together, which
/// begins now. The session and the solvers must outlive them.
[[nodiscard]] Witnesses make_witnesses(EngineSession& session, NodalWitness& nodal);

/// Judges the states and runs named (all, if none are) of a description that was read,
/// with solvers of its own.
void judge(FileReport& report, EngineSession& session,
           const std::vector<std::string>& states = {},
           const std::vector<std::string>& runs = {});

/// Tells why a description was refused (as JSON too, if asked). Returns the status.
[[nodiscard]] int refuse(const FileReport& report, bool json);

/// The complaint about the seal of the engine's worker; empty if there is none.
[[nodiscard]] std::string seal_text(const EngineSession& session);

/// The exit status that a verdict comes to.
[[nodiscard]] int exit_status(Verdict verdict);

}  // namespace benchproof
