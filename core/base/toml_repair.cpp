#include "core/base/toml_repair.h"

#include <algorithm>
#include <cctype>
#include <utility>
#include <variant>

#include "core/base/complaints.h"
#include "core/base/diagnostic_ids.h"
#include "core/base/pieces.h"

namespace benchproof {
namespace {

/// More mistakes than these are not looked for.
constexpr int kMostMistakes = 12;
/// Longer texts are not read again and again.
constexpr std::size_t kMostBytes = 64 * 1024;
/// Longer lines are no person's: they are left out as they stand.
constexpr std::size_t kMostInLine = 2048;

std::string text_of(const std::vector<std::string>& lines) {
  std::string text;
  for (std::size_t k = 0; k < lines.size(); ++k)
    text += (k == 0 ? "" : "\n") + lines[k];
  return text;
}

/// Where a value ends that begins at `from`, outside of quotes: before a comma with a
/// key behind it, a closing bracket, a comment or the line's end.
std::size_t end_of_bare(std::string_view line, std::size_t from) {
  for (std::size_t at = from; at < line.size(); ++at) {
    if (line[at] == '}' || line[at] == ']' || line[at] == '#') return at;
    if (line[at] == ',' &&
        line.substr(at + 1, line.find_first_of(",}", at + 1) - at - 1).find('=') !=
            std::string_view::npos)
      return at;
  }
  return line.size();
}

bool is_number_or_truth(std::string_view word) {
  return word == "true" || word == "false" ||
         word.find_first_not_of("0123456789.+-eE_") == std::string_view::npos;
}

/// The line with quotes about each value that needs them.
std::string with_quotes(std::string_view line) {
  std::string result;
  bool is_text = false;
  for (std::size_t at = 0; at < line.size(); ++at) {
    result += line[at];
    if (line[at] == '"') is_text = !is_text;
    if (is_text || line[at] != '=') continue;
    const std::size_t from = line.find_first_not_of(" \t", at + 1);
    if (from == line.npos ||
        std::string_view("\"'[{").find(line[from]) != std::string_view::npos)
      continue;
    const std::size_t end = end_of_bare(line, from);
    const std::string_view bare = line.substr(from, end - from);
    const std::size_t last = bare.find_last_not_of(" \t\r");
    if (last == bare.npos || bare.find('"') != bare.npos) continue;
    const std::string_view word = bare.substr(0, last + 1);
    if (is_number_or_truth(word)) continue;
    result += " \"" + std::string(word) + "\"";
    at = from + word.size() - 1;
  }
  return result;
}

/// The line with a comma between two texts that stand side by side.
std::string with_commas(std::string_view line) {
  std::string result;
  bool is_text = false;
  for (std::size_t at = 0; at < line.size(); ++at) {
    const std::size_t before = result.find_last_not_of(" \t");
    if (line[at] == '"' && !is_text && before != std::string::npos &&
        result[before] == '"')
      result.insert(before + 1, ",");
    if (line[at] == '"') is_text = !is_text;
    result += line[at];
  }
  return result;
}

/// The line with the brackets that it opens and does not close.
std::string with_brackets(std::string line) {
  std::string open;
  bool is_text = false;
  for (const char c : line) {
    if (c == '"') is_text = !is_text;
    if (is_text) continue;
    if (c == '#') return line;
    if (c == '[' || c == '{') open += c == '[' ? ']' : '}';
    if ((c == ']' || c == '}') && !open.empty() && open.back() == c) open.pop_back();
  }
  while (!line.empty() && (line.back() == '\r' || line.back() == ' ')) line.pop_back();
  return line + std::string(open.rbegin(), open.rend());
}

bool is_further(const Diagnostic& now, const Diagnostic& before) {
  return now.span.begin.line > before.span.begin.line;
}

}  // namespace

RepairedToml repair_toml(std::string_view text, int nesting, Diagnostic first) {
  RepairedToml repaired;
  std::vector<std::string> lines = lines_of(text);
  Diagnostic now = std::move(first);
  bool is_understood = true;
  for (int k = 0; k < kMostMistakes; ++k) {
    const int line = now.span.begin.line;
    now.cause = now.hint;
    repaired.diagnostics.push_back(now);
    const bool is_long =
        text.find("\"\"\"") != text.npos || text.find("'''") != text.npos;
    if (now.id != kSyntax.name || line < 1 || text.size() > kMostBytes || is_long ||
        line > static_cast<int>(lines.size()))
      return repaired;
    // A list that is not closed is told of where the next line begins.
    bool is_repaired = false;
    for (int at : {line, line - 1}) {
      if (at < 1 || is_repaired) continue;
      const std::string was = lines[static_cast<std::size_t>(at - 1)];
      std::string& written = lines[static_cast<std::size_t>(at - 1)];
      if (at < line && was.find('=') == std::string::npos) continue;
      if (was.size() > kMostInLine) continue;
      written = at == line ? with_quotes(was) : was;
      for (int step = 0; step < 3 && !is_repaired; ++step) {
        if (step == 1) written = at == line ? with_commas(written) : written;
        if (step == 2) written = with_brackets(written);
        if (written == was) continue;
        const auto tree = parse_toml(text_of(lines), nesting);
        if (const auto* root = std::get_if<TomlNode>(&tree)) {
          repaired.lines.insert(at);
          if (is_understood) repaired.root = *root;
          return repaired;
        }
        const auto& next = std::get<Diagnostic>(tree);
        if (!is_further(next, now)) continue;
        repaired.lines.insert(at);
        now = next;
        is_repaired = true;
      }
      if (!is_repaired) written = was;
    }
    if (is_repaired) continue;
    is_understood = false;
    lines[static_cast<std::size_t>(line - 1)].clear();
    const auto tree = parse_toml(text_of(lines), nesting);
    if (std::holds_alternative<TomlNode>(tree)) return repaired;
    const Diagnostic next = std::get<Diagnostic>(tree);
    if (!is_further(next, now)) return repaired;
    now = next;
  }
  return repaired;
}

}  // namespace benchproof
