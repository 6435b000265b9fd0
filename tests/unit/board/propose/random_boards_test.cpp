// Boards of random joins against a search of its own through the copper: what is open
// and what is shorted must be the same. Then one mistake in a sound board: it is found.
#include <fmt/format.h>

#include <catch2/catch.hpp>
#include <cstdlib>
#include <map>
#include <random>
#include <set>
#include <string>
#include <vector>

#include "core/board/places/islands.h"
#include "tests/unit/board/built.h"

using namespace benchproof;

namespace {

int samples() {
  const char* asked = std::getenv("BENCHPROOF_SAMPLES");
  const int count = asked != nullptr ? std::atoi(asked) : 0;
  return count > 0 ? count : 1000;
}
unsigned series() {
  const char* asked = std::getenv("BENCHPROOF_SEED");
  return asked != nullptr ? static_cast<unsigned>(std::atoi(asked)) : 1U;
}

/// Resistors in a chain: every one is a part, every joint a net.
std::string chain(int count) {
  std::string text = "[parts]\nfeed = { kind = \"dc-supply\", voltage = \"5 V\" }\n";
  for (int k = 0; k < count; ++k)
    text += fmt::format("r{} = {{ kind = \"resistor\", value = \"1k\" }}\n", k);
  text += "[nets]\nn0 = [\"feed.plus\", \"r0.a\"]\n";
  for (int k = 1; k < count; ++k)
    text += fmt::format("n{} = [\"r{}.b\", \"r{}.a\"]\n", k, k - 1, k);
  return text + fmt::format("ground = [\"r{}.b\", \"feed.minus\"]\n", count - 1);
}

/// Walks through the copper from a hole: no part of the program's own union of holes.
std::set<Hole> reached(const Board& board, Hole from) {
  std::set<Hole> cuts;
  for (const Cut& cut : board.cuts) cuts.insert(cut.hole);
  std::set<Hole> seen = {from};
  std::vector<Hole> todo = {from};
  const auto visit = [&](Hole hole) {
    if (has_hole(board, hole) && seen.insert(hole).second) todo.push_back(hole);
  };
  while (!todo.empty()) {
    const Hole at = todo.back();
    todo.pop_back();
    if (board.kind == BoardKind::strips && !cuts.contains(at))
      for (const int by : {-1, 1})
        if (!cuts.contains({at.row, at.column + by})) visit({at.row, at.column + by});
    if (board.kind == BoardKind::groups && at.row >= 0 && at.row < 10)
      for (int row = at.row / 5 * 5; row < at.row / 5 * 5 + 5; ++row)
        visit({row, at.column});
    if (board.kind == BoardKind::groups && (at.row < 0 || at.row >= 10))
      for (int column = 0; column < board.columns; ++column) visit({at.row, column});
    for (const Join& join : board.joins) {
      if (join.kind != JoinKind::bridge) {
        if (join.from == at) visit(join.to);
        if (join.to == at) visit(join.from);
        continue;
      }
      const auto [row0, row1] = std::minmax(join.from.row, join.to.row);
      const auto [col0, col1] = std::minmax(join.from.column, join.to.column);
      if (at.row < row0 || at.row > row1 || at.column < col0 || at.column > col1)
        continue;
      for (int row = row0; row <= row1; ++row)
        for (int column = col0; column <= col1; ++column) visit({row, column});
    }
  }
  return seen;
}

/// Which nets are open and which are joined, by walking.
struct Walked {
  std::set<std::string> open;
  std::set<std::pair<std::string, std::string>> shorted;
};
Walked walk(const Circuit& circuit, const Board& board) {
  Walked walked;
  std::map<int, std::vector<Hole>> holes;
  for (const Placement& place : board.places)
    for (const PlacedPin& pin : place.pins) {
      const Part& part = circuit.parts[static_cast<std::size_t>(place.part)];
      holes[part.nets[static_cast<std::size_t>(pin.pin)]].push_back(pin.hole);
    }
  for (const auto& [net, list] : holes) {
    const std::string& name = circuit.nets[static_cast<std::size_t>(net)].name;
    const std::set<Hole> all = reached(board, list.front());
    for (const Hole hole : list)
      if (!all.contains(hole)) walked.open.insert(name);
    for (const Hole own : list) {
      const std::set<Hole> from = reached(board, own);
      for (const auto& [other, others] : holes)
        for (const Hole hole : others)
          if (other != net && from.contains(hole))
            walked.shorted.insert(
                std::minmax(name, circuit.nets[static_cast<std::size_t>(other)].name));
    }
  }
  return walked;
}

/// Groups of nets that are joined, whatever by.
std::set<std::set<std::string>> grouped(
    const std::set<std::pair<std::string, std::string>>& pairs) {
  std::set<std::set<std::string>> groups;
  for (const auto& [a, b] : pairs) {
    std::set<std::string> merged = {a, b};
    std::set<std::set<std::string>> rest;
    for (const auto& group : groups) {
      if (group.contains(a) || group.contains(b))
        merged.insert(group.begin(), group.end());
      else
        rest.insert(group);
    }
    rest.insert(merged);
    groups = std::move(rest);
  }
  return groups;
}

struct Random {
  std::mt19937 engine;
  int upto(int count) {
    return static_cast<int>(engine() % static_cast<unsigned>(count));
  }
};

/// A board with the chain's resistors somewhere, each pin in a hole of its own.
Board random_places(const Circuit& circuit, Random& random) {
  Board board;
  board.kind = static_cast<BoardKind>(random.upto(3));
  board.columns = 16;
  board.rows = 10;
  board.rails = board.kind == BoardKind::groups ? 2 : 0;
  board.is_off.assign(circuit.parts.size(), true);
  std::vector<Hole> holes = holes_of(board);
  std::shuffle(holes.begin(), holes.end(), random.engine);
  std::size_t next = 0;
  for (std::size_t part = 0; part < circuit.parts.size(); ++part) {
    Placement place;
    place.part = static_cast<int>(part);
    place.pins = {{0, holes[next], {}}, {1, holes[next + 1], {}}};
    next += 2;
    board.places.push_back(place);
  }
  return board;
}

Join random_join(const Board& board, Random& random) {
  const std::vector<Hole> holes = holes_of(board);
  Join join;
  join.from =
      holes[static_cast<std::size_t>(random.upto(static_cast<int>(holes.size())))];
  join.to =
      holes[static_cast<std::size_t>(random.upto(static_cast<int>(holes.size())))];
  join.kind = JoinKind::wire;
  if (random.upto(2) == 0) {
    // A bridge of up to four holes, not over a gap.
    Hole to = join.from;
    (random.upto(2) == 0 ? to.row : to.column) += 1 + random.upto(3);
    Join bridge{join.from, to, JoinKind::bridge, "", {}};
    if (has_hole(board, to) && is_straight_bridge(board, bridge)) return bridge;
  }
  return join;
}

}  // namespace

TEST_CASE("random joins: opens and shorts are those of a walk through the copper",
          "[board]") {
  const Circuit circuit = read_board_circuit(chain(6));
  Random random{std::mt19937(series())};
  int misplaced = 0;
  for (int k = 0; k < samples(); ++k) {
    CAPTURE(series(), k);
    Board board = random_places(circuit, random);
    for (int n = random.upto(14); n > 0; --n)
      board.joins.push_back(random_join(board, random));
    if (board.kind == BoardKind::strips)
      for (int n = random.upto(12); n > 0; --n)
        board.cuts.push_back(
            {{random.upto(board.rows), random.upto(board.columns)}, {}});
    const BoardProof proof = prove_board(circuit, board);
    const Walked walked = walk(circuit, board);
    // By chance some look like boards with one part elsewhere, whose nets are then
    // joined as if it stood right.
    if (std::any_of(proof.findings.begin(), proof.findings.end(), [](const Finding& f) {
          return f.check == "board-turned" || f.check == "board-exchanged" ||
                 f.check == "board-beside" || f.check == "board-either-way";
        })) {
      ++misplaced;
      continue;
    }
    std::set<std::string> open;
    for (const Finding& finding : proof.findings)
      if (finding.check == "board-open") open.insert(finding.net);
    CHECK(open == walked.open);
    // Nets on one island are those of a group.
    std::set<std::pair<std::string, std::string>> pairs;
    std::map<int, std::set<std::string>> by_root;
    const Islands islands = islands_of(board);
    for (const BoardIsland& island : proof.islands)
      by_root[islands.root(island.holes.front())].insert(
          circuit.nets[static_cast<std::size_t>(island.net)].name);
    for (const auto& [root, names] : by_root)
      for (const std::string& name : names)
        if (name != *names.begin()) pairs.emplace(std::minmax(*names.begin(), name));
    CHECK(grouped(pairs) == grouped(walked.shorted));
    // As many are told as it takes to make these groups.
    std::size_t needed = 0;
    for (const auto& group : grouped(walked.shorted)) needed += group.size() - 1;
    std::size_t shorts = 0;
    for (const Finding& finding : proof.findings)
      if (finding.check == "board-short" || finding.check == "board-strip") ++shorts;
    CHECK(shorts == needed);
  }
  CHECK(misplaced <= 1 + samples() / 100);
}

TEST_CASE("one mistake in a sound board is found, and no other", "[board]") {
  const Circuit circuit = read_board_circuit(chain(6));
  Random random{std::mt19937(series() + 1)};
  for (int k = 0; k < samples(); ++k) {
    CAPTURE(series(), k);
    // Sound: pads, every net joined by wires in a chain.
    Board board = random_places(circuit, random);
    board.kind = BoardKind::pads;
    board.rails = 0;
    std::vector<Hole> holes = holes_of(board);
    std::shuffle(holes.begin(), holes.end(), random.engine);
    std::map<int, std::vector<Hole>> of_net;
    std::size_t next = 0;
    for (Placement& place : board.places)
      for (PlacedPin& pin : place.pins) {
        pin.hole = holes[next++];
        const Part& part = circuit.parts[static_cast<std::size_t>(place.part)];
        of_net[part.nets[static_cast<std::size_t>(pin.pin)]].push_back(pin.hole);
      }
    std::vector<int> net_of_join;
    for (const auto& [net, list] : of_net)
      for (std::size_t n = 1; n < list.size(); ++n) {
        board.joins.push_back({list[n - 1], list[n], JoinKind::wire, "", {}});
        net_of_join.push_back(net);
      }
    CHECK(told(prove_board(circuit, board), Severity::note).empty());
    const auto n =
        static_cast<std::size_t>(random.upto(static_cast<int>(board.joins.size())));
    const std::string& net =
        circuit.nets[static_cast<std::size_t>(net_of_join[n])].name;
    std::vector<std::string> checks;
    const int mistake = random.upto(3);
    if (mistake == 0) {  // A wire is forgotten.
      board.joins.erase(board.joins.begin() + static_cast<std::ptrdiff_t>(n));
      checks = {"board-open"};
    } else if (mistake == 1) {  // One too many, from this net to another.
      const auto other = (n + 1) % board.joins.size();
      board.joins.push_back(
          {board.joins[n].from, board.joins[other].to, JoinKind::wire, "", {}});
      checks = {"board-short"};
    } else {  // One end is a hole off, where nothing is.
      board.joins[n].to = holes[next + static_cast<std::size_t>(random.upto(20))];
      checks = {"board-open"};
    }
    const BoardProof proof = prove_board(circuit, board);
    std::vector<std::string> found;
    for (const Finding& finding : proof.findings) {
      found.push_back(finding.check);
      CHECK_FALSE(finding.hole.empty());
      if (finding.check == "board-open") CHECK(finding.net == net);
    }
    CHECK(found == checks);
  }
}
