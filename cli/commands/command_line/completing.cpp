#include "cli/commands/command_line/completing.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <set>
#include <string_view>
#include <utility>

#include "cli/commands/command_line/described_names.h"

namespace benchproof {
namespace {

/// A command line up to the word at the cursor, taken apart.
struct CommandLine {
  const Option* wanted = nullptr;      ///< Whose value the word at the cursor is.
  std::string head;                    ///< Of that word: what stands before the value.
  std::set<std::string> given;         ///< Names of options that stand before it.
  std::vector<std::string> arguments;  ///< Values without a name.
  bool is_only_arguments = false;      ///< Behind "--".
};

const Option* find_option(const Command& command, std::string_view name) {
  const auto& all = command.options.all();
  const auto found = std::find_if(all.begin(), all.end(), [name](const Option& option) {
    return option.name == name;
  });
  return found == all.end() ? nullptr : &*found;
}

/// Puts a word before the cursor where it belongs.
void take_word(const Command& command, const std::string& word, CommandLine& line) {
  const bool is_name =
      !line.is_only_arguments && word.size() > 1 && word.starts_with('-');
  if (!is_name) {
    if (line.wanted == nullptr) line.arguments.push_back(word);
    const bool goes_on =
        line.wanted && line.wanted->takes_many() && !line.wanted->is_repeated;
    if (!goes_on) line.wanted = nullptr;
    return;
  }
  line.is_only_arguments = word == "--";
  const std::size_t sign = word.find('=');
  const Option* option = find_option(command, word.substr(0, sign));
  if (option != nullptr) line.given.insert(option->name);
  const bool wants_value =
      option != nullptr && !option->is_flag() && sign == std::string::npos;
  line.wanted = wants_value ? option : nullptr;
}

/// The argument that one more would be put into, or nothing.
const Option* next_argument(const Command& command, const CommandLine& line) {
  std::size_t taken = line.arguments.size();
  for (const Option& option : command.options.all()) {
    if (!option.is_argument()) continue;
    if (option.takes_many() || taken == 0) return &option;
    --taken;
  }
  return nullptr;
}

/// Takes the line apart; the last word is the one at the cursor.
CommandLine take_apart(const Command& command, const std::vector<std::string>& words) {
  CommandLine line;
  for (std::size_t k = 1; k + 1 < words.size(); ++k) take_word(command, words[k], line);
  const std::string& last = words.back();
  if (line.wanted != nullptr && !last.starts_with('-')) return line;
  line.wanted = nullptr;
  const std::size_t sign = last.find('=');
  if (line.is_only_arguments || !last.starts_with('-')) {
    line.wanted = next_argument(command, line);
  } else if (sign != std::string::npos) {
    line.head = last.substr(0, sign + 1);
    line.wanted = find_option(command, last.substr(0, sign));
  }
  return line;
}

/// The names of options that may follow.
std::vector<CompletionWord> option_names(const Command& command,
                                         const CommandLine& line) {
  std::vector<CompletionWord> names;
  for (const Option& option : command.options.all()) {
    const bool is_taken = line.given.contains(option.name) && !option.is_repeated;
    if (option.is_argument() || is_taken || line.given.contains(option.excludes))
      continue;
    names.push_back({option.name, option.about});
  }
  names.push_back({"--help", "what the command does, and its options"});
  return names;
}

Completion::Files files_of(Meaning meaning) {
  switch (meaning) {
    case Meaning::file:
      return Completion::Files::any;
    case Meaning::folder:
      return Completion::Files::folders;
    case Meaning::description:
    case Meaning::library:
      return Completion::Files::descriptions;
    default:
      return Completion::Files::none;
  }
}

/// What may stand as an option's value, whose beginning is there.
std::vector<CompletionWord> values_of(const Program& program, const Option& option,
                                      const CommandLine& line, std::string_view begun) {
  std::vector<CompletionWord> values;
  if (!option.choices.empty()) {
    for (const std::string& choice : option.choices) values.push_back({choice, ""});
  } else if (option.meaning == Meaning::command_name) {
    for (const Command& command : program.commands)
      values.push_back({command.name, command.about});
  } else {
    values = described_names(option.meaning, line.arguments, begun);
  }
  return values;
}

/// Completes the value of an option. Of several in one word the last.
Completion complete_value(const Program& program, const Option& option,
                          const CommandLine& line, const std::string& word) {
  std::string head = line.head;
  const bool is_list = option.separator != '\0' || option.meaning == Meaning::changes;
  const std::size_t comma = is_list ? word.rfind(',') : std::string::npos;
  if (comma != std::string::npos) head = word.substr(0, comma + 1);
  Completion completion;
  completion.files = files_of(option.meaning);
  completion.candidates = values_of(program, option, line, word.substr(head.size()));
  for (CompletionWord& candidate : completion.candidates)
    candidate.word = head + candidate.word;
  return completion;
}

std::vector<CompletionWord> first_words(const Program& program) {
  std::vector<CompletionWord> words;
  for (const Command& command : program.commands)
    words.push_back({command.name, command.about});
  words.push_back({"--help", "the commands"});
  words.push_back({"--version", "which version this is"});
  return words;
}

/// Leaves those that begin as the word does.
Completion fitting(Completion completion, const std::string& word) {
  std::erase_if(completion.candidates, [&word](const CompletionWord& candidate) {
    return !candidate.word.starts_with(word);
  });
  const bool is_option = word.starts_with('-');
  if (is_option && word.find('=') == std::string::npos)
    completion.files = Completion::Files::none;
  return completion;
}

}  // namespace

Completion complete(const Program& program, const std::vector<std::string>& words) {
  const std::string word = words.empty() ? "" : words.back();
  if (words.size() < 2)
    return fitting({Completion::Files::none, first_words(program)}, word);
  const auto command =
      std::find_if(program.commands.begin(), program.commands.end(),
                   [&words](const Command& c) { return c.name == words.front(); });
  if (command == program.commands.end()) return {};
  const CommandLine line = take_apart(*command, words);
  if (line.wanted != nullptr)
    return fitting(complete_value(program, *line.wanted, line, word), word);
  if (line.is_only_arguments) return {};
  return fitting({Completion::Files::none, option_names(*command, line)}, word);
}

std::string completion_text(const Completion& completion) {
  constexpr std::string_view kWords[] = {"none", "any", "folders", "descriptions"};
  std::string text = fmt::format("{}\n", kWords[static_cast<int>(completion.files)]);
  for (const CompletionWord& candidate : completion.candidates) {
    std::string about = candidate.about;
    std::replace(about.begin(), about.end(), '\n', ' ');
    text += candidate.word + (about.empty() ? "" : "\t" + about) + "\n";
  }
  return text;
}

}  // namespace benchproof
