#include "spice/worker/detail/engine.h"

#include <malloc.h>
#include <ngspice/sharedspice.h>
#include <sys/timeb.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <functional>
#include <span>
#include <string_view>
#include <unordered_set>
#include <vector>

#include "core/base/pages.h"

namespace benchproof::worker {
namespace {

constexpr std::size_t kMaxLogBytes = 4096;
/// The engine takes the end of a transient for reached within some roundings.
constexpr double kTimeRounding = 1e-12;
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

// The values of a vector of the current plot or of a device's figure; empty unless
// they are real. Theirs is the engine's memory: good until its next command.
std::span<const double> values_of(std::string name) {
  const vector_info* found = ngGet_Vec_Info(name.data());
  if (found == nullptr || found->v_realdata == nullptr || found->v_length < 1 ||
      (found->v_flags & kRealVector) == 0) {
    return {};
  }
  return {found->v_realdata, static_cast<std::size_t>(found->v_length)};
}

bool are_finite(std::span<const double> values) {
  return std::all_of(values.begin(), values.end(),
                     [](double value) { return std::isfinite(value); });
}

// The shortest text that reads back as the same double, as decks have it. (The worker
// links nothing of the project that is built with the sanitizers.)
std::string shortest(double value) {
  std::array<char, 32> text{};
  const auto end = std::to_chars(text.data(), text.data() + text.size(), value).ptr;
  return {text.data(), end};
}

std::uint64_t heap_bytes() {
  const struct mallinfo2 heap = mallinfo2();
  return heap.arena + heap.hblkhd;
}

}  // namespace

// Every step of Newton's method has the engine ask this of the C library, to add up how
// long it takes: 3 % of a run, for sums that nobody reads. The program's own answer
// comes before the library's.
extern "C" int ftime(timeb* now) {
  *now = {};
  return 0;
}

void EngineLog::add(std::string_view line) {
  constexpr std::string_view kComplaint = "stderr ";
  if (!line.starts_with(kComplaint)) return;
  line.remove_prefix(kComplaint.size());
  note(line);
}

void EngineLog::note(std::string_view line) {
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
  // Our decks are plain ones: no dialect to translate, which would also rewrite the
  // numbers of expressions to eleven digits, no other name of ground, no subcircuits.
  // And nobody reads how far a transient has come, for which it asks the kernel for the
  // process's time at each point. There it also looks whether it is to stop by itself:
  // through all its settings, unless the first says no.
  for (const char* setting : {"set ngbehavior=s3", "set no_auto_gnd", "set nosubckt",
                              "set norefvalue", "set autostop=0"})
    command(setting);
  // Newton's method, gmin stepping and source stepping, but no transient run as a last
  // resort: that one can take minutes, and reports where it happens to stop as solved.
  command("optran 1 1 1 0 0 0");
  return {};
}

void Engine::load(const std::vector<std::string>& deck) {
  if (is_held_) command("remcirc");
  std::vector<std::string> text = deck;
  std::vector<char*> lines;
  lines.reserve(text.size() + 1);
  for (std::string& line : text) lines.push_back(line.data());
  lines.push_back(nullptr);
  ngSpice_Circ(lines.data());
}

// Any word of the engine's about it is a failure.
bool Engine::change(const std::vector<wire::Change>& changes) {
  if (!is_held_) log_.note("no circuit is held");
  for (const auto& [element, value] : changes) {
    // In brackets a number is read as in a deck, to the last bit.
    command(("alter " + element + " = [ " + shortest(value) + " ]").c_str());
  }
  return log_.text().empty();
}

wire::Reply Engine::run(const wire::Request& request) {
  log_.clear();
  wire::Reply reply;
  plot_before_ = ngSpice_CurPlot();
  bool is_ready = true;
  if (request.deck.empty()) {
    is_ready = change(request.changes);
  } else {
    load(request.deck);
  }
  if (is_ready && !has_asked_to_exit_) {
    if (request.analysis == wire::Analysis::transient) {
      follow(request, reply);
    } else {
      settle(request, reply);
    }
  }
  if (reply.outcome != wire::Outcome::solved) reply.values.clear();
  reply.message = log_.text();
  if (has_asked_to_exit_) {
    reply.outcome = wire::Outcome::leaving;
    return reply;
  }
  // Where it had to look for another way than Newton's method alone (it says so) it
  // would begin the next search where that one ended.
  is_held_ = request.analysis == wire::Analysis::operating_point &&
             reply.outcome == wire::Outcome::solved && log_.text().empty();
  reply.is_held = is_held_;
  if (!is_held_) command("remcirc");
  command("destroy all");
  reply.heap_bytes = heap_bytes();
  return reply;
}

// The name of the plot that the last command made, which must be of this kind; empty
// if it made none.
std::string Engine::new_plot(std::string_view kind) {
  if (has_asked_to_exit_) return {};
  std::string plot = ngSpice_CurPlot();
  return plot != plot_before_ && plot.starts_with(kind) ? plot : std::string();
}

void Engine::settle(const wire::Request& request, wire::Reply& reply) {
  command("op");
  const std::string plot = new_plot("op");
  if (plot.empty()) {
    log_.note("the engine gave no operating point");
    return;
  }
  const auto present = vectors_of(plot);
  for (const std::string& name : request.vectors) {
    // A device's figure becomes a vector of the current plot, and the engine sorts all
    // names there anew when it next looks into it: it need only look into its
    // constants.
    const bool is_figure = name.starts_with('@');
    const bool is_there = is_figure || present.contains(name);
    const auto values = is_there ? values_of(is_figure ? "const." + name : name)
                                 : std::span<const double>();
    if (values.size() != 1 || !std::isfinite(values[0])) {
      log_.note("the result for '" + name + "' is " +
                (values.size() == 1 ? "not finite" : "missing"));
      return;
    }
    reply.values.push_back(values[0]);
  }
  reply.outcome = wire::Outcome::solved;
}

void Engine::follow(const wire::Request& request, wire::Reply& reply) {
  // What a short run takes; the heap keeps as much of what is freed for the next one.
  constexpr std::size_t kShortRun = 2 << 20;
  mallopt(M_MMAP_THRESHOLD, 2 * kShortRun);
  mallopt(M_TRIM_THRESHOLD, 2 * kShortRun);
  begin_heap(kShortRun);
  // Left alone the engine keeps every vector.
  for (const std::string& name : request.vectors) command(("save " + name).c_str());
  const std::size_t width = request.vectors.size() + 1;
  const std::size_t most = wire::kMaxValues / width;
  command(("stop after " + std::to_string(most + 1)).c_str());
  command("run");
  const std::string plot = new_plot("tran");
  if (!has_asked_to_exit_) command("delete all");  // what is saved, and the stop
  if (plot.empty()) {
    log_.note("the engine gave no transient");
    return;
  }
  const auto times = values_of("time");
  reply.reached = times.empty() ? 0.0 : times.back();
  if (times.size() > most) {
    reply.outcome = wire::Outcome::too_large;
    return;
  }
  const bool is_rising = std::adjacent_find(times.begin(), times.end(),
                                            std::greater_equal<>()) == times.end();
  if (!is_rising || !are_finite(times) ||
      !(reply.reached >= request.span * (1.0 - kTimeRounding))) {
    log_.note("the engine did not reach the end");
    return;
  }
  std::vector<std::span<const double>> columns;
  const auto present = vectors_of(plot);
  for (std::size_t column = 0; column < width; ++column) {
    const std::string name = column == 0 ? "time" : request.vectors[column - 1];
    const auto values =
        present.contains(name) ? values_of(name) : std::span<const double>();
    if (values.size() != times.size() || !are_finite(values)) {
      log_.note("the result for '" + name + "' is " +
                (values.size() == times.size() ? "not finite" : "missing"));
      return;
    }
    columns.push_back(values);
  }
  reserve_at_once(reply.values, times.size() * width, times.size() * width);
  for (std::size_t point = 0; point < times.size(); ++point)
    for (const auto& column : columns) reply.values.push_back(column[point]);
  reply.outcome = wire::Outcome::solved;
}

}  // namespace benchproof::worker
