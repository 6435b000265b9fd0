#pragma once

#include "core/network/network.h"
#include "spice/session/engine_session.h"

namespace benchproof {

/// The engine's testimony about a network at rest: makes its deck, has `session` run
/// it, unless the answer is very close once more from there until nothing moves, and
/// puts that back.
/// Where it does not settle, or says it did and its answer breaks Kirchhoff's laws, it
/// is asked again with looser tolerances, and ideal junctions (n << 1) by way of softer
/// ones. An engine that failed or was lost is a result: read `status` and `reason`.
[[nodiscard]] Solution solve_with_engine(EngineSession& session,
                                         const Network& network);

}  // namespace benchproof
