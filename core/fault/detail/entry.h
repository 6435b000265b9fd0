#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/base/diagnostic_ids.h"
#include "core/base/toml_tree.h"
#include "core/catalogue/catalogue.h"

namespace benchproof {

/// One table of a data file while it is read: asks for its keys, and complains of what
/// is missing, of another type, or unknown.
class Entry {
 public:
  Entry(const TomlEntry& entry, std::vector<Diagnostic>& complaints)
      : Entry(entry.value, entry.key_span, complaints) {}
  Entry(const TomlNode& table, Span span, std::vector<Diagnostic>& complaints)
      : table_(table), span_(span), complaints_(complaints) {}

  [[nodiscard]] std::string text(std::string_view key);
  /// Empty where the key is not there.
  [[nodiscard]] std::string text_if(std::string_view key);
  [[nodiscard]] std::vector<std::string> texts(std::string_view key);
  /// At least `least` and at most `most`.
  [[nodiscard]] double number(std::string_view key, double least, double most);
  [[nodiscard]] std::optional<double> number_if(std::string_view key, double least,
                                                double most);
  [[nodiscard]] bool flag_if(std::string_view key);
  /// The key `mark`.
  [[nodiscard]] Mark mark();
  /// One of the words.
  [[nodiscard]] std::string word(std::string_view key,
                                 const std::vector<std::string>& words);

  /// Complains of keys that were not asked for. Last.
  void end();

  void complain(const DiagnosticId& id, const Span& span, std::string message,
                std::string hint = "");
  [[nodiscard]] Span span_of(std::string_view key) const;

 private:
  const TomlNode* find(std::string_view key, TomlNode::Type type, bool is_needed);

  const TomlNode& table_;
  Span span_;
  std::vector<Diagnostic>& complaints_;
  std::vector<std::string> asked_;
};

/// The tables of a list of tables at the top of a file, `[[key]]`; complains where it
/// is none.
[[nodiscard]] std::vector<Entry> entries_of(const TomlNode& root, std::string_view key,
                                            std::vector<Diagnostic>& complaints);

/// Reads a data file of which the top has these keys: `read` is given its root and the
/// complaints, unless it is no TOML. Returns all complaints, by position.
[[nodiscard]] std::vector<Diagnostic> read_data_file(
    std::string_view text, const std::vector<std::string>& keys,
    const std::function<void(const TomlNode&, std::vector<Diagnostic>&)>& read);

/// What a data file of the project came to; throws where there are complaints of it.
/// @throws std::runtime_error with file, line and message: our mistake, caught by a
/// test.
void demand_none(const std::vector<Diagnostic>& complaints, std::string_view file,
                 std::string_view text);

}  // namespace benchproof
