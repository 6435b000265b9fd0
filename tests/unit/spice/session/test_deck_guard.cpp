#include <catch2/catch.hpp>

#include "spice/session/detail/deck_guard.h"

namespace {

using benchproof::guard_deck;
using benchproof::vector_complaint;
using Lines = std::vector<std::string>;

// A deck that is good but for one line.
Lines with_line(const std::string& line) {
  return {"title", "v1 n1 0 10", line, "r1 n1 0 1k", ".end"};
}

}  // namespace

TEST_CASE("a plain circuit passes the guard", "[engine][guard]") {
  const auto guarded =
      guard_deck({"a title", "", "* a comment", "V1 n1 0 10", "  r1 n1 0", "+ 1k  ",
                  ".MODEL d d is=1e-14", ".options reltol=1e-9", ".END"});
  CHECK(guarded.complaint.empty());
  CHECK(guarded.lines == Lines{"circuit", "V1 n1 0 10", "r1 n1 0", "+ 1k",
                               ".MODEL d d is=1e-14", ".options reltol=1e-9", ".end"});
}

TEST_CASE("free text does not reach the engine", "[engine][guard]") {
  for (const std::string text :
       {"*ng_script", "x\n.control\nshell touch y\n.endc", "Hafenlicht \xC3\xBC"}) {
    Lines deck = with_line("*# shell touch y");
    deck.front() = text;
    const auto guarded = guard_deck(deck);
    CHECK(guarded.complaint.empty());
    CHECK(guarded.lines == Lines{"circuit", "v1 n1 0 10", "r1 n1 0 1k", ".end"});
  }
}

TEST_CASE("a deck without a circuit is refused", "[engine][guard]") {
  CHECK(guard_deck({}).complaint == "the deck does not end in '.end'");
  CHECK(guard_deck({"title"}).complaint == "the deck does not end in '.end'");
  CHECK(guard_deck({".end"}).complaint == "the deck does not end in '.end'");
  CHECK(guard_deck({"title", "r1 n1 0 1k"}).complaint ==
        "the deck does not end in '.end'");
  CHECK(guard_deck({"title", ".end"}).complaint == "the deck holds no element");
  CHECK(guard_deck({"title", "* only", ".options gmin=1e-15", ".end"}).complaint ==
        "the deck holds no element");
  CHECK(guard_deck({"title", "+ 1k", "r1 n1 0 1k", ".end"}).complaint ==
        "deck line 2: continues nothing");
  CHECK(guard_deck({"title"}).lines.empty());
}

TEST_CASE("a transient is asked for once, in one form", "[engine][guard]") {
  constexpr auto kTransient = benchproof::wire::Analysis::transient;
  for (const std::string good : {".tran 1e-9 0.02 0 2e-04", ".tran 1 1e+3 0 10 uic"}) {
    CAPTURE(good);
    const auto guarded = guard_deck(with_line(good), kTransient);
    CHECK(guarded.complaint.empty());
    CHECK(guarded.lines.at(2) == good);
    // At rest it is no card of a circuit.
    CHECK(guard_deck(with_line(good)).complaint ==
          "deck line 3: '.tran' is not a card of a plain circuit");
  }
  for (const std::string bad :
       {".tran", ".tran 1 2", ".tran 1e-9 0.02 0", ".tran 1e-9 0.02 1 1",
        ".tran 1e-9 0.02 0 1 uic uic", ".tran 1e-9 0.02 0 1 run", ".tran 1u 20m 0 1",
        ".tran 1e-9 -1 0 1", ".tran 1e-9 0 0 1", ".tran 1e-9 inf 0 1",
        ".tran 1e-9 nan 0 1", ".tran 1e-9  0.02 0 1", ".tran\t1e-9 0.02 0 1",
        ".tran 1e-9 {x} 0 1", ".TRAN 1e-9 0.02 0 1"}) {
    CAPTURE(bad);
    CHECK(guard_deck(with_line(bad), kTransient).complaint ==
          "deck line 3: '.tran' is not a card of a plain circuit");
  }
  CHECK(guard_deck(with_line("* none"), kTransient).complaint ==
        "the deck holds no '.tran A B 0 C'");
  const std::string tran = ".tran 1e-9 0.02 0 2e-04";
  CHECK(guard_deck({"title", "r1 n1 0 1", tran, tran, ".end"}, kTransient).complaint ==
        "deck line 4: '.tran' is not a card of a plain circuit");
  CHECK(
      guard_deck({"title", "r1 n1 0 1", tran, "+ uic", ".end"}, kTransient).complaint ==
      "deck line 4: continues nothing");
}

TEST_CASE("a line that is more than a circuit is refused", "[engine][guard]") {
  const auto line = GENERATE(as<std::string>{}, ".control", "  .Control", ".include x",
                             ".inc x", ".lib x", ".endc", ".end", ".subckt a",
                             ".tran 1", ".csparam a=1", "a1 n1 n2 m", "xa n1",
                             "shell touch y", "set x", "echo", "quit", "5 n1", "#r");
  // "set", "echo" and "quit" begin like elements but have too few fields for one; what
  // the guard looks at is the first letter, and the engine refuses the rest (see the
  // session).
  const bool begins_like_an_element =
      line == "shell touch y" || line == "set x" || line == "echo" || line == "quit";
  CAPTURE(line);
  const auto guarded = guard_deck(with_line(line));
  CHECK(guarded.complaint.empty() == begins_like_an_element);
  if (!begins_like_an_element) {
    CHECK_THAT(guarded.complaint, Catch::StartsWith("deck line 3: "));
    CHECK(guarded.lines.empty());
  }
}

TEST_CASE("only printable ASCII without a backquote passes", "[engine][guard]") {
  CHECK(guard_deck(with_line("r2 n1\t0 1k")).complaint.empty());
  for (int code = 0; code < 256; ++code) {
    const char letter = static_cast<char>(code);
    const bool is_good =
        (code >= 0x20 && code <= 0x7E && letter != '`') || letter == '\t';
    CAPTURE(code);
    CHECK(guard_deck(with_line(std::string("r2 n1") + letter + "2 0 1k"))
              .complaint.empty() == is_good);
  }
}

TEST_CASE("decks and lines have a greatest length", "[engine][guard]") {
  CHECK(guard_deck(with_line("r2 " + std::string(16'381, '1'))).complaint.empty());
  CHECK(guard_deck(with_line("r2 " + std::string(16'382, '1'))).complaint ==
        "deck line 3: longer than 16384 bytes");
  Lines deck(200'000, "r1 n1 0 1k");
  deck.back() = ".end";
  CHECK(guard_deck(deck).complaint.empty());
  deck.insert(deck.begin(), "title");
  CHECK(guard_deck(deck).complaint == "the deck has 200001 lines, above 200000");
}

TEST_CASE("names of results are told from other text", "[engine][guard]") {
  for (const std::string good : {"n3", "0", "v2#branch", "@r1[i]", "@d1[id]", "n_1"}) {
    CAPTURE(good);
    CHECK(vector_complaint(good).empty());
  }
  for (const std::string bad :
       {"", "N3", "n3 ", "n3#", "n3#branchx", "@r1", "@r1[]", "@r1[i", "@r1[i]x",
        "@[i]", "op1.n3", "v(n3)", "n1+n2", "all", "n1\n"}) {
    CAPTURE(bad);
    CHECK(vector_complaint(bad).empty() == (bad == "all"));  // a node may be so called
  }
  CHECK(vector_complaint(std::string(128, 'n')).empty());
  CHECK_FALSE(vector_complaint(std::string(129, 'n')).empty());
  CHECK(vector_complaint("\x1B[2J") == "not the name of a result: '?[2J'");
}
