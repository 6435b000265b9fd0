#include "core/circuit/write/detail/nets_section.h"

#include <algorithm>

#include "core/base/pieces.h"

namespace benchproof {
namespace {

/// The byte of each place of a text.
class Bytes {
 public:
  explicit Bytes(std::string_view text) : size_(text.size()) {
    constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
    begins_.push_back(text.starts_with(kByteOrderMark) ? kByteOrderMark.size() : 0);
    for (std::size_t at = 0; (at = text.find('\n', at)) != std::string_view::npos;)
      begins_.push_back(++at);
  }
  [[nodiscard]] std::size_t at(const Position& place) const {
    const auto line = static_cast<std::size_t>(std::max(place.line, 1) - 1);
    if (line >= begins_.size()) return size_;
    const auto column = static_cast<std::size_t>(std::max(place.column, 1) - 1);
    return std::min(begins_[line] + column, size_);
  }

 private:
  std::size_t size_;
  std::vector<std::size_t> begins_;
};

std::string trimmed(std::string_view text) {
  const std::size_t begin = text.find_first_not_of(" \t\r");
  if (begin == std::string_view::npos) return {};
  return std::string(text.substr(begin, text.find_last_not_of(" \t\r") + 1 - begin));
}

/// The comment in each line of a stretch of text that holds no values; empty where
/// there is none.
std::vector<std::string> comments_in(std::string_view text) {
  std::vector<std::string> comments = lines_of(text);
  for (std::string& line : comments) line = trimmed(line.erase(0, line.find('#')));
  return comments;
}

void take_comments(std::string_view text, std::vector<std::string>& into) {
  for (std::string& comment : comments_in(text))
    if (!comment.empty()) into.push_back(std::move(comment));
}

/// Where the line of the header [nets] begins, which stands before `first`; nothing
/// where the nets are written in another way.
std::optional<std::size_t> header_of(std::string_view text, std::size_t first) {
  const std::size_t mark = text.rfind("[nets]", first);
  if (mark == std::string_view::npos) return std::nullopt;
  const std::size_t begin =
      text.rfind('\n', mark) == std::string_view::npos ? 0 : text.rfind('\n', mark) + 1;
  if (!trimmed(text.substr(begin, mark - begin)).empty()) return std::nullopt;
  const std::string_view between = text.substr(mark + 6, first - mark - 6);
  for (const std::string& written : lines_of(between))
    if (const std::string line = trimmed(written); !line.empty() && line.front() != '#')
      return std::nullopt;
  return begin;
}

}  // namespace

std::optional<NetsSection> read_section(std::string_view text, const TomlNode& nets) {
  if (nets.entries.empty()) return std::nullopt;
  const Bytes bytes(text);
  const std::size_t first = bytes.at(nets.entries.front().key_span.begin);
  const auto begin = header_of(text, first);
  if (!begin) return std::nullopt;
  NetsSection section;
  section.lists.reserve(nets.entries.size());
  section.begin = *begin;
  std::size_t from = text.find("[nets]", *begin) + 6;
  std::string* beside = &section.header;
  for (const TomlEntry& entry : nets.entries) {
    const std::size_t key = bytes.at(entry.key_span.begin);
    const std::size_t end = bytes.at(entry.value.span.end);
    if (key < from || end < key) return std::nullopt;
    WrittenList list;
    list.name = entry.key;
    list.key = std::string(text.substr(key, bytes.at(entry.key_span.end) - key));
    const std::vector<std::string> lines = comments_in(text.substr(from, key - from));
    *beside = lines.front();
    for (std::size_t k = 1; k + 1 < lines.size(); ++k) {
      if (lines[k].empty()) list.has_gap = true;
      if (!lines[k].empty()) list.above.push_back(lines[k]);
    }
    std::size_t inner = bytes.at(entry.value.span.begin);
    for (const TomlNode& item : entry.value.items) {
      const std::size_t at = bytes.at(item.span.begin);
      if (at < inner) return std::nullopt;
      take_comments(text.substr(inner, at - inner), list.above);
      inner = bytes.at(item.span.end);
      list.pins.push_back(item.text);
    }
    take_comments(text.substr(inner, end - inner), list.above);
    section.lists.push_back(std::move(list));
    beside = &section.lists.back().beside;
    from = end;
  }
  section.end = std::min(text.find('\n', from), text.size());
  *beside = comments_in(text.substr(from, section.end - from)).front();
  if (section.end > from && text[section.end - 1] == '\r') --section.end;
  return section;
}

std::size_t byte_at(std::string_view text, const Position& place) {
  return Bytes(text).at(place);
}

}  // namespace benchproof
