#include "cli/commands/command_line/options.h"

#include <utility>

namespace benchproof {

Option& Options::argument(std::string name, std::string about, std::string& value) {
  return add({std::move(name), "", std::move(about), &value});
}

Option& Options::argument(std::string name, std::string about,
                          std::vector<std::string>& values) {
  return add({std::move(name), "", std::move(about), &values});
}

Option& Options::flag(std::string name, std::string about, bool& value) {
  return add({std::move(name), "", std::move(about), &value});
}

Option& Options::text(std::string name, std::string value_name, std::string about,
                      std::string& value) {
  return add({std::move(name), std::move(value_name), std::move(about), &value});
}

Option& Options::text(std::string name, std::string value_name, std::string about,
                      std::optional<std::string>& value) {
  return add({std::move(name), std::move(value_name), std::move(about), &value});
}

Option& Options::number(std::string name, std::string value_name, std::string about,
                        int& value, int least, int most) {
  Option& option =
      add({std::move(name), std::move(value_name), std::move(about), &value});
  option.least = least;
  option.most = most;
  return option;
}

Option& Options::repeated(std::string name, std::string value_name, std::string about,
                          std::vector<std::string>& values) {
  Option& option =
      list(std::move(name), std::move(value_name), std::move(about), values);
  option.is_repeated = true;
  return option;
}

Option& Options::list(std::string name, std::string value_name, std::string about,
                      std::vector<std::string>& values) {
  return add({std::move(name), std::move(value_name), std::move(about), &values});
}

Option& Options::add(Option option) {
  all_.push_back(std::move(option));
  return all_.back();
}

}  // namespace benchproof
