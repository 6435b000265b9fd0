// Both witnesses on networks drawn from the input's bytes: where both have an answer
// that obeys the network's equations, they agree or each has found another of several
// operating points.

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <random>
#include <string>
#include <string_view>

#include "core/catalogue/model.h"
#include "core/check/agree/agreement.h"
#include "core/device/constants.h"
#include "core/network/equations.h"
#include "core/network/unlimited.h"
#include "core/nodal/nodal_solver.h"
#include "spice/deck/deck.h"
#include "spice/session/witness.h"
#include "tests/fuzz/target.h"
#include "tests/truth/random_network.h"

namespace benchproof::fuzz {
namespace {

/// Numbers from a text of printable characters: two for each number's highest bits,
/// of which there are 95 * 95. After the text's end they go on at random, but the same
/// for the same length.
class TextDraws {
 public:
  explicit TextDraws(std::string_view text) : rest_(text), further_(text.size()) {}

  std::uint64_t operator()() {
    constexpr std::uint64_t kCharacters = 95;
    if (rest_.size() < 2) return further_();
    const std::uint64_t drawn = digit(rest_[0]) * kCharacters + digit(rest_[1]);
    rest_.remove_prefix(2);
    return drawn * (~std::uint64_t{0} / (kCharacters * kCharacters)) +
           further_() % 1024;
  }

 private:
  static std::uint64_t digit(char c) {
    return static_cast<std::uint64_t>(static_cast<unsigned char>(c) - ' ') % 95;
  }

  std::string_view rest_;
  std::mt19937_64 further_;
};

bool stands(const Network& network, const Solution& solution, double share = 1.0) {
  return solution.status == SolveStatus::solved &&
         obeys(residual(network, solution), share);
}

/// Whether an answer obeys the equations well enough to be held to the other one. What
/// may be left over at a node is as much as two currents may differ by, and what an
/// ideal junction's own equation may be off as much as two voltages: of 50,000 networks
/// drawn at random two have an engine's answer that leaves 0.3 and 0.6 of that over and
/// differs by more than it may. There the program withholds its verdict.
bool is_firm(const Network& network, const Solution& solution) {
  constexpr double kFirmShare = 0.1;
  return stands(network, solution, kFirmShare);
}

/// Whether more flows through a junction than counts as limited: a millionth of it,
/// which may be left over at a node, moves small currents elsewhere by more than they
/// may. The program refuses such circuits.
bool is_unlimited(const Solution& solution) {
  const auto& amps = solution.currents.diodes;
  return std::any_of(amps.begin(), amps.end(),
                     [](double i) { return std::abs(i) > kUnlimitedAmps; });
}

/// What ideal junctions leave open of voltages between two answers, each of which may
/// be off by as much: the step over which the sharpest goes from nothing to everything.
double left_open(const Network& network) {
  double sharpest = 0.0;
  for (const DiodeModel& m : network.values.diodes) {
    if (m.n < kLeastRealEmission)
      sharpest = std::max(sharpest, m.n * thermal_voltage(network.celsius));
  }
  return 2.0 * sharpest;
}

/// Whether all voltages are equal to the engine's own tolerance (reltol of our decks,
/// of the highest voltage) or to what ideal junctions leave open. Through a small
/// resistance a current may then still differ by more than it may; the program
/// withholds its verdict, which is no broken promise.
bool are_as_close_as_can_be(const Network& network, const Solution& a,
                            const Solution& b) {
  constexpr double kEngineShare = 1e-9;
  double highest = 0.0;
  double apart = 0.0;
  for (std::size_t k = 0; k < a.volts.size(); ++k) {
    highest = std::max(highest, std::abs(a.volts[k]));
    apart = std::max(apart, std::abs(a.volts[k] - b.volts[k]));
  }
  return apart <= kEngineShare * highest + left_open(network);
}

/// Whether the engine's answer is as good as its matrix lets it be, and belongs to the
/// nodal one: it leaves no more at any node than rounding does of the products in a
/// row of its matrix, and the nodal solver, which rounds no such products, comes from
/// there to the answer that it found by itself. Where a part of a network hangs on
/// kiloohms that is tenths of a millivolt beside an ideal junction of 50 mA.
bool is_off_by_rounding(const Network& network, const Solution& engine,
                        const Solution& nodal) {
  constexpr double kNoMore = 1e-3;
  if (residual(network, engine).beyond_matrix > kNoMore) return false;
  const Solution there =
      NodalSolver(network.structure).operating_point(network, &engine);
  return there.status == SolveStatus::solved &&
         agree(Circuit{}, network, there, nodal).agrees;
}

EngineSession& session() {
  static EngineSession one([] {
    EngineOptions options;
    options.worker_path = BENCHPROOF_BIN_DIR "/benchproof-worker";
    return options;
  }());
  return one;
}

/// Whether the engine, begun at the nodal witness's answer, stays there.
bool engine_stays_at(const Network& network, const Solution& nodal) {
  for (DeckOptions options : {kTightDeck, kLooseDeck}) {
    options.start = nodal.volts;
    const Deck deck = make_deck(network, options);
    const EngineReply reply = session().run({deck.lines, deck.vectors});
    if (reply.status == EngineStatus::solved &&
        agree(Circuit{}, network, from_vectors(network, deck, reply.values), nodal)
            .agrees)
      return true;
  }
  return false;
}

/// Whether one of the witnesses, begun at the other's answer, stays there: then the
/// network has more than one operating point.
bool has_two_points(const Network& network, const Solution& engine,
                    const Solution& nodal) {
  const Solution there =
      NodalSolver(network.structure).operating_point(network, &engine);
  return (there.status == SolveStatus::solved &&
          agree(Circuit{}, network, engine, there).agrees) ||
         engine_stays_at(network, nodal);
}

}  // namespace
}  // namespace benchproof::fuzz

int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  using namespace benchproof;
  fuzz::TextDraws draws(fuzz::text_of(bytes, size));
  const Network network = test::random_network([&draws] { return draws(); });
  check_network(network);
  const Solution nodal = solve_nodal(network);
  if (nodal.status == SolveStatus::solved)
    fuzz::demand(fuzz::stands(network, nodal), "the nodal answer obeys the equations");
  const Solution engine = solve_with_engine(fuzz::session(), network);
  fuzz::demand(engine.status != SolveStatus::engine_lost,
               "the engine is not lost over a network: " + engine.reason);
  if (!fuzz::is_firm(network, nodal) || !fuzz::is_firm(network, engine)) return 0;
  if (fuzz::is_unlimited(nodal) || fuzz::is_unlimited(engine)) return 0;
  const Agreement a = agree(Circuit{}, network, engine, nodal);
  fuzz::demand(a.agrees || fuzz::are_as_close_as_can_be(network, engine, nodal) ||
                   fuzz::is_off_by_rounding(network, engine, nodal) ||
                   fuzz::has_two_points(network, engine, nodal),
               "the witnesses agree: " + a.reason);
  return 0;
}
