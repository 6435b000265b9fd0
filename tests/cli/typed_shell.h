#pragma once

#include <string>
#include <vector>

namespace benchproof {

/// A shell on a terminal of its own, at which a test types.
class TypedShell {
 public:
  /// Starts it in the source folder with a home folder that is empty; `words` are its
  /// path and arguments.
  /// @throws std::runtime_error where there is no terminal.
  TypedShell(const std::vector<std::string>& words, const std::string& home);
  TypedShell(const TypedShell&) = delete;
  TypedShell& operator=(const TypedShell&) = delete;
  ~TypedShell();

  void type(const std::string& keys) const;

  /// Reads on until the screen shows `text`, and forgets all up to it. False when it
  /// does not within some seconds.
  [[nodiscard]] bool shows(const std::string& text);

  /// What the screen has shown since.
  [[nodiscard]] const std::string& screen() const { return screen_; }

 private:
  int terminal_ = -1;
  int process_ = -1;
  std::string screen_;
};

}  // namespace benchproof
