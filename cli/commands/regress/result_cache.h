#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace benchproof {

/// Results that are known from earlier runs, in the user's cache folder: one small file
/// each, named by a hash of everything that the result depends on, and holding a hash
/// of itself. It is written beside its place and renamed there, so that any number of
/// programs may use the folder at a time, and one that was cut short (the power failed,
/// the disk was full) is no result.
class ResultCache {
 public:
  /// In $XDG_CACHE_HOME/benchproof or ~/.cache/benchproof, made if need be. Where
  /// neither can be had every result is unknown; `failure` says why.
  ResultCache();

  [[nodiscard]] const std::string& failure() const { return failure_; }

  /// The text kept under a key, or nothing.
  [[nodiscard]] std::optional<std::string> find(const std::string& key) const;

  /// Keeps a text. If that fails, the next search will not find it; that is no error.
  void keep(const std::string& key, std::string_view text) const;

  /// Removes what was not asked for in the last 60 days.
  void forget_old() const;

 private:
  std::string folder_;  ///< Empty where there is none.
  std::string failure_;
};

/// A key for what depends on all of these texts, and on this program: its version, and
/// its file, its worker's and the engine's as they are now.
[[nodiscard]] std::string cache_key(const std::vector<std::string_view>& texts);

}  // namespace benchproof
