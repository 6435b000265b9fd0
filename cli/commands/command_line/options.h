#pragma once

#include <optional>
#include <stdexcept>
#include <string>
#include <variant>
#include <vector>

namespace benchproof {

/// Where the value of an option is put. Its type says what may be given: nothing for a
/// bool, which becomes true; one value; or any number of values for a list.
using OptionTarget =
    std::variant<bool*, int*, std::string*, std::optional<std::string>*,
                 std::vector<std::string>*>;

/// What the values of an option name, so that a shell can complete them.
enum class Meaning {
  text,          ///< Nothing that could be listed, or one of the option's choices.
  file,          ///< Any file ...
  folder,        ///< ... or folder,
  description,   ///< the file of a description,
  library,       ///< descriptions and folders of them.
  state,         ///< What the description has: a state that is judged at rest,
  run,           ///< a run,
  variant,       ///< a variant,
  net,           ///< a net,
  part_or_pin,   ///< a part or PART.PIN,
  part_or_key,   ///< a part or PART.KEY,
  supply,        ///< PART.voltage of a source,
  change,        ///< TARGET=VALUE,
  changes,       ///< several of them with commas between.
  finding,       ///< The id of a finding.
  known_part,    ///< A kind or a type of the catalogue.
  command_name,  ///< A command of the program.
};

/// One option of a command.
struct Option {
  std::string name;        ///< "--state"; "FILE" for what stands without a name.
  std::string value_name;  ///< "NAME"; empty where the name says it all.
  std::string about;       ///< What it does, in a few words.
  OptionTarget target;
  bool is_required = false;
  bool is_repeated = false;  ///< A list that takes one value each time it is given.
  char separator = '\0';     ///< Between the values of one text; '\0': there is none.
  std::vector<std::string> choices = {};  ///< Empty: any text.
  int least = 0;                          ///< Of a number ...
  int most = 0;                           ///< ... both included.
  std::string excludes = {};              ///< The option that it cannot be given with.
  Meaning meaning = Meaning::text;

  /// Says what the values name. Returns the option.
  Option& names(Meaning what) {
    meaning = what;
    return *this;
  }
  /// Lets one text hold several values, with that between them. Returns the option.
  Option& separated(char by) {
    separator = by;
    return *this;
  }
  [[nodiscard]] bool is_argument() const { return !name.starts_with('-'); }
  [[nodiscard]] bool is_flag() const { return std::holds_alternative<bool*>(target); }
  [[nodiscard]] bool takes_many() const {
    return std::holds_alternative<std::vector<std::string>*>(target);
  }
};

/// The options of a command, in the order in which its help shows them. The values that
/// they are put into must outlive them.
class Options {
 public:
  // Each returns the option for further settings, to be made at once: the next one that
  // is declared may move it.

  /// Values without a name in front.
  Option& argument(std::string name, std::string about, std::string& value);
  Option& argument(std::string name, std::string about,
                   std::vector<std::string>& values);

  /// A name alone.
  Option& flag(std::string name, std::string about, bool& value);

  /// A name and a value.
  Option& text(std::string name, std::string value_name, std::string about,
               std::string& value);
  Option& text(std::string name, std::string value_name, std::string about,
               std::optional<std::string>& value);
  Option& number(std::string name, std::string value_name, std::string about,
                 int& value, int least, int most);

  /// A name and a value, any number of times.
  Option& repeated(std::string name, std::string value_name, std::string about,
                   std::vector<std::string>& values);

  /// A name and all values up to the next name.
  Option& list(std::string name, std::string value_name, std::string about,
               std::vector<std::string>& values);

  [[nodiscard]] const std::vector<Option>& all() const { return all_; }

 private:
  Option& add(Option option);

  std::vector<Option> all_;
};

/// A mistake on the command line that shows only when all options have been read.
class UsageError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
  UsageError(const std::string& option, const std::string& message)
      : std::runtime_error(option + ": " + message) {}
};

}  // namespace benchproof
