#include "tests/fuzz/described.h"

#include <algorithm>
#include <memory>
#include <utility>

#include "core/catalogue/read/read_types.h"

namespace benchproof::fuzz {
namespace {

constexpr std::string_view kTypes = "\n#% types\n";
constexpr std::string_view kAsked = "\n#% asked\n";

/// What stands behind a mark, which is cut off together with it.
std::optional<std::string> cut_behind(std::string& text, std::string_view mark) {
  const std::size_t at = text.find(mark);
  if (at == std::string::npos) return std::nullopt;
  std::string behind = text.substr(at + mark.size());
  text.resize(at + 1);
  return behind;
}

Wishes asked_in(const std::string& lines) {
  Wishes asked;
  asked.text = lines;
  int number = 1;
  for (std::size_t begin = 0; begin < lines.size(); ++number) {
    const std::size_t end = std::min(lines.find('\n', begin), lines.size());
    const std::string line = lines.substr(begin, end - begin);
    begin = end + 1;
    const std::size_t sign = line.find('=');
    if (sign == std::string::npos) {
      asked.variant = line;
    } else if (sign > 0 && sign + 1 < line.size()) {
      asked.changes.push_back(
          {line.substr(0, sign), line.substr(sign + 1), Position{number, 1}});
    }
  }
  return asked;
}

const Catalogue& built_in() {
  static const Catalogue catalogue = built_in_catalogue();
  return catalogue;
}

}  // namespace

Described described(std::string_view input) {
  Described result;
  result.text = input;
  if (const auto asked = cut_behind(result.text, kAsked))
    result.asked = asked_in(*asked);
  result.types = cut_behind(result.text, kTypes);
  return result;
}

std::unique_ptr<const Read> read(const Described& described) {
  auto read = std::make_unique<Read>();
  if (described.types) {
    ReadTypes own =
        read_types(*described.types, "types.toml", built_in(), Author::user);
    read->own = with_types(built_in(), std::move(own.types));
    read->type_complaints = std::move(own.diagnostics);
  }
  read->result = read_circuit(described.text, "harbour.toml",
                              read->own ? *read->own : built_in(), described.asked);
  return read;
}

}  // namespace benchproof::fuzz
