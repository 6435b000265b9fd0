#pragma once

#include "core/network/network.h"
#include "core/network/timeline.h"
#include "spice/deck/transient_deck.h"
#include "spice/session/engine_session.h"

namespace benchproof {

/// The engine's testimony about a network at rest: makes its deck, has `session` run
/// it, unless the answer is very close once more from there until nothing moves, and
/// puts that back.
/// Where it does not settle, or says it did and its answer breaks Kirchhoff's laws, it
/// is asked again with looser tolerances, and ideal junctions (n << 1) by way of softer
/// ones, as far as the session's deadline for one request lets all tries. An engine
/// that failed or was lost is a result: read `status` and `reason`.
[[nodiscard]] Solution solve_with_engine(EngineSession& session,
                                         const Network& network);

/// The engine's testimony about a network in time, with a row for each of the engine's
/// own steps. Where the timeline does not begin at rest the first row is that of its
/// first step (see waveform_from).
///
/// One that begins at rest is solved there first, as above; the transient's own search
/// for rest starts from that. Where the engine does not get through it is asked twice
/// again, Newton's method settling ten times less exactly each time, as far as the
/// session's deadline for one request lets all three. A run that the engine does not
/// get through is a result: `reason` says how far it came, or that the waveform would
/// not fit wire::kMaxValues.
[[nodiscard]] Waveform solve_with_engine(EngineSession& session,
                                         const Timeline& timeline,
                                         const TransientDeckOptions& options = {});

/// The engine as a witness in time, steps ending at the times asked for. Where no coil
/// can ring, each question more exact than the last is asked by its other method: the
/// trapezoidal one lets the currents of fast capacitances ring where a clamp conducts.
/// The session must outlive it. All questions about one timeline, of which the first
/// asks for no times and nothing more exact, have the session's deadline for one
/// request together. Where it begins is asked for once, as long as no other timeline is
/// asked about in between.
[[nodiscard]] SolveInTime engine_in_time(EngineSession& session);

}  // namespace benchproof
