#pragma once

#include <string>
#include <vector>

#include "cli/render/verify/report.h"
#include "core/network/witnesses.h"
#include "core/nodal/nodal_witness.h"
#include "core/verify/verify.h"
#include "spice/session/engine_session.h"

namespace benchproof {

/// How the engine's worker is started.
[[nodiscard]] EngineOptions engine_options(bool allow_unsealed);

/// Both witnesses, with kForOneDescription for all that they are asked together, which
/// begins now. The session and the solvers must outlive them.
[[nodiscard]] Witnesses make_witnesses(EngineSession& session, NodalWitness& nodal);

/// Looks for single mistakes that explain the faults of a description that was judged
/// in all its states.
void explain(FileReport& report, EngineSession& session);

/// Judges the states and runs named (all, if none are) of a description that was read,
/// with solvers of its own; several runs at once, if that is wanted. The hand rules of
/// states are left out (see put_by_hand).
void judge(FileReport& report, EngineSession& session,
           const std::vector<std::string>& states, const std::vector<std::string>& runs,
           bool runs_at_once);

/// The same, several runs at once, with the hand rules: for whoever tells them.
void judge_in_full(FileReport& report, EngineSession& session,
                   const std::vector<std::string>& states = {},
                   const std::vector<std::string>& runs = {});

/// Tells why a description was refused (as JSON too, if asked). Returns the status.
[[nodiscard]] int refuse(const FileReport& report, bool json);

/// The complaint about the seal of the engine's worker; empty if there is none.
[[nodiscard]] std::string seal_text(const EngineSession& session);

/// The exit status that a verdict comes to.
[[nodiscard]] int exit_status(Verdict verdict);

}  // namespace benchproof
