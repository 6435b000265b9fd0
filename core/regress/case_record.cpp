#include "core/regress/case_record.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <string_view>
#include <utility>

#include "core/check/finding/finding.h"

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

CaseRecord state_record(const Circuit& circuit, const StateResult& state) {
  CaseRecord record;
  record.name = {circuit.variant, false, state.name};
  record.findings = kept_findings(state.findings);
  for (std::size_t net = kFirstNet; net < circuit.nets.size(); ++net)
    record.figures.push_back(
        {FigureSort::volts, circuit.nets[net].name, state.nodal.net_volts.at(net)});
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    const Part& part = circuit.parts[k];
    const std::vector<double>& amps = state.nodal.pin_amps.at(k);
    // What goes into one of two pins comes out of the other.
    const std::size_t told = part.pins.size() == 2 ? 1 : part.pins.size();
    for (std::size_t pin = 0; pin < told; ++pin)
      record.figures.push_back(
          {FigureSort::amps,
           told == 1 ? part.name : fmt::format("{}.{}", part.name, part.pins[pin]),
           amps.at(pin)});
  }
  return record;
}

CaseRecord run_record(const Circuit& circuit, const RunResult& run) {
  CaseRecord record;
  record.name = {circuit.variant, true, run.name};
  record.findings = kept_findings(run.findings);
  for (const auto& [sort, figure] :
       {std::pair{FigureSort::least_volts, &NetCourse::least},
        std::pair{FigureSort::most_volts, &NetCourse::most},
        std::pair{FigureSort::mean_volts, &NetCourse::mean},
        std::pair{FigureSort::last_volts, &NetCourse::last}})
    for (std::size_t net = kFirstNet; net < circuit.nets.size(); ++net)
      record.figures.push_back(
          {sort, circuit.nets[net].name, run.courses.at(net).*figure});
  return record;
}

bool is_of_run(FigureSort sort) {
  return sort != FigureSort::volts && sort != FigureSort::amps;
}

std::string figure_name(const KeptFigure& figure) {
  switch (figure.sort) {
    case FigureSort::volts:
      return fmt::format("net '{}'", figure.of);
    case FigureSort::amps:
      return fmt::format("current into '{}'", figure.of);
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
  return sort == FigureSort::amps ? Unit::ampere : Unit::volt;
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
  if (is_of_run(sort))
    return tolerance.run_volts + tolerance.run_relative * std::abs(recorded);
  return (sort == FigureSort::amps ? tolerance.amps : tolerance.volts) +
         tolerance.relative * std::abs(recorded);
}

std::vector<Moved> moved(const CaseRecord& recorded, const CaseRecord& now,
                         const Tolerance& tolerance) {
  std::vector<Moved> result;
  for (const std::string& text : only_in(now.findings, recorded.findings))
    result.push_back({fmt::format("'{}' is new", text), Unit::none, {}, {}, 0.0});
  for (const std::string& text : only_in(recorded.findings, now.findings))
    result.push_back({fmt::format("'{}' is gone", text), Unit::none, {}, {}, 0.0});
  using FigureKey = std::pair<FigureSort, std::string_view>;
  std::map<FigureKey, double> left;
  for (const KeptFigure& figure : recorded.figures)
    left.emplace(FigureKey{figure.sort, figure.of}, figure.value);
  std::vector<std::pair<double, Moved>> figures;
  for (const KeptFigure& figure : now.figures) {
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
