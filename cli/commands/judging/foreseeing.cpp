#include "cli/commands/judging/foreseeing.h"

#include <algorithm>
#include <thread>

namespace benchproof {

PredictOptions usual_prediction() {
  PredictOptions options;
  options.threads = std::clamp(std::thread::hardware_concurrency(), 1U, 4U);
  return options;
}

std::vector<Fault> faults_of(const FileReport& file, const Catalogue& built_in) {
  return faults_of(*file.circuit, file.catalogue ? *file.catalogue : built_in);
}

Sheet sheet_of(const FileReport& file, const Catalogue& built_in, const Meter& meter) {
  return sheet_of(*file.circuit, faults_of(file, built_in), meter, usual_prediction());
}

}  // namespace benchproof
