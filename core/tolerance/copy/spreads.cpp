#include "core/tolerance/copy/spreads.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <optional>
#include <set>
#include <utility>

#include "core/circuit/tolerance.h"
#include "core/network/edits.h"
#include "core/network/spread.h"

namespace benchproof {
namespace {

/// What is usual where nobody tells more. Common practice, no source.
constexpr double kUnregulatedSpread = 0.1;
constexpr double kRegulatorSpread = 0.04;
constexpr double kZenerSpread = 0.05;
constexpr double kDiodeCopyVolts = 0.05;
constexpr double kCoilSpread = 0.2;
constexpr double kCapacitorSpread = 0.1;
constexpr double kElectrolyticSpread = 0.2;

/// Whether a part's device is its type's: no key of the description stands for it.
bool is_of_type(const Part& part) {
  return part.type != nullptr && !part.settings.contains("model") &&
         !part.settings.contains("drop");
}

const DiodeModel* curve_of(const Part& part) {
  const bool is_diode = part.kind == KindId::led || part.kind == KindId::diode;
  if (!is_diode || !is_of_type(part)) return nullptr;
  const auto* model = std::get_if<DiodeModel>(&part.type->model);
  return model != nullptr && model->n >= kLeastRealEmission ? model : nullptr;
}

/// The current at which a forward curve's spread is told. Ampere.
double told_amps(const Part& part) {
  const Type& type = *part.type;
  if (!type.points_most.empty()) return type.points_most.front().amps;
  if (!type.points_least.empty()) return type.points_least.front().amps;
  return type.points.empty() ? 0.0 : type.points.front().amps;
}

/// The number behind a target as described: of a forward curve its voltage, of a
/// base-emitter junction 0, of all else the key's.
std::optional<double> nominal_of(const Part& part, std::string_view key) {
  if (key == "forward") {
    const DiodeModel* model = curve_of(part);
    if (model == nullptr) return std::nullopt;
    return forward_volts(*model, told_amps(part));
  }
  if (key == "base") return 0.0;
  return number_of(part, key);
}

Spread spread_of(const Part& part, int index, std::string key, Unit unit,
                 double nominal) {
  Spread spread;
  spread.target = fmt::format("{}.{}", part.name, key);
  spread.part = index;
  spread.key = std::move(key);
  spread.unit = unit;
  spread.nominal = spread.least = spread.most = nominal;
  return spread;
}

/// What is usual: bounds as values beside the nominal one.
Spread assumed(Spread spread, double below, double above, std::string source,
               Mark mark = Mark::practice) {
  spread.least = spread.nominal - below;
  spread.most = spread.nominal + above;
  spread.from = Spread::From::assumed;
  spread.source = std::move(source);
  spread.mark = mark;
  return spread;
}

Spread assumed_share(Spread spread, double share, std::string source,
                     Mark mark = Mark::practice) {
  const double off = share * std::abs(spread.nominal);
  return assumed(std::move(spread), off, off, std::move(source), mark);
}

/// Collects what copies of one circuit differ by.
class Gathering {
 public:
  explicit Gathering(const Circuit& circuit) : circuit_(circuit) {
    for (const Spreading& given : circuit.spreadings)
      given_[{given.part, given.key}] = &given;
  }

  std::vector<Spread> gather() && {
    for (std::size_t k = 0; k < circuit_.parts.size(); ++k) {
      const int index = static_cast<int>(k);
      add_values(index);
      add_figures(index);
      add_usual(index);
      add_rest(index);
    }
    if (const auto given = given_.find({-1, "ambient"}); given != given_.end()) {
      Spread spread;
      spread.target = spread.key = "ambient";
      spread.unit = Unit::celsius;
      spread.nominal = circuit_.ambient;
      add_given(std::move(spread), *given->second);
    }
    return std::move(spreads_);
  }

 private:
  using Target = std::pair<int, std::string>;

  [[nodiscard]] const Part& part(int index) const {
    return circuit_.parts[static_cast<std::size_t>(index)];
  }

  /// Adds a spread in the words of the description where it has some, else as it is.
  void add(Spread spread) {
    const Target target(spread.part, spread.key);
    if (!taken_.insert(target).second) return;
    const auto given = given_.find(target);
    if (given != given_.end()) return put_given(std::move(spread), *given->second);
    if (spread.least < spread.most) put(std::move(spread));
  }

  void add_given(Spread spread, const Spreading& given) {
    if (taken_.insert({spread.part, spread.key}).second)
      put_given(std::move(spread), given);
  }

  void put_given(Spread spread, const Spreading& given) {
    const double size = std::abs(spread.nominal);
    spread.least = given.is_share ? spread.nominal + given.least * size : given.least;
    spread.most = given.is_share ? spread.nominal + given.most * size : given.most;
    spread.is_normal = given.is_normal;
    spread.from = Spread::From::given;
    spread.source = "the description";
    spread.mark = Mark::given;
    put(std::move(spread));
  }

  void put(Spread spread) {
    spread.draw = draw_of(spread);
    spreads_.push_back(std::move(spread));
  }

  /// Pins of a chip share one draw, and so do like keys of one reel.
  std::size_t draw_of(const Spread& spread) {
    int first = spread.part;
    for (const std::vector<int>& reel : circuit_.reels)
      if (std::find(reel.begin(), reel.end(), spread.part) != reel.end())
        first = reel.front();
    const bool is_pin =
        spread.key == "resistance_high" || spread.key == "resistance_low";
    const Target group(first, is_pin ? "pins" : spread.key);
    return draws_.try_emplace(group, draws_.size()).first->second;
  }

  /// What the part itself says of its value: "tolerance".
  void add_values(int index) {
    const Part& p = part(index);
    const auto value = number_of(p, "value");
    if (!value) return;
    const auto share = tolerance_of(p, "value");
    if (!share || *share <= 0.0) return;
    const auto told = figure(p, "tolerance");
    if (!told) return;
    Spread spread = assumed_share(
        spread_of(p, index, "value", find_key(kind(p.kind), "value")->unit, *value),
        *share, told->source, told->mark);
    if (p.settings.contains("tolerance")) spread.from = Spread::From::given;
    add(std::move(spread));
  }

  /// What the type's sheet says.
  void add_figures(int index) {
    const Part& p = part(index);
    for (const std::string& key : bounded_figures(p)) {
      if (key == "forward") {
        add_forward(index);
        continue;
      }
      const auto bounds = published_bounds(p, key);
      if (!bounds || key == "base_volts") continue;
      const double usual =
          number_of(p, key).value_or(0.5 * (bounds->least.value + bounds->most.value));
      Spread spread = spread_of(p, index, key, bounds->least.unit, usual);
      spread.least = std::min(bounds->least.value, usual);
      spread.most = std::max(bounds->most.value, usual);
      spread.from = Spread::From::published;
      const bool is_least = spread.least < usual;
      spread.source = is_least ? bounds->least.source : bounds->most.source;
      spread.mark = is_least ? bounds->least.mark : bounds->most.mark;
      add(std::move(spread));
    }
  }

  void add_forward(int index) {
    const Part& p = part(index);
    const auto usual = nominal_of(p, "forward");
    if (!usual) return;
    const Type& type = *p.type;
    const DiodeModel& model = *curve_of(p);
    const double otherwise = p.kind == KindId::led ? kLampSpreadVolts : kDiodeCopyVolts;
    Spread spread = assumed(spread_of(p, index, "forward", Unit::volt, *usual),
                            otherwise, otherwise, "common practice, no source");
    const auto off = [&model](const ForwardPoint& point) {
      return point.volts - forward_volts(model, point.amps);
    };
    const auto take = [&spread](const ForwardPoint& point) {
      spread.from = Spread::From::published;
      spread.source = point.source;
      spread.mark = point.mark;
    };
    if (!type.points_least.empty()) {
      spread.least = *usual + std::min(0.0, off(type.points_least.front()));
      take(type.points_least.front());
    }
    if (!type.points_most.empty()) {
      spread.most = *usual + std::max(0.0, off(type.points_most.front()));
      take(type.points_most.front());
    }
    add(std::move(spread));
  }

  /// What is usual of a kind.
  void add_usual(int index) {
    const Part& p = part(index);
    constexpr const char* kUsual = "common practice, no source";
    const auto share = [&](const char* key, double off) {
      if (const auto value = number_of(p, key))
        add(assumed_share(spread_of(p, index, key, *unit_of_target(p, key), *value),
                          off, kUsual));
    };
    switch (p.kind) {
      case KindId::dc_supply:
        return share("voltage",
                     flag(p, "regulated", true) ? kSupplySpread : kUnregulatedSpread);
      case KindId::regulator:
        return share("output", kRegulatorSpread);
      case KindId::zener:
        return share("voltage", kZenerSpread);
      case KindId::inductor:
        return share("value", kCoilSpread);
      case KindId::capacitor:
        return share("value", flag(p, "polarised", false) ? kElectrolyticSpread
                                                          : kCapacitorSpread);
      case KindId::transistor:
        if (is_of_type(p))
          add(assumed(spread_of(p, index, "base", Unit::volt, 0.0), kBaseSpreadVolts,
                      kBaseSpreadVolts, kUsual));
        return;
      default:
        return;
    }
  }

  /// What else the description tells of a part.
  void add_rest(int index) {
    for (const auto& [target, given] : given_) {
      if (target.first != index || taken_.contains(target)) continue;
      const Part& p = part(index);
      const auto usual = nominal_of(p, target.second);
      const auto unit = unit_of_target(p, target.second);
      if (usual && unit)
        add_given(spread_of(p, index, target.second, *unit, *usual), *given);
    }
  }

  const Circuit& circuit_;
  std::map<Target, const Spreading*> given_;
  std::set<Target> taken_;
  std::map<Target, std::size_t> draws_;
  std::vector<Spread> spreads_;
};

/// The end that core/network/spread knows a model's figure by; nothing of what is a
/// number of the part.
std::optional<SpreadEnd> model_end(const Part& part, const Spread& spread,
                                   double value) {
  const bool is_given = part.settings.contains(spread.key);
  SpreadEnd end;
  end.part = spread.part;
  end.value = value;
  if (spread.key == "forward" || spread.key == "base") {
    end.figure = spread.key == "base" ? SpreadFigure::base : SpreadFigure::lamp;
    end.value = value - spread.nominal;
    return end;
  }
  if (is_given || !is_of_type(part)) return std::nullopt;
  if (part.kind == KindId::transistor && spread.key == "gain")
    end.figure = SpreadFigure::gain;
  else if (part.kind == KindId::mosfet && spread.key == "threshold")
    end.figure = SpreadFigure::threshold;
  else if (part.kind == KindId::zener && spread.key == "voltage")
    end.figure = SpreadFigure::zener;
  else if (part.kind == KindId::regulator && spread.key == "output")
    end.figure = SpreadFigure::output;
  else
    return std::nullopt;
  return end;
}

std::vector<Network> networks_of(const PosedState& posed) {
  std::vector<Network> networks;
  for (const PosedPhase& phase : posed.phases()) networks.push_back(phase.network);
  return networks;
}

/// The circuit where it is as warm as that.
Circuit circuit_at(double celsius, const Circuit& circuit) {
  Circuit there = circuit;
  there.ambient = celsius;
  return there;
}

}  // namespace

std::string_view word_of(Spread::From from) {
  return from == Spread::From::given       ? "given"
         : from == Spread::From::published ? "published"
                                           : "default";
}

std::vector<Spread> spreads_of(const Circuit& circuit) {
  return Gathering(circuit).gather();
}

std::size_t draws_of(const std::vector<Spread>& spreads) {
  std::size_t count = 0;
  for (const Spread& spread : spreads) count = std::max(count, spread.draw + 1);
  return count;
}

std::vector<std::vector<std::size_t>> by_draw(const std::vector<Spread>& spreads) {
  std::vector<std::vector<std::size_t>> draws(draws_of(spreads));
  for (std::size_t k = 0; k < spreads.size(); ++k) draws[spreads[k].draw].push_back(k);
  return draws;
}

std::vector<double> nominal_places(const std::vector<Spread>& spreads) {
  std::vector<double> places;
  for (const Spread& spread : spreads)
    places.push_back(std::clamp(nominal_place(spread), 0.0, 1.0));
  return places;
}

double nominal_place(const Spread& spread) {
  return (spread.nominal - spread.least) / (spread.most - spread.least);
}

double value_at(const Spread& spread, const std::vector<Part>& parts, double place) {
  const double described = std::lerp(spread.least, spread.most, place);
  if (spread.part < 0 || spread.nominal == 0.0) return described;
  const Part& part = parts[static_cast<std::size_t>(spread.part)];
  const auto here = nominal_of(part, spread.key);
  return here ? described * (*here / spread.nominal) : described;
}

std::vector<Network> Lowering::at(std::span<const std::size_t> which,
                                  const double* places) {
  for (const std::size_t k : which) {
    if (spreads_[k].part >= 0) continue;
    const Circuit circuit =
        circuit_at(value_at(spreads_[k], posed_.parts(), places[k]), posed_.circuit());
    PosedState there(circuit, posed_.state(), posed_.structure());
    return put(which, places, there);
  }
  std::vector<Network> networks = put(which, places, *there_);
  if (networks.empty()) {
    there_.emplace(posed_);
    return networks;
  }
  for (const std::size_t k : which)
    there_->put_back(spreads_[k].part, spreads_[k].key, posed_);
  return networks;
}

std::vector<Network> Lowering::put(std::span<const std::size_t> which,
                                   const double* places, PosedState& there) const {
  std::vector<SpreadEnd> ends;
  for (const std::size_t k : which) {
    const Spread& spread = spreads_[k];
    if (spread.part < 0) continue;
    const Part& part = posed_.parts()[static_cast<std::size_t>(spread.part)];
    const double value = value_at(spread, posed_.parts(), places[k]);
    if (const auto end = model_end(part, spread, value))
      ends.push_back(*end);
    else
      there.put(spread.part, spread.key, value);
  }
  std::vector<Network> networks = networks_of(there);
  for (Network& network : networks) {
    if (network.structure != posed_.structure()) return {};
    for (const SpreadEnd& end : ends) put_spread(posed_.parts(), end, network);
  }
  return networks;
}

std::vector<Network> networks_at(const std::vector<Spread>& spreads,
                                 std::span<const std::size_t> which,
                                 const double* places, const PosedState& posed) {
  return Lowering(spreads, posed).at(which, places);
}

std::vector<Network> networks_at(const std::vector<Spread>& spreads,
                                 const double* places, const PosedState& posed) {
  std::vector<std::size_t> all(spreads.size());
  std::iota(all.begin(), all.end(), 0U);
  return networks_at(spreads, all, places, posed);
}

Circuit circuit_at(const std::vector<Spread>& spreads, const double* places,
                   const Circuit& circuit) {
  for (std::size_t k = 0; k < spreads.size(); ++k)
    if (spreads[k].part < 0)
      return circuit_at(value_at(spreads[k], circuit.parts, places[k]), circuit);
  return circuit;
}

Timeline timeline_at(const std::vector<Spread>& spreads, const double* places,
                     const Circuit& circuit, const Run& run) {
  const auto end_of = [&](std::size_t k, const std::vector<Part>& parts) {
    const Spread& spread = spreads[k];
    return model_end(parts[static_cast<std::size_t>(spread.part)], spread,
                     value_at(spread, parts, places[k]));
  };
  Specimen specimen;
  specimen.put = [&](State& state) {
    const std::vector<Part> parts = parts_in(circuit, state);
    for (std::size_t k = 0; k < spreads.size(); ++k) {
      const Spread& spread = spreads[k];
      if (spread.part < 0 || end_of(k, parts)) continue;
      state.settings[{spread.part, spread.key}] = {
          value_at(spread, parts, places[k]),
          parts[static_cast<std::size_t>(spread.part)].span};
    }
  };
  specimen.touch = [&](const State& state, Network& network) {
    const std::vector<Part> parts = parts_in(circuit, state);
    for (std::size_t k = 0; k < spreads.size(); ++k) {
      if (spreads[k].part < 0) continue;
      if (const auto end = end_of(k, parts)) put_spread(parts, *end, network);
    }
  };
  return make_timeline(circuit_at(spreads, places, circuit), run, specimen);
}

}  // namespace benchproof
