// How long an operating point takes: the nodal solver, the engine in this process (so
// that no pipe is counted against it), and the engine in its sealed worker, on the same
// networks in the same run. Every answer is checked before anything is timed.
//
//   nodal_cold_new_solver   solver made, network solved, solver dropped
//   nodal_cold_kept_solver  solver made before, started without a guess
//   nodal_near              solver made before, started at the solution of the network
//                           with one resistor 5 % smaller
//   engine_load             deck handed to the engine, operating point; not counted:
//                           making the deck, reading results, freeing
//   engine_change           as engine_load, but the deck is loaded, and one value of it
//                           changes
//   worker_load             deck and operating point through the sealed worker, results
//                           read, counted from request to reply; each time another deck
//   worker_change           as worker_load, but one value has changed
//
// The figure behind the slash is the number of nets besides ground; "jetty" is the
// description of fifteen parts beside this file.

#include <benchmark/benchmark.h>
#include <ngspice/sharedspice.h>

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <fstream>
#include <iostream>
#include <iterator>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include "core/base/quantity.h"
#include "core/check/agree/agreement.h"
#include "core/circuit/read/reader.h"
#include "core/network/lower.h"
#include "core/nodal/nodal_solver.h"
#include "spice/deck/deck.h"
#include "spice/session/detail/deck_changes.h"
#include "spice/session/engine_session.h"
#include "spice/worker/detail/engine.h"
#include "tests/bench/harbour.h"

namespace benchproof::bench {
namespace {

/// One network, what it becomes by a change of one value, and both as decks; the first
/// also as one that the engine has to load after it.
struct Case {
  std::string name;
  Circuit circuit;  ///< What the network was lowered from; empty if it was generated.
  Network network;
  Network changed;
  Deck deck;
  Deck changed_deck;
  Deck other_deck;
};

/// `resistor` is the one that changes.
Case make_case(std::string name, Circuit circuit, const Network& network,
               std::size_t resistor) {
  Case c{std::move(name),
         std::move(circuit),
         network,
         with_one_change(network, resistor),
         make_deck(network),
         {},
         {}};
  c.changed_deck = make_deck(c.changed);
  DeckOptions other;
  other.reltol *= 1.1;
  c.other_deck = make_deck(network, other);
  return c;
}

/// A description's first state, in which the resistor `part` changes. `catalogue` must
/// outlive the result.
Case read_case(std::string name, const std::string& path, const std::string& part,
               const Catalogue& catalogue) {
  std::ifstream file(path);
  const std::string text{std::istreambuf_iterator<char>(file), {}};
  ReadResult read = read_circuit(text, path, catalogue);
  if (!read.circuit) throw std::runtime_error(path + " is not a circuit");
  const Circuit& circuit = *read.circuit;
  const Network network =
      lower(circuit, phases(circuit, circuit.states.front()).front().state);
  const std::vector<TwoEnds>& resistors = network.structure->resistors;
  const auto changing =
      std::find_if(resistors.begin(), resistors.end(), [&](const TwoEnds& e) {
        return e.origin.part >= 0 && circuit.parts[e.origin.part].name == part;
      });
  if (changing == resistors.end()) throw std::runtime_error("no resistor " + part);
  const auto resistor = static_cast<std::size_t>(changing - resistors.begin());
  return make_case(std::move(name), std::move(*read.circuit), network, resistor);
}

/// Throws unless solver and engine agree on the network.
void check_answer(const Circuit& circuit, const Network& network, const Deck& deck,
                  const std::vector<double>& engine_values, const Solution& nodal) {
  if (engine_values.empty()) throw std::runtime_error("the engine found no solution");
  const Solution engine = from_vectors(network, deck, engine_values);
  const Agreement a = agree(circuit, network, engine, nodal);
  if (!a.agrees) throw std::runtime_error(a.reason);
}

/// Throws unless the engine answers a changed circuit as one that it loads.
void check_change(const Case& c, worker::Engine& engine) {
  const auto load = [&engine](const Deck& deck) {
    wire::Request request;
    request.deck = deck.lines;
    request.vectors = deck.vectors;
    return engine.run(request).values;
  };
  const std::vector<double> loaded = load(c.changed_deck);
  load(c.deck);
  wire::Request request;
  request.vectors = c.changed_deck.vectors;
  request.changes = changes_between(c.deck.lines, c.changed_deck.lines).value();
  if (engine.run(request).values != loaded)
    throw std::runtime_error("a changed circuit is not the loaded one");
}

void check_answers(const Case& c, worker::Engine& engine, EngineSession& session) {
  NodalSolver solver(c.network.structure);
  const Solution cold = solver.operating_point(c.network);
  const Solution near = solver.operating_point(c.changed, &cold);
  const Solution anew = solver.operating_point(c.changed);
  const auto in_process = [&engine](const Deck& deck) {
    wire::Request request;
    request.deck = deck.lines;
    request.vectors = deck.vectors;
    return engine.run(request).values;
  };
  const auto in_worker = [&session](const Deck& deck) {
    return session.run({deck.lines, deck.vectors}).values;
  };
  const auto check = [&c](const Network& network, const Deck& deck,
                          const std::vector<double>& values, const Solution& nodal) {
    check_answer(c.circuit, network, deck, values, nodal);
  };
  check(c.network, c.deck, in_process(c.deck), cold);
  check(c.network, c.deck, in_worker(c.deck), cold);
  for (const Solution* changed : {&near, &anew}) {
    check(c.changed, c.changed_deck, in_process(c.changed_deck), *changed);
    check(c.changed, c.changed_deck, in_worker(c.changed_deck), *changed);
  }
  check_change(c, engine);
  std::cout << c.name << ": witnesses agree; " << cold.iterations
            << " Newton steps cold, " << near.iterations << " near\n";
}

void nodal_cold_new_solver(benchmark::State& state, const Case& c) {
  for (auto _ : state) {
    NodalSolver solver(c.network.structure);
    benchmark::DoNotOptimize(solver.operating_point(c.network));
  }
}

void nodal_cold_kept_solver(benchmark::State& state, const Case& c) {
  NodalSolver solver(c.network.structure);
  for (auto _ : state) benchmark::DoNotOptimize(solver.operating_point(c.network));
}

void nodal_near(benchmark::State& state, const Case& c) {
  NodalSolver solver(c.network.structure);
  const Solution near = solver.operating_point(c.network);
  for (auto _ : state) {
    benchmark::DoNotOptimize(solver.operating_point(c.changed, &near));
  }
}

/// A deck's lines in the form that the engine takes.
class DeckText {
 public:
  explicit DeckText(const Deck& deck) : lines_(deck.lines) {
    for (std::string& line : lines_) pointers_.push_back(line.data());
    pointers_.push_back(nullptr);
  }
  DeckText(const DeckText&) = delete;
  DeckText& operator=(const DeckText&) = delete;
  [[nodiscard]] char** lines() { return pointers_.data(); }

 private:
  std::vector<std::string> lines_;
  std::vector<char*> pointers_;
};

void command(const char* text) { ngSpice_Command(const_cast<char*>(text)); }

/// Times only what the engine itself does.
template <class Act>
void time_engine(benchmark::State& state, const Act& act) {
  const auto start = std::chrono::steady_clock::now();
  act();
  command("op");
  const std::chrono::duration<double> taken = std::chrono::steady_clock::now() - start;
  state.SetIterationTime(taken.count());
}

void engine_load(benchmark::State& state, const Case& c) {
  for (auto _ : state) {
    DeckText text(c.deck);
    time_engine(state, [&text] { ngSpice_Circ(text.lines()); });
    command("remcirc");
    command("destroy all");
  }
}

void engine_change(benchmark::State& state, const Case& c) {
  std::vector<std::string> commands;
  for (const auto& [held, wanted] :
       {std::pair{&c.deck, &c.changed_deck}, std::pair{&c.changed_deck, &c.deck}}) {
    const auto change = changes_between(held->lines, wanted->lines).value().at(0);
    commands.push_back("alter " + change.element + " = [ " + shortest(change.value) +
                       " ]");
  }
  ngSpice_Circ(DeckText(c.deck).lines());
  std::size_t turn = 0;
  for (auto _ : state) {
    const std::string& next = commands[turn++ % commands.size()];
    time_engine(state, [&next] { command(next.c_str()); });
    command("destroy all");
  }
  command("remcirc");
}

void time_worker(benchmark::State& state, EngineSession& session,
                 const std::vector<const Deck*>& decks) {
  std::vector<EngineRequest> requests;
  for (const Deck* deck : decks) requests.push_back({deck->lines, deck->vectors});
  std::size_t turn = 0;
  for (auto _ : state) {
    benchmark::DoNotOptimize(session.run(requests[turn++ % requests.size()]));
  }
}

void add_benchmarks(const Case& c, EngineSession& session) {
  const auto add = [&c](const char* what, auto run) {
    return benchmark::RegisterBenchmark((std::string(what) + "/" + c.name).c_str(), run)
        ->Unit(benchmark::kMicrosecond);
  };
  using benchmark::State;
  const std::vector<const Deck*> others{&c.other_deck, &c.deck};
  const std::vector<const Deck*> turns{&c.changed_deck, &c.deck};
  add("nodal_cold_new_solver", [&c](State& s) { nodal_cold_new_solver(s, c); });
  add("nodal_cold_kept_solver", [&c](State& s) { nodal_cold_kept_solver(s, c); });
  add("nodal_near", [&c](State& s) { nodal_near(s, c); });
  add("engine_load", [&c](State& s) { engine_load(s, c); })->UseManualTime();
  add("engine_change", [&c](State& s) { engine_change(s, c); })->UseManualTime();
  add("worker_load", [others, &session](State& s) {
    time_worker(s, session, others);
  })->UseRealTime();
  add("worker_change", [turns, &session](State& s) {
    time_worker(s, session, turns);
  })->UseRealTime();
}

int run(int argc, char** argv) {
  benchmark::Initialize(&argc, argv);
  if (benchmark::ReportUnrecognizedArguments(argc, argv)) return 2;
  // As in the worker: no start-up script of the engine's is looked for.
  setenv("SPICE_SCRIPTS", "/nonexistent", 1);
  worker::Engine engine;
  if (const std::string failure = engine.start(); !failure.empty()) {
    throw std::runtime_error(failure);
  }
  EngineOptions options;
  options.allow_unsealed = true;  // The seal is tested elsewhere.
  EngineSession session(options);

  const Catalogue catalogue = built_in_catalogue();
  std::vector<Case> cases;
  cases.push_back(read_case("jetty", BENCHPROOF_SOURCE_DIR "/tests/bench/jetty.toml",
                            "bow_r", catalogue));
  for (const int nets : kSizes) {
    cases.push_back(make_case(std::to_string(nets), {}, harbour(nets), 0));
  }
  for (const Case& c : cases) {
    check_answers(c, engine, session);
    add_benchmarks(c, session);
  }
  benchmark::RunSpecifiedBenchmarks();
  return 0;
}

}  // namespace
}  // namespace benchproof::bench

int main(int argc, char** argv) {
  try {
    return benchproof::bench::run(argc, argv);
  } catch (const std::exception& error) {
    std::cerr << "no timing without right answers: " << error.what() << '\n';
    return 1;
  }
}
