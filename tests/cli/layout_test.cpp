#include "cli/render/layout.h"

#include <catch2/catch.hpp>
#include <sstream>

using namespace benchproof;

namespace {

std::size_t widest_line(const std::string& text) {
  std::istringstream lines(text);
  std::size_t widest = 0;
  for (std::string line; std::getline(lines, line);)
    widest = std::max(widest, columns_of(line));
  return widest;
}

}  // namespace

TEST_CASE("columns are those of a terminal", "[layout]") {
  CHECK(columns_of("") == 0);
  CHECK(columns_of("rail") == 4);
  CHECK(columns_of("\u00e9\u03a9") == 2);
  CHECK(columns_of("e\u0301") == 1);       // a combining acute accent
  CHECK(columns_of("\u6e2f\u706f") == 4);  // two wide letters
}

TEST_CASE("texts are broken at blanks and hang below their first line", "[layout]") {
  const std::string text = wrapped(
      "a sentence of some length that does not fit in one line of eighty columns at "
      "all",
      2, 6);
  CHECK(
      text ==
      "  a sentence of some length that does not fit in one line of eighty columns at\n"
      "      all\n");
  CHECK(wrapped("", 4, 4).empty());
}

TEST_CASE("no line is too wide, whatever is put in", "[layout]") {
  const std::string word(200, 'x');
  CHECK(widest_line(wrapped(word, 4, 8)) == kLineWidth);
  CHECK(widest_line(wrapped("short " + word + " short", 0, 2)) == kLineWidth);
  CHECK(widest_line(joined({word, "tail"}, 2, 4, 6)) == kLineWidth);
  std::string wide;
  for (int i = 0; i < 100; ++i) wide += "\u6e2f";
  CHECK(widest_line(wrapped(wide, 0, 0)) == kLineWidth);
  CHECK(widest_line(in_columns({word, "b"}, 4)) <= kLineWidth);
  const std::string name(64, 'n');
  CHECK(widest_line(table({{{name, "controller", "-999 mA"}, {name + " -999 mA"}}},
                          "llr", 4)) <= kLineWidth);
}

TEST_CASE("nothing of a broken text is lost", "[layout]") {
  std::string word;
  for (int i = 0; i < 100; ++i) word += std::to_string(i);
  std::string put_together;
  for (const char c : wrapped(word, 3, 7))
    if (c != ' ' && c != '\n') put_together += c;
  CHECK(put_together == word);
}

TEST_CASE("cells run downwards in columns", "[layout]") {
  CHECK(in_columns({"a", "b", "c"}, 2) == "  a   b   c\n");
  std::vector<std::string> cells;
  for (char c = 'a'; c <= 'f'; ++c) cells.emplace_back(30, c);
  const std::string text = in_columns(cells, 0);
  CHECK(text == cells[0] + "   " + cells[3] + "\n" + cells[1] + "   " + cells[4] +
                    "\n" + cells[2] + "   " + cells[5] + "\n");
}

TEST_CASE("a table lines up", "[layout]") {
  CHECK(table({{{"a", "1"}}, {{"bcd", "22"}, {"x 1", "y 2"}}}, "lr", 1) ==
        " a     1\n"
        " bcd  22  x 1  y 2\n");
  const std::string name(30, 'n');
  CHECK(table({{{name, "1"}}, {{"b", "2"}}}, "lr", 0) == name + "\n   1\nb  2\n");
}

TEST_CASE("counts are said in words", "[layout]") {
  CHECK(counted(0, "fault") == "0 faults");
  CHECK(counted(1, "fault") == "1 fault");
  CHECK(counted(2, "fault") == "2 faults");
}
