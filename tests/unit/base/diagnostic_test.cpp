#include "core/base/diagnostic.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <random>
#include <sstream>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/complaints.h"

using benchproof::Diagnostic;
using benchproof::nearest;
using benchproof::printable;
using benchproof::sort_by_position;
using benchproof::Span;
using benchproof::to_text;

namespace {

/// Letters to insert, drop, change or swap, by the definition alone: the outside check
/// of the banded table. Slow; for short names.
std::size_t plain_distance(std::string_view a, std::string_view b) {
  if (a.empty() || b.empty()) return a.size() + b.size();
  std::size_t least = plain_distance(a.substr(1), b.substr(1)) + (a[0] == b[0] ? 0 : 1);
  least = std::min(least, plain_distance(a.substr(1), b) + 1);
  least = std::min(least, plain_distance(a, b.substr(1)) + 1);
  if (a.size() > 1 && b.size() > 1 && a[0] == b[1] && a[1] == b[0])
    least = std::min(least, plain_distance(a.substr(2), b.substr(2)) + 1);
  return least;
}

/// The excerpt and the line of marks below it.
std::pair<std::string, std::string> excerpt_of(const std::string& text) {
  std::istringstream lines(text);
  std::string heading;
  std::string shown;
  std::string marks;
  std::getline(lines, heading);
  std::getline(lines, shown);
  std::getline(lines, marks);
  return {shown, marks};
}

std::ptrdiff_t columns(const std::string& text) {
  return std::count_if(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
  });
}

Diagnostic at(int line, int column, int end_line, int end_column) {
  return {"net-dangling", Span{{line, column}, {end_line, end_column}}, "trouble", ""};
}

}  // namespace

TEST_CASE("the text of a complaint", "[base][diagnostic]") {
  const std::string source =
      "a = 1\nb = 2\n\n[nets]\nx = []\ny = []\ntap_ = [\"r1.b\"]\n";
  Diagnostic complaint = at(7, 1, 7, 5);
  complaint.message = "only pin 'r1.b' stands on net 'tap_'";
  complaint.hint = "did you mean 'tap'? nets so far: ground, inlet, tap";
  CHECK(to_text(complaint, "circuits/divider.toml", source) ==
        "circuits/divider.toml:7:1: error: only pin 'r1.b' stands on net 'tap_' "
        "[net-dangling]\n"
        "    7 | tap_ = [\"r1.b\"]\n"
        "      | ^~~~\n"
        "  hint: did you mean 'tap'? nets so far: ground, inlet, tap\n");
}

TEST_CASE("a complaint without a place or beyond the text", "[base][diagnostic]") {
  CHECK(to_text(at(0, 0, 0, 0), "f", "a\nb\n") == "f: error: trouble [net-dangling]\n");
  CHECK(to_text(at(9, 1, 9, 2), "f", "a\nb\n") ==
        "f:9:1: error: trouble [net-dangling]\n");
  CHECK(to_text(at(2, 0, 2, 0), "f", "a\nb\n") ==
        "f:2: error: trouble [net-dangling]\n    2 | b\n");
  CHECK(to_text(at(1, 50, 1, 60), "f", "abc") ==
        "f:1:50: error: trouble [net-dangling]\n    1 | abc\n      |    ^\n");
  CHECK(to_text(at(1, 2, 3, 1), "f", "abc\r\nd\r\ne") ==
        "f:1:2: error: trouble [net-dangling]\n    1 | abc\n      |  ^~\n");
  CHECK(to_text(at(-3, -3, -9, -9), "f", "abc") ==
        "f: error: trouble [net-dangling]\n");
  CHECK(to_text(at(1, 3, 1, 1), "f", "abc") ==
        "f:1:3: error: trouble [net-dangling]\n    1 | abc\n      |   ^\n");
}

TEST_CASE("a byte order mark takes no column", "[base][diagnostic]") {
  CHECK(to_text(at(1, 1, 1, 2), "f", "\uFEFFabc") ==
        "f:1:1: error: trouble [net-dangling]\n    1 | abc\n      | ^\n");
}

TEST_CASE("the mark counts code points, not bytes", "[base][diagnostic]") {
  // a with diaeresis takes two bytes, the euro sign three.
  CHECK(to_text(at(1, 6, 1, 9), "f", "\u00E4\u20ACxyz") ==
        "f:1:6: error: trouble [net-dangling]\n    1 | \u00E4\u20ACxyz\n"
        "      |   ^~~\n");
  CHECK(to_text(at(1, 1, 1, 6), "f", "\u00E4\u20ACxyz") ==
        "f:1:1: error: trouble [net-dangling]\n    1 | \u00E4\u20ACxyz\n"
        "      | ^~\n");
}

TEST_CASE("a long line is cut around the mark", "[base][diagnostic]") {
  const std::string line = std::string(500, 'a') + "HERE" + std::string(500, 'b');
  const std::string text = to_text(at(1, 501, 1, 505), "f", line);
  CHECK_THAT(text, Catch::Contains("    1 | ...aaaa"));
  CHECK_THAT(text, Catch::Contains("bbbb...\n"));
  const std::size_t shown = text.find("HERE") - text.find("    1 | ");
  const std::size_t mark = text.find("^~~~\n") - text.find("      | ");
  CHECK(shown == mark);
  CHECK(text.size() < 300);
  CHECK(to_text(at(1, 0, 1, 0), "f", line).size() < 200);
  // A cut never splits a code point.
  std::string wide;
  for (int i = 0; i < 300; ++i) wide += "\u20AC";
  for (int column = 1; column < 900; column += 3)
    CHECK_THAT(to_text(at(1, column, 1, column + 3), "f", wide), !Catch::Contains("?"));
}

TEST_CASE("an excerpt keeps to 80 columns and shows what it marks",
          "[base][diagnostic]") {
  const int size = GENERATE(0, 1, 69, 70, 71, 72, 100, 1000);
  const std::string letter = GENERATE("x", "\u00E4", "\u20AC", "\U0001F4A1");
  CAPTURE(size, letter);
  std::string line;
  for (int k = 0; k < size; ++k) line += letter;
  // Any place in a short line, and the ends and a middle of a long one.
  const int last = static_cast<int>(line.size()) + 1;
  for (int column = 1; column <= last; column += last > 500 && column > 90 ? 97 : 1) {
    if ((column - 1) % static_cast<int>(letter.size()) != 0) continue;
    const int end = column + static_cast<int>(letter.size());
    const std::string text = to_text(at(1, column, 1, end), "f", line);
    CAPTURE(column, text);
    const auto [shown, marks] = excerpt_of(text);
    REQUIRE(columns(shown) <= 80);
    REQUIRE(marks.size() <= 80);
    // The mark stands below a letter, or right behind the last one.
    REQUIRE(marks.find('|') == shown.find('|'));
    const auto at_mark = static_cast<std::ptrdiff_t>(marks.find('^'));
    if (column == last)
      REQUIRE(at_mark == columns(shown));
    else
      REQUIRE(at_mark < columns(shown) - (shown.ends_with("...") ? 3 : 0));
    const bool is_front_cut = shown.find(" | ...") != std::string::npos;
    REQUIRE(at_mark >=
            static_cast<std::ptrdiff_t>(shown.find('|')) + 2 + (is_front_cut ? 3 : 0));
    if (line.size() <= 70) REQUIRE_THAT(shown, !Catch::Contains("..."));
  }
}

TEST_CASE("the highest line number leaves the mark in its place",
          "[base][diagnostic]") {
  const std::string source = std::string(1'000'000, '\n') + std::string(200, 'a');
  const std::string text = to_text(at(1'000'001, 100, 1'000'001, 101), "f", source);
  const auto [shown, marks] = excerpt_of(text);
  CHECK_THAT(shown, Catch::StartsWith("1000001 | ...aaa"));
  CHECK(columns(shown) <= 80);
  CHECK(marks.find('|') == shown.find('|'));
}

TEST_CASE("nothing a terminal obeys is printed", "[base][diagnostic]") {
  CHECK(printable("a\tb") == "a b");
  CHECK(printable("\x1B[31m\r\n") == "?[31m??");
  CHECK(printable(std::string_view("a\0b", 3)) == "a?b");
  CHECK(printable("\u0085\u009B") == "??");                 // C1 controls
  CHECK(printable("\u202Eabc\u2066") == "?abc?");           // direction
  CHECK(printable("\u200B\uFEFF") == "??");                 // invisible
  CHECK(printable("\uFFFE\uFFFF\U0001FFFE") == "???");      // no characters
  CHECK(printable("\uFDD0\u180E\u3164\uFFF9") == "????");   // nor shown
  CHECK(printable("\U000E0041\U0001D173\uFE0F") == "???");  // tags, selectors
  CHECK(printable("\u00E4\u03A9\u20AC\U0001F4A1") == "\u00E4\u03A9\u20AC\U0001F4A1");
  // Invalid forms named by RFC 3629 section 3 and 10: a lone continuation, an overlong
  // NUL, a surrogate, beyond U+10FFFF, a sequence cut short.
  CHECK(printable("\x80") == "?");
  CHECK(printable("\xC0\x80") == "??");
  CHECK(printable("\xED\xA0\x80") == "???");
  CHECK(printable("\xF4\x90\x80\x80") == "????");
  CHECK(printable("\xE2\x82") == "??");
  CHECK(printable("\xE2\x82x") == "??x");

  Diagnostic complaint = at(1, 1, 1, 2);
  complaint.message = "name 'x\ny\x1B'";
  complaint.hint = "\x07";
  CHECK(to_text(complaint, "f\n", "\x1B[2J") ==
        "f?:1:1: error: name 'x?y?' [net-dangling]\n    1 | ?[2J\n      | ^\n"
        "  hint: ?\n");
}

TEST_CASE("any bytes make a text that ends in one line feed",
          "[base][diagnostic][property]") {
  constexpr unsigned kSeed = 4;
  CAPTURE(kSeed);
  std::mt19937 random(kSeed);
  for (int i = 0; i < 3000; ++i) {
    std::string source;
    for (std::size_t size = random() % 200; size > 0; --size)
      source += static_cast<char>(random() % 256);
    const auto any = [&random] { return static_cast<int>(random() % 120) - 10; };
    const std::string text =
        to_text(at(any() / 20, any(), any() / 20, any()), "f", source);
    REQUIRE(text.back() == '\n');
    REQUIRE(printable(text).find('\x1B') == std::string::npos);
    REQUIRE(text.size() < 700);
  }
}

TEST_CASE("complaints are told in line order, once", "[base][diagnostic]") {
  std::vector<Diagnostic> list = {at(3, 1, 3, 2), at(1, 9, 1, 10), at(1, 2, 1, 3),
                                  at(3, 1, 3, 2), at(0, 0, 0, 0)};
  list[2].id = "b";
  list.push_back(list[2]);
  list.back().id = "a";
  sort_by_position(list);
  REQUIRE(list.size() == 5);
  CHECK(list[0].span.begin.line == 0);
  CHECK(list[1].id == "a");
  CHECK(list[2].id == "b");
  CHECK(list[3].span.begin.column == 9);
  CHECK(list[4].span.begin.line == 3);
}

TEST_CASE("the nearest name", "[base][diagnostic]") {
  const std::vector<std::string> names = {"ground", "inlet", "tap", "rail", "r1"};
  CHECK(nearest("tap_", names) == "tap");
  CHECK(nearest("raill", names) == "rail");
  CHECK(nearest("rial", names) == "rail");  // two letters swapped
  CHECK(nearest("Rail", names) == "rail");
  const std::vector<std::string> tables = {"parts", "paths"};
  CHECK(nearest("pahts", tables) == "paths");  // as near to "parts"
  CHECK(nearest("GROUND", names) == "ground");
  CHECK(nearest("gruond", names) == "ground");
  CHECK(nearest("grnd", names) == "ground");
  CHECK(nearest("r2", names) == "r1");
  CHECK(nearest("q7", names).empty());
  CHECK(nearest("harbour", names).empty());
  CHECK(nearest("", names).empty());
  CHECK(nearest("x", names).empty());
  CHECK(nearest("X", std::vector<std::string>{"y", "x"}) == "x");
  CHECK(nearest(std::string(100000, 'a'), names).empty());
  CHECK(nearest("abcx", std::vector<std::string>{"abcd", "abcy"}) == "abcd");
}

TEST_CASE("a name is near by the edits that lead to it",
          "[base][diagnostic][property]") {
  constexpr unsigned kSeed = 11;
  CAPTURE(kSeed);
  std::mt19937 random(kSeed);
  const auto any_name = [&random] {
    std::string name;
    for (std::size_t size = 1 + random() % 7; size > 0; --size)
      name += static_cast<char>('a' + random() % 3);
    return name;
  };
  int near = 0;
  for (int i = 0; i < 1500; ++i) {
    const std::string name = any_name();
    const std::string candidate = any_name();
    CAPTURE(name, candidate);
    const std::size_t longer = std::max(name.size(), candidate.size());
    const std::size_t allowed =
        std::min(std::max<std::size_t>(1, longer / 3), longer - 1);
    const bool is_near = plain_distance(name, candidate) <= allowed;
    if (is_near) ++near;
    CHECK(nearest(name, std::vector<std::string>{candidate}).empty() != is_near);
  }
  CHECK(near > 50);
}

TEST_CASE("a cause is told once, with all its places", "[base][diagnostic]") {
  const auto at = [](int line, int column) {
    return Span{{line, column}, {line, column + 1}};
  };
  const std::vector<Diagnostic> told = benchproof::one_of_each_cause({
      {"unit-missing", at(2, 5), "'a': no unit", "write an ohm", "no unit"},
      {"unit-missing", at(2, 9), "'b': no unit", "write an ohm", "no unit"},
      {"key-unknown", at(3, 1), "no such key", ""},
      {"unit-missing", at(4, 5), "'c': no unit", "write a volt", "no unit"},
      {"key-missing", at(5, 1), "no unit", ""},
      {"key-unknown", at(6, 1), "no such key", "look"},
      {"key-unknown", {}, "no such key", ""},
  });
  REQUIRE(told.size() == 4);
  CHECK(told[0].message == "'a': no unit");
  CHECK(told[0].hint == "write an ohm; write a volt");
  REQUIRE(told[0].also.size() == 2);
  CHECK(told[0].also[1] == at(4, 5));
  CHECK(told[1].hint == "look");
  CHECK(told[1].also.size() == 1);
  CHECK(told[2].id == "key-missing");
  CHECK(told[3].span.begin.line == 0);
  CHECK_THAT(to_text(told[0], "x.toml", "a\nb\nc\nd\n"),
             Catch::EndsWith("\n  in 3 places: lines 2, 4\n"));
  const Diagnostic twice{"unit-missing", at(2, 5), "no unit", "", "", {at(2, 9)}};
  CHECK_THAT(to_text(twice, "x.toml", "a\nb\n"),
             Catch::EndsWith("\n  in 2 places: line 2\n"));
}
