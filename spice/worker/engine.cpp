#include "spice/worker/engine.h"

#include <malloc.h>
#include <ngspice/sharedspice.h>

#include <cmath>
#include <optional>
#include <unordered_set>
#include <vector>

namespace benchproof::worker {
namespace {

constexpr std::size_t kMaxLogBytes = 4096;
constexpr short kRealVector = 1;  // VF_REAL of the engine's vector flags

// The engine takes mutable text, but does not change commands and names.
int command(const char* text) { return ngSpice_Command(const_cast<char*>(text)); }

// The names of the vectors in the plot. The engine itself would go on to look for a
// missing vector among its constants ("c", "e", "pi" ...), whatever plot it is asked
// for.
std::unordered_set<std::string> vectors_of(std::string plot) {
  std::unordered_set<std::string> names;
  char** name = ngSpice_AllVecs(plot.data());
  for (; name != nullptr && *name != nullptr; ++name) names.emplace(*name);
  return names;
}

// The value of a vector of the current plot or of a device's figure, or nothing unless
// it is real and of length 1.
std::optional<double> value_of(std::string name) {
  // The engine returns the same record each time: copy before the next call.
  const vector_info* found = ngGet_Vec_Info(name.data());
  if (found == nullptr || found->v_length != 1 || found->v_realdata == nullptr ||
      (found->v_flags & kRealVector) == 0) {
    return std::nullopt;
  }
  return found->v_realdata[0];
}

std::uint64_t heap_bytes() {
  const struct mallinfo2 heap = mallinfo2();
  return heap.arena + heap.hblkhd;
}

}  // namespace

void EngineLog::add(std::string_view line) {
  constexpr std::string_view kComplaint = "stderr ";
  if (!line.starts_with(kComplaint)) return;
  line.remove_prefix(kComplaint.size());
  for (const char letter : line) {
    const auto code = static_cast<unsigned char>(letter);
    text_.push_back(code < 0x20 || code == 0x7F ? '?' : letter);
  }
  text_.push_back('\n');
  if (text_.size() > kMaxLogBytes) text_.erase(0, text_.size() - kMaxLogBytes);
}

std::string Engine::start() {
  const auto print = [](char* line, int, void* engine) {
    static_cast<Engine*>(engine)->log_.add(line);
    return 0;
  };
  const auto progress = [](char*, int, void*) { return 0; };
  const auto leave = [](int, NG_BOOL, NG_BOOL, int, void* engine) {
    static_cast<Engine*>(engine)->has_asked_to_exit_ = true;
    return 0;
  };
  if (ngSpice_Init(print, progress, leave, nullptr, nullptr, nullptr, this) != 0 ||
      has_asked_to_exit_) {
    return "the engine did not initialise: " + log_.text();
  }
  // Newton's method, gmin stepping and source stepping, but no transient run as a last
  // resort: that one can take minutes, and reports where it happens to stop as solved.
  command("optran 1 1 1 0 0 0");
  return {};
}

wire::Reply Engine::run(const wire::Request& request) {
  log_.clear();
  std::vector<std::string> deck = request.deck;
  std::vector<char*> lines;
  lines.reserve(deck.size() + 1);
  for (std::string& line : deck) lines.push_back(line.data());
  lines.push_back(nullptr);

  wire::Reply reply;
  reply.outcome = wire::Outcome::not_solved;
  const std::string plot_before = ngSpice_CurPlot();
  ngSpice_Circ(lines.data());
  if (!has_asked_to_exit_) command("op");
  const std::string plot = has_asked_to_exit_ ? "" : ngSpice_CurPlot();
  if (plot != plot_before && plot.starts_with("op")) {
    reply.outcome = wire::Outcome::solved;
    const auto present = vectors_of(plot);
    for (const std::string& name : request.vectors) {
      const bool is_there = name.starts_with('@') || present.contains(name);
      const auto value = is_there ? value_of(name) : std::nullopt;
      if (!value || !std::isfinite(*value)) {
        log_.add("stderr the result for '" + name + "' is " +
                 (value ? "not finite" : "missing"));
        reply.outcome = wire::Outcome::not_solved;
        break;
      }
      reply.values.push_back(*value);
    }
  } else {
    log_.add("stderr the engine gave no operating point");
  }
  if (reply.outcome != wire::Outcome::solved) reply.values.clear();
  reply.message = log_.text();
  if (has_asked_to_exit_) {
    reply.outcome = wire::Outcome::leaving;
    return reply;
  }
  command("remcirc");
  command("destroy all");
  reply.heap_bytes = heap_bytes();
  return reply;
}

}  // namespace benchproof::worker
