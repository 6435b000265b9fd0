#pragma once

#include <cstdint>
#include <cstdio>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "cli/render/regress/regress_report.h"

namespace benchproof {

/// Keeps the outcomes of a library's circuits until they are told: the first ones that
/// pass as they are, the others as text, in memory while they are few, else in a file
/// without a name, so that memory grows little with the library.
class OutcomeSpool {
 public:
  /// For the circuits in `files`, which must outlive it.
  explicit OutcomeSpool(const std::vector<std::string>& files)
      : files_(files), places_(files.size()) {}

  /// Keeps the outcome of the circuit in the file of that number. For any number of
  /// threads.
  void put(std::size_t number, CircuitOutcome outcome);

  /// What all that were kept come to.
  [[nodiscard]] const RegressTally& sum() const { return sum_; }

  /// Goes over them in the order of the files, once all have been kept.
  void each(const TakeCircuit& take) const;

 private:
  /// Keeps it as it is, if it is small and few are.
  [[nodiscard]] bool hold(std::size_t number, CircuitOutcome& outcome);

  /// Where an outcome stands, counted over the file and then the buffer.
  struct Place {
    std::uint64_t begin = 0;
    std::uint32_t size = 0;  ///< 0: it was not kept as text.
  };

  void spill();
  [[nodiscard]] std::string text_at(const Place& place) const;

  const std::vector<std::string>& files_;
  std::mutex mutex_;
  std::map<std::size_t, CircuitOutcome> held_;  ///< By number; at most kMostHeld.
  std::vector<Place> places_;                   ///< Of the others.
  std::string buffer_;
  std::unique_ptr<std::FILE, int (*)(std::FILE*)> file_{nullptr, &std::fclose};
  std::uint64_t spilled_ = 0;  ///< Bytes in the file.
  bool is_file_bad_ = false;   ///< There is none to be had, or it is full.
  RegressTally sum_;
};

}  // namespace benchproof
