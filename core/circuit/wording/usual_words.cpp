#include "core/circuit/wording/usual_words.h"

#include <map>
#include <string>
#include <vector>

#include "core/circuit/entries/reserved_names.h"
#include "core/circuit/wording/detail/steps.h"

namespace benchproof {
namespace {

/// Puts the words of a description right, or of a block, which has no states and, by
/// itself, no zero.
void put_right(Reading& reading, TomlNode& table, bool is_whole,
               const BlockPins& blocks) {
  Wording words{reading, table};
  if (is_whole) name_tables(words);
  name_plainly(words);
  name_kinds(words, blocks);
  name_pins(words);
  name_ground(words);
  move_paths(words);
  mark_rows(words);
  place_bare_parts(words);
  if (!is_whole) return;
  place_sources(words);
  find_zero(words);
  name_positions(words);
}

/// The pins of a block, as it says or likely means.
std::vector<std::string> pins_of_block(const TomlNode& block) {
  const TomlEntry* list = find_entry(block, "pins");
  if (list == nullptr) return likely_pins(block);
  std::vector<std::string> pins;
  for (const TomlNode& pin : list->value.items) pins.push_back(pin.text);
  return pins;
}

}  // namespace

std::vector<std::string> likely_pins(const TomlNode& block) {
  std::vector<std::string> pins;
  const TomlEntry* parts = find_entry(block, "parts");
  const TomlEntry* paths = find_entry(block, "paths");
  if (parts == nullptr || paths == nullptr) return pins;
  std::map<std::string, int> counts;
  std::vector<std::string> words;
  for (const TomlEntry& path : paths->value.entries)
    for (const TomlNode& item : path.value.items) {
      const bool is_word = item.type == TomlNode::Type::string &&
                           item.text != kGround &&
                           item.text.find('.') == std::string::npos &&
                           find_entry(parts->value, item.text) == nullptr;
      if (is_word && counts[item.text]++ == 0) words.push_back(item.text);
    }
  for (const std::string& word : words)
    if (counts[word] == 1) pins.push_back(word);
  return pins.empty() ? words : pins;
}

void put_usual_words_right(Reading& reading, TomlNode& root) {
  BlockPins blocks;
  if (TomlNode* table = value_behind(root, "blocks", TomlNode::Type::table))
    for (TomlEntry& block : table->entries) {
      if (block.value.type != TomlNode::Type::table) continue;
      put_right(reading, block.value, false, {});
      blocks[block.key] = pins_of_block(block.value);
    }
  const bool is_block_file = find_entry(root, "pins") != nullptr;
  put_right(reading, root, !is_block_file, blocks);
  if (TomlNode* test = value_behind(root, "test", TomlNode::Type::table))
    put_right(reading, *test, true, blocks);
}

}  // namespace benchproof
