#include "spice/deck/transient_deck.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <optional>
#include <stdexcept>
#include <utility>

#include "core/base/pages.h"
#include "core/network/edits.h"
#include "core/network/equations.h"
#include "spice/deck/detail/deck_lines.h"
#include "spice/deck/detail/regulator_lines.h"

namespace benchproof {

using namespace deck_lines;

namespace {

constexpr std::size_t kCornersPerLine = 100;
/// A line between two corners is broken into so many parts, where that makes no more
/// than so many corners of a course. A flank may have fewer: see TransientDeckOptions.
constexpr std::size_t kParts = 20;
constexpr std::size_t kMoreCorners = 200;
/// A switch's own time, and the rounding of a corner's. Second.
constexpr double kLongestFlank = 1.001 * kSwitchSeconds;
/// So many equal periods are written as one PULSE.
constexpr std::size_t kLeastPeriods = 8;
/// Corners of a period: up, high, down, low.
constexpr std::size_t kCornersPerPeriod = 4;
/// Times that differ by less than this share of the span are one time: a corner's
/// time carries some roundings of a double of the span's size.
constexpr double kOneTime = 1e-13;
/// The engine ends when it is kOneTime before the span, or some roundings.
constexpr double kEnd = 2.0 * kOneTime;

/// The course of each element of a list, or nullptr.
std::vector<const Course*> by_element(const std::vector<Course>& courses,
                                      std::size_t elements) {
  std::vector<const Course*> found(elements, nullptr);
  for (const Course& course : courses) found.at(course.element) = &course;
  return found;
}

using Corners = std::vector<Corner>;

/// A course with more corners on its straight lines. The engine judges its steps by
/// charges alone, and would pass over what nets without any do while a value moves.
Corners with_more_corners(const Corners& corners, std::size_t flank_parts) {
  std::size_t moves = 0;
  for (std::size_t k = 1; k < corners.size(); ++k)
    moves += corners[k].value != corners[k - 1].value;
  const std::size_t most = kMoreCorners / std::max<std::size_t>(moves, 1);
  Corners more{corners.front()};
  for (std::size_t k = 1; k < corners.size(); ++k) {
    const Corner& left = corners[k - 1];
    const Corner& right = corners[k];
    const bool is_flank = right.seconds - left.seconds <= kLongestFlank;
    const std::size_t parts = std::min(most, is_flank ? flank_parts : kParts);
    for (std::size_t p = 1; p < parts && left.value != right.value; ++p) {
      const double share = static_cast<double>(p) / static_cast<double>(parts);
      more.push_back({left.seconds + share * (right.seconds - left.seconds),
                      left.value + share * (right.value - left.value)});
    }
    more.push_back(right);
  }
  return more;
}

/// A source of this value: `<line> <value>`, or a PWL over several lines.
void add_source(std::vector<std::string>& lines, const std::string& line,
                const Corners& corners, std::size_t flank_parts) {
  if (corners.size() == 1) {
    lines.push_back(fmt::format("{} {}", line, number(corners[0].value)));
    return;
  }
  lines.push_back(line + " pwl(");
  std::size_t k = 0;
  for (const Corner& corner : with_more_corners(corners, flank_parts)) {
    if (k++ % kCornersPerLine == 0) lines.emplace_back("+");
    lines.back() += fmt::format(" {} {}", number(corner.seconds), number(corner.value));
  }
  lines.back() += ')';
}

/// Corners that repeat in equal periods up to the span.
struct Train {
  std::size_t first = 0;  ///< Index of its first corner, where a pulse begins to rise.
  double period = 0.0;    ///< Second.
};

/// The train of pulses that a course ends with, if it does and it is long.
std::optional<Train> find_train(const Corners& corners, double span) {
  constexpr std::size_t n = kCornersPerPeriod;
  const std::size_t count = corners.size();
  if (count < n * kLeastPeriods) return std::nullopt;
  const double close = kOneTime * span;
  const double last_period =
      corners[count - 1].seconds - corners[count - 1 - n].seconds;
  // Two periods of the same length may differ by the roundings of all four times.
  const auto repeats = [&](std::size_t k) {
    return corners[k].value == corners[k + n].value &&
           std::abs(corners[k + n].seconds - corners[k].seconds - last_period) <= close;
  };
  std::size_t first = count - n;
  while (first > 0 && repeats(first - 1)) --first;
  // From where a pulse begins; of the corners before it one begins it or ends one.
  const auto is_pulse = [&](std::size_t k) {
    return corners[k].value == corners[k + 3].value &&
           corners[k + 1].value == corners[k + 2].value &&
           corners[k].value != corners[k + 1].value;
  };
  const std::size_t latest = first + 1;
  while (first <= latest && first + n < count && !is_pulse(first)) ++first;
  const std::size_t periods = (count - first) / n;
  if (first > latest || periods < kLeastPeriods) return std::nullopt;
  const std::size_t last = first + (periods - 1) * n;
  const double period = (corners[last].seconds - corners[first].seconds) /
                        static_cast<double>(periods - 1);
  // What the train goes on with must lie beyond the span.
  if (corners[count - n].seconds + period < span - close) return std::nullopt;
  return Train{first, period};
}

/// The k-th resistor, which moves.
void add_moving_resistor(std::vector<std::string>& lines, std::size_t k,
                         const TwoEnds& e, const Course& course, double span,
                         std::size_t flank_parts) {
  const std::string id = std::to_string(k + 1);
  Corners logs = course.corners;
  for (Corner& corner : logs) corner.value = -std::log(corner.value);
  // v(n1,0) would have the engine find the slope by the voltage of ground as well.
  const std::string volts = e.b == 0   ? fmt::format("v({})", node(e.a))
                            : e.a == 0 ? fmt::format("(0-v({}))", node(e.b))
                                       : fmt::format("v({},{})", node(e.a), node(e.b));
  lines.push_back(
      fmt::format("br{} {} {} i={}*exp(v(k{}))", id, node(e.a), node(e.b), volts, id));
  const auto train = find_train(logs, span);
  if (!train) {
    add_source(lines, fmt::format("vk{0} k{0} 0", id), logs, flank_parts);
    return;
  }
  // Up to the train's first corner, which it is held at; what rises from there is the
  // train's.
  const auto head = logs.begin() + static_cast<std::ptrdiff_t>(train->first);
  add_source(lines, fmt::format("vk{0} k{0} x{0}", id), Corners(logs.begin(), head + 1),
             flank_parts);
  lines.push_back(
      fmt::format("vx{0} x{0} 0 pulse(0 {1} {2} {3} {4} {5} {6})", id,
                  number(head[1].value - head[0].value), number(head[0].seconds),
                  number(head[1].seconds - head[0].seconds),
                  number(head[3].seconds - head[2].seconds),
                  number(head[2].seconds - head[1].seconds), number(train->period)));
}

/// Coulomb or weber: see TransientDeckOptions.
double least_charge(const Values& v, const TransientDeckOptions& options) {
  double least = std::numeric_limits<double>::max();
  for (const double farads : v.farads)
    least = std::min(least, farads * options.least_volts);
  for (const CoilModel& coil : v.coils)
    least = std::min(least, coil.henries * options.least_amps);
  for (const double farads : v.stray_farads)
    least = std::min(least, farads * options.least_stray_volts);
  const bool is_any = !v.farads.empty() || !v.coils.empty() || !v.stray_farads.empty();
  return is_any ? least : 1.0;
}

std::vector<std::string> vectors_in_time(const Network& network) {
  const Structure& s = *network.structure;
  std::vector<std::string> names;
  for (std::size_t k = 1; k < s.nodes.size(); ++k)
    names.push_back(node(static_cast<int>(k)));
  const auto ask = [&names](const char* element, std::size_t count,
                            const char* figure) {
    for (std::size_t k = 1; k <= count; ++k)
      names.push_back(fmt::format("{}{}{}", element, k, figure));
  };
  ask("@c", s.capacitors.size(), "[i]");
  ask("l", s.inductors.size(), "#branch");
  ask("v", s.voltage_sources.size(), "#branch");
  for (std::size_t k = 0; k < s.regulators.size(); ++k)
    names.push_back(passed_in_time(k, network.values.regulators[k]));
  return names;
}

/// Ends the last row, which tells the voltages, with what charges the strays: as fast
/// as their voltages have changed since the row before. Nothing in the first row.
void add_stray_currents(const Network& network, Waveform& w) {
  const Structure& s = *network.structure;
  const std::size_t last = w.seconds.size() - 1;
  const std::size_t before = last == 0 ? 0 : last - 1;
  const auto across = [&w](std::size_t point, const TwoEnds& e) {
    const double* volts = w.rows.data() + point * w.width;
    return volts[e.a] - volts[e.b];
  };
  const double seconds = w.seconds[last] - w.seconds[before];
  for (std::size_t k = 0; k < s.strays.size(); ++k) {
    const double change = across(last, s.strays[k]) - across(before, s.strays[k]);
    w.rows.push_back(last == 0 ? 0.0
                               : network.values.stray_farads[k] * change / seconds);
  }
}

/// The k-th coil: its winding up to the node w<k + 1> (rm) and its loss beside its
/// inductance (rl), where there are any. `initial`: what the inductance begins at.
void add_coil(std::vector<std::string>& lines, std::size_t k, const TwoEnds& e,
              const CoilModel& coil, std::string_view initial) {
  const std::string id = std::to_string(k + 1);
  const std::string from = is_wound(coil) ? "w" + id : node(e.a);
  if (is_wound(coil))
    lines.push_back(
        fmt::format("rm{} {} {} {}", id, node(e.a), from, number(coil.ohms)));
  lines.push_back(fmt::format("l{} {} {} {}{}", id, from, node(e.b),
                              number(coil.henries), initial));
  if (coil.siemens > 0.0)
    lines.push_back(
        fmt::format("rl{} {} {} {}", id, from, node(e.b), number(1.0 / coil.siemens)));
}

/// Resistors, capacitors and inductors, with what they begin at; strays, where nodes
/// begin at `start`.
void add_passive(std::vector<std::string>& lines, const Timeline& timeline,
                 const TransientDeckOptions& options) {
  const std::vector<double>& start = options.start;
  const Structure& s = *timeline.network.structure;
  const Values& v = timeline.network.values;
  const auto ohms = by_element(timeline.ohms, s.resistors.size());
  for (std::size_t k = 0; k < s.resistors.size(); ++k) {
    if (ohms[k] != nullptr) {
      add_moving_resistor(lines, k, s.resistors[k], *ohms[k], timeline.span,
                          options.flank_parts);
    } else {
      lines.push_back(two_ends("r", k, s.resistors[k], number(v.ohms[k])));
    }
  }
  const auto initial = [&timeline](const std::vector<double>& charges, std::size_t k) {
    return timeline.from_rest ? "" : " ic=" + number(charges.at(k));
  };
  for (std::size_t k = 0; k < s.capacitors.size(); ++k) {
    lines.push_back(
        two_ends("c", k, s.capacitors[k],
                 number(v.farads[k]) + initial(timeline.capacitor_volts, k)));
  }
  for (std::size_t k = 0; k < s.inductors.size(); ++k) {
    add_coil(lines, k, s.inductors[k], v.coils[k], initial(timeline.inductor_amps, k));
  }
  for (std::size_t k = 0; k < s.strays.size(); ++k) {
    const TwoEnds& e = s.strays[k];
    std::string value = number(v.stray_farads[k]);
    if (!timeline.from_rest && !start.empty())
      value += " ic=" + number(start[e.a] - start[e.b]);
    lines.push_back(two_ends("cs", k, e, value));
  }
}

void add_sources(std::vector<std::string>& lines, const Timeline& timeline,
                 std::size_t flank_parts) {
  const Structure& s = *timeline.network.structure;
  const Values& v = timeline.network.values;
  const auto volts = by_element(timeline.volts, s.voltage_sources.size());
  for (std::size_t k = 0; k < s.voltage_sources.size(); ++k) {
    const Corners held{{0.0, v.volts[k]}};
    const TwoEnds& e = s.voltage_sources[k];
    add_source(lines, fmt::format("v{} {} {}", k + 1, node(e.a), node(e.b)),
               volts[k] == nullptr ? held : volts[k]->corners, flank_parts);
  }
  const auto amps = by_element(timeline.amps, s.current_sources.size());
  for (std::size_t k = 0; k < s.current_sources.size(); ++k) {
    const Corners held{{0.0, v.amps[k]}};
    const TwoEnds& e = s.current_sources[k];
    // Ours leaves at its first node into the circuit, the engine's at its second.
    add_source(lines, fmt::format("i{} {} {}", k + 1, node(e.b), node(e.a)),
               amps[k] == nullptr ? held : amps[k]->corners, flank_parts);
  }
}

/// How exactly, and how far in which steps.
void add_analysis(std::vector<std::string>& lines, const Timeline& timeline,
                  const TransientDeckOptions& options) {
  lines.push_back(options_line(options.reltol, options.vntol, options.abstol,
                               timeline.network.celsius));
  const bool is_gear = options.method == TransientDeckOptions::Method::gear;
  // The engine passes over corners that are closer together than minbreak, and ends
  // when it is as close to the span; by default that is 5e-5 of the longest step.
  lines.push_back(fmt::format(
      ".options method={} maxord=2 trtol={} chgtol={} itl4=50 minbreak={} xmu={}{}",
      is_gear ? "gear" : "trap", number(options.trtol),
      number(least_charge(timeline.network.values, options)),
      number(kOneTime * timeline.span), number(options.trapezoid),
      options.skips_settled ? " bypass=1" : ""));
  if (timeline.from_rest && !options.start.empty())
    add_nodesets(lines, *timeline.network.structure, options.start);
  double first = options.first * timeline.span;
  if (!timeline.from_rest) first = std::min(first, options.first_charged);
  // The engine takes a tenth of the first figure for the first step.
  lines.push_back(fmt::format(
      ".tran {} {} 0 {}{}", number(10.0 * first), number(timeline.span),
      number(options.longest * timeline.span), timeline.from_rest ? "" : " uic"));
}

}  // namespace

TransientDeckOptions options_for(const Structure& structure) {
  TransientDeckOptions options;
  if (structure.strays.empty()) return options;
  options.reltol = 1e-5;
  options.vntol = 1e-8;
  options.abstol = 1e-8;
  options.trtol = 0.1;
  options.skips_settled = true;
  options.flank_parts = 5;
  if (rings(structure)) return options;
  options.trapezoid = 0.49;
  options.least_stray_volts = 2e3;
  return options;
}

Deck make_deck(const Timeline& timeline, const TransientDeckOptions& options) {
  Deck deck;
  deck.vectors = vectors_in_time(timeline.network);
  std::vector<std::string>& lines = deck.lines;
  lines.emplace_back(kTitle);
  add_passive(lines, timeline, options);
  add_sources(lines, timeline, options.flank_parts);
  if (!options.also_at.empty()) {
    Corners stops{{0.0, 0.0}};
    for (const double seconds : options.also_at) stops.push_back({seconds, 0.0});
    add_source(lines, "va1 a1 0", stops, 1);
  }
  add_devices(lines, softened(timeline.network, options.least_emission),
              Analysis::in_time);
  add_analysis(lines, timeline, options);
  lines.emplace_back(".end");
  return deck;
}

std::string annotate(const Timeline& timeline, const Deck& deck,
                     const std::vector<std::string>& part_names) {
  return annotated(timeline.network, deck, part_names);
}

Waveform waveform_from(const Timeline& timeline, const Deck& deck,
                       const std::vector<double>& points) {
  const Structure& s = *timeline.network.structure;
  const std::size_t values = deck.vectors.size() + 1;
  if (points.size() % values != 0 || values + s.strays.size() != row_width(s)) {
    throw std::invalid_argument("a deck's answer with another number of values");
  }
  Waveform w;
  w.status = SolveStatus::solved;
  w.width = row_width(s);
  const std::size_t count = points.size() / values;
  reserve_at_once(w.seconds, count, count);
  reserve_at_once(w.rows, count * w.width, count * w.width);
  const std::size_t first_regulator = values - s.regulators.size();
  for (std::size_t at = 0; at < points.size(); at += values) {
    const double* told = points.data() + at;
    w.seconds.push_back(told[0]);
    w.rows.push_back(0.0);  // The ground's place is that of the time.
    w.rows.insert(w.rows.end(), told + 1, told + first_regulator);
    for (std::size_t k = first_regulator; k < values; ++k) w.rows.push_back(-told[k]);
    add_stray_currents(timeline.network, w);
  }
  if (!w.seconds.empty() &&
      std::abs(w.seconds.back() - timeline.span) <= kEnd * timeline.span) {
    w.seconds.back() = timeline.span;
  }
  // Begun with charges, the first row is that of a step as well; what was before it is
  // not told.
  if (!timeline.from_rest && count > 1)
    std::copy_n(w.rows.data() + 2 * w.width - s.strays.size(), s.strays.size(),
                w.rows.data() + w.width - s.strays.size());
  return w;
}

}  // namespace benchproof
