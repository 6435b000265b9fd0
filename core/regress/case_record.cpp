#include "core/regress/case_record.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "core/check/expect/expectations.h"
#include "core/check/finding/finding.h"
#include "core/check/rating/derived.h"

namespace benchproof {
namespace {

/// Ground, the first of a circuit's nets, has nothing to tell.
constexpr std::size_t kFirstNet = 1;

/// The findings by what they say that has no figures, each once.
std::vector<std::string> kept_findings(const std::vector<Finding>& findings) {
  std::vector<std::string> kept;
  for (const Finding& f : findings) {
    if (f.severity == Severity::note) continue;
    std::string text = fmt::format(
        "{} {}", f.severity == Severity::fault ? "fault" : "caution", f.check);
    for (const std::string* about : {&f.part, &f.net})
      if (!about->empty()) text += " " + *about;
    if (std::find(kept.begin(), kept.end(), text) == kept.end())
      kept.push_back(std::move(text));
  }
  return kept;
}

/// "part.pin", or the part alone where what goes into one of two pins comes out of the
/// other.
std::string pin_name(const Part& part, std::size_t pin) {
  return part.pins.size() == 2 ? part.name
                               : fmt::format("{}.{}", part.name, part.pins[pin]);
}

/// Of two pins the first, of more all.
std::size_t told_pins(const Part& part) {
  return part.pins.size() == 2 ? 1 : part.pins.size();
}

/// "at least 2, at most 6": bounds in SI units.
std::string bounds_text(const std::optional<double>& least,
                        const std::optional<double>& most) {
  std::vector<std::string> bounds;
  if (least) bounds.push_back(fmt::format("at least {:.7g}", *least));
  if (most) bounds.push_back(fmt::format("at most {:.7g}", *most));
  return fmt::format("{}", fmt::join(bounds, ", "));
}

std::string_view figure_word(RunFigure figure) {
  switch (figure) {
    case RunFigure::at:
      return "at";
    case RunFigure::average:
      return "average from";
    case RunFigure::ripple:
      return "ripple from";
    case RunFigure::peak:
      return "peak from";
    case RunFigure::least:
      return "least from";
  }
  return {};
}

/// What an expectation asks for, in SI units, without why.
std::string expectation_text(const Circuit& circuit, const Expectation& e) {
  std::string text =
      fmt::format("{} of {}", words_of(e.quantity).quantity, subject_of(circuit, e));
  if (e.phase != Expectation::Phase::average)
    text += e.phase == Expectation::Phase::on ? " while on" : " while off";
  if (e.reaches)
    return text + fmt::format(" {} {:.7g}, {}",
                              e.reaches->rising ? "reaches" : "falls to",
                              e.reaches->level,
                              bounds_text(e.reaches->not_before, e.reaches->before));
  if (e.stays)
    return text + fmt::format(" stays {} from {:.7g} to {}",
                              bounds_text(e.stays->above, e.stays->below),
                              e.stays->after,
                              e.stays->until ? fmt::format("{:.7g}", *e.stays->until)
                                             : "the end");
  if (e.run >= 0)
    text += fmt::format(" {} {:.7g} s", figure_word(e.figure),
                        e.figure == RunFigure::at ? e.at : e.after);
  return text + ", " + bounds_text(e.least, e.most);
}

template <class Results>
std::vector<std::string> expectation_texts(const Circuit& circuit,
                                           const Results& results) {
  std::vector<std::string> texts;
  for (const auto& result : results)
    texts.push_back(expectation_text(circuit, *result.expectation));
  return texts;
}

/// What is kept of a state besides voltages and currents.
void keep_more(const Circuit& circuit, const StateResult& state,
               std::vector<KeptFigure>& figures) {
  figures.push_back({FigureSort::celsius, "ambient", circuit.ambient});
  for (const Margin& m : state.margins)
    if (m.quantity == "temperature" && m.check.ends_with("-junction"))
      figures.push_back({FigureSort::celsius, circuit.parts[m.part].name, m.value});
  for (std::size_t k = 0; k < state.parts.size(); ++k) {
    const Part& part = state.parts[k];
    constexpr double kNothing = 1e-6;  // Below it ageing counts, not the load.
    const double amps = -state.nodal.pin_amps.at(k).at(0);
    if (part.kind != KindId::battery || amps < kNothing) continue;
    if (const auto left = charge_left(part, amps))
      figures.push_back({FigureSort::hours, part.name, left->value / amps});
  }
  const auto is_this = [&](const State& s) { return s.name == state.name; };
  const auto described =
      std::find_if(circuit.states.begin(), circuit.states.end(), is_this);
  if (described == circuit.states.end()) return;
  for (const auto& [pin, output] : described->outputs) {
    if (output.level != OutputSetting::Level::pwm) continue;
    const Part& part = circuit.parts[pin.part];
    figures.push_back({FigureSort::hertz,
                       fmt::format("{}.{}", part.name, part.pins[pin.pin]),
                       output.hertz});
  }
}

CaseRecord state_record(const Circuit& circuit, const StateResult& state) {
  CaseRecord record;
  record.name = {circuit.variant, false, state.name};
  record.findings = kept_findings(state.findings);
  record.expectations = expectation_texts(circuit, state.expectations);
  for (std::size_t net = kFirstNet; net < circuit.nets.size(); ++net)
    record.figures.push_back(
        {FigureSort::volts, circuit.nets[net].name, state.nodal.net_volts.at(net)});
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    const Part& part = circuit.parts[k];
    for (std::size_t pin = 0; pin < told_pins(part); ++pin)
      record.figures.push_back(
          {FigureSort::amps, pin_name(part, pin), state.nodal.pin_amps.at(k).at(pin)});
  }
  keep_more(circuit, state, record.figures);
  return record;
}

CaseRecord run_record(const Circuit& circuit, const RunResult& run) {
  CaseRecord record;
  record.name = {circuit.variant, true, run.name};
  record.findings = kept_findings(run.findings);
  record.expectations = expectation_texts(circuit, run.expectations);
  for (const auto& [sort, figure] :
       {std::pair{FigureSort::least_volts, &NetCourse::least},
        std::pair{FigureSort::most_volts, &NetCourse::most},
        std::pair{FigureSort::mean_volts, &NetCourse::mean},
        std::pair{FigureSort::last_volts, &NetCourse::last}})
    for (std::size_t net = kFirstNet; net < circuit.nets.size(); ++net)
      record.figures.push_back(
          {sort, circuit.nets[net].name, run.courses.at(net).*figure});
  for (const auto& [sort, figure] :
       {std::pair{FigureSort::least_amps, &PinCourse::least},
        std::pair{FigureSort::most_amps, &PinCourse::most}})
    for (std::size_t k = 0; k < circuit.parts.size(); ++k)
      for (std::size_t pin = 0; pin < told_pins(circuit.parts[k]); ++pin)
        record.figures.push_back(
            {sort, pin_name(circuit.parts[k], pin), run.pins.at(k).at(pin).*figure});
  return record;
}

/// Whether older records have none of a sort.
bool is_late(FigureSort sort) {
  return sort == FigureSort::celsius || sort == FigureSort::hours ||
         sort == FigureSort::hertz || sort == FigureSort::least_amps ||
         sort == FigureSort::most_amps;
}

std::string figure_name(const KeptFigure& figure) {
  switch (figure.sort) {
    case FigureSort::volts:
      return fmt::format("net '{}'", figure.of);
    case FigureSort::amps:
      return fmt::format("current into '{}'", figure.of);
    case FigureSort::celsius:
      return figure.of == "ambient" ? "the air around it"
                                    : fmt::format("junction of '{}'", figure.of);
    case FigureSort::hours:
      return fmt::format("life of '{}', hours", figure.of);
    case FigureSort::hertz:
      return fmt::format("frequency of '{}'", figure.of);
    case FigureSort::least_amps:
      return fmt::format("current into '{}' at its lowest", figure.of);
    case FigureSort::most_amps:
      return fmt::format("current into '{}' at its highest", figure.of);
    case FigureSort::least_volts:
      return fmt::format("net '{}' at its lowest", figure.of);
    case FigureSort::most_volts:
      return fmt::format("net '{}' at its highest", figure.of);
    case FigureSort::mean_volts:
      return fmt::format("net '{}' on average", figure.of);
    case FigureSort::last_volts:
      return fmt::format("net '{}' at the end", figure.of);
  }
  return {};
}

/// Findings of `one` that `other` has not.
std::vector<std::string> only_in(const std::vector<std::string>& one,
                                 const std::vector<std::string>& other) {
  std::vector<std::string> only;
  for (const std::string& text : one)
    if (std::find(other.begin(), other.end(), text) == other.end())
      only.push_back(text);
  return only;
}

}  // namespace

std::string case_text(const CaseName& name) {
  std::string text;
  if (!name.variant.empty()) text = fmt::format("variant '{}', ", name.variant);
  return text + fmt::format("{} '{}'", name.is_run ? "run" : "state", name.name);
}

std::string_view table_name(FigureSort sort) {
  switch (sort) {
    case FigureSort::volts:
      return "volts";
    case FigureSort::amps:
      return "amps";
    case FigureSort::celsius:
      return "celsius";
    case FigureSort::hours:
      return "hours";
    case FigureSort::hertz:
      return "hertz";
    case FigureSort::least_amps:
      return "least-amps";
    case FigureSort::most_amps:
      return "most-amps";
    case FigureSort::least_volts:
      return "least-volts";
    case FigureSort::most_volts:
      return "most-volts";
    case FigureSort::mean_volts:
      return "mean-volts";
    case FigureSort::last_volts:
      return "last-volts";
  }
  return {};
}

Unit unit_of(FigureSort sort) {
  switch (sort) {
    case FigureSort::amps:
    case FigureSort::least_amps:
    case FigureSort::most_amps:
      return Unit::ampere;
    case FigureSort::celsius:
      return Unit::celsius;
    case FigureSort::hours:
      return Unit::none;
    case FigureSort::hertz:
      return Unit::hertz;
    default:
      return Unit::volt;
  }
}

std::vector<CaseRecord> case_records(const Circuit& circuit,
                                     const Verification& verification,
                                     const std::vector<RunResult>& runs) {
  std::vector<CaseRecord> records;
  for (const StateResult& state : verification.states)
    if (state.agrees) records.push_back(state_record(circuit, state));
  for (const RunResult& run : runs)
    if (run.agreement.agrees) records.push_back(run_record(circuit, run));
  return records;
}

double allowed(const Tolerance& tolerance, FigureSort sort, double recorded) {
  const double size = std::abs(recorded);
  switch (sort) {
    case FigureSort::volts:
      return tolerance.volts + tolerance.relative * size;
    case FigureSort::amps:
      return tolerance.amps + tolerance.relative * size;
    case FigureSort::celsius:
      return tolerance.kelvin;
    case FigureSort::hours:
      return tolerance.hours_relative * size;
    case FigureSort::hertz:
      return 1e-6 * size;  // As described: nothing is calculated.
    case FigureSort::least_amps:
    case FigureSort::most_amps:
      return tolerance.run_amps + tolerance.run_amps_relative * size;
    default:
      return tolerance.run_volts + tolerance.run_relative * size;
  }
}

std::vector<Moved> moved(const CaseRecord& recorded, const CaseRecord& now,
                         const Tolerance& tolerance) {
  std::vector<Moved> result;
  for (const std::string& text : only_in(now.findings, recorded.findings))
    result.push_back({fmt::format("'{}' is new", text), Unit::none, {}, {}, 0.0});
  for (const std::string& text : only_in(recorded.findings, now.findings))
    result.push_back({fmt::format("'{}' is gone", text), Unit::none, {}, {}, 0.0});
  if (recorded.is_full) {
    for (const std::string& text : only_in(now.expectations, recorded.expectations))
      result.push_back(
          {fmt::format("'{}' is expected now", text), Unit::none, {}, {}, 0.0});
    for (const std::string& text : only_in(recorded.expectations, now.expectations))
      result.push_back(
          {fmt::format("'{}' is no longer expected", text), Unit::none, {}, {}, 0.0});
  }
  using FigureKey = std::pair<FigureSort, std::string_view>;
  std::map<FigureKey, double> left;
  for (const KeptFigure& figure : recorded.figures)
    if (recorded.is_full || !is_late(figure.sort))
      left.emplace(FigureKey{figure.sort, figure.of}, figure.value);
  std::vector<std::pair<double, Moved>> figures;
  for (const KeptFigure& figure : now.figures) {
    if (!recorded.is_full && is_late(figure.sort)) continue;
    const auto was = left.find({figure.sort, figure.of});
    if (was == left.end()) {
      result.push_back(
          {figure_name(figure), unit_of(figure.sort), {}, figure.value, 0.0});
      continue;
    }
    const double most = allowed(tolerance, figure.sort, was->second);
    const double by = std::abs(figure.value - was->second);
    if (!(by <= most))
      figures.push_back({by / most,
                         {figure_name(figure), unit_of(figure.sort), was->second,
                          figure.value, most}});
    left.erase(was);
  }
  for (const auto& [key, value] : left)
    result.push_back({figure_name({key.first, std::string(key.second), value}),
                      unit_of(key.first),
                      value,
                      {},
                      0.0});
  std::stable_sort(figures.begin(), figures.end(),
                   [](const auto& a, const auto& b) { return a.first > b.first; });
  for (auto& [share, figure] : figures) result.push_back(std::move(figure));
  return result;
}

}  // namespace benchproof
