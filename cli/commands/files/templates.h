#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace benchproof {

/// A description that is meant to be copied.
struct Template {
  std::string name;   ///< "led-single".
  std::string path;   ///< Of its file.
  std::string about;  ///< The first sentence of its text.
};

/// Where the templates stand: where the program was installed with them, else in the
/// source tree that it was built in. Empty where there are none.
[[nodiscard]] std::string template_folder();

/// All templates of a folder, by name.
[[nodiscard]] std::vector<Template> templates_in(const std::string& folder);

/// The files beside a description that it cannot be read without, as it names them.
[[nodiscard]] std::vector<std::string> files_beside(std::string_view text);

}  // namespace benchproof
