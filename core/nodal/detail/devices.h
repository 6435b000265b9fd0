#pragma once

#include <array>
#include <type_traits>
#include <utility>
#include <vector>

#include "core/nodal/detail/layout.h"
#include "core/nodal/detail/settling.h"
#include "core/nodal/detail/stamps.h"

namespace benchproof {

/// What Newton's method remembers: its unknowns, and where each device was last looked
/// at, which limiting may keep away from where the unknowns are.
template <class Number>
struct MemoryOf {
  std::vector<Number> x;       ///< Unknowns.
  std::vector<Number> diodes;  ///< Junction voltages.
  std::vector<BipolarVolts<Number>> bipolars;
  std::vector<MosVolts<Number>> mosfets;
  std::vector<RegulatorDrive<Number>> regulators;
};
using Memory = MemoryOf<double>;

// What tells the kinds of nonlinear elements apart. Of each kind: its lists, and the
// types of what belongs to one element. kFollowsStamp: what its next step foretells is
// read off the stamp, which is kept for that.

template <class N>
struct DiodeKindOf {
  using Number = N;
  using Device = DiodeAtOf<N>;
  using Drive = N;
  using Found = ConductionOf<N>;
  using Stamp = PairStamp<N>;
  using Current = N;  ///< As in Currents.
  static constexpr auto kElements = &Structure::diodes;
  static constexpr auto kModels = &Values::diodes;
  static constexpr auto kSlots = &Layout::diodes;
  static constexpr auto kDrives = &MemoryOf<N>::diodes;
  static constexpr bool kFollowsStamp = true;
};

template <class N>
struct BipolarKindOf {
  using Number = N;
  using Device = BipolarAtOf<N>;
  using Drive = BipolarVolts<N>;
  using Found = BipolarConductionOf<N>;
  using Stamp = TripleStamp<N>;
  using Current = std::array<N, 3>;
  static constexpr auto kElements = &Structure::bipolars;
  static constexpr auto kModels = &Values::bipolars;
  static constexpr auto kSlots = &Layout::bipolars;
  static constexpr auto kDrives = &MemoryOf<N>::bipolars;
  static constexpr bool kFollowsStamp = false;
};

template <class N>
struct MosKindOf {
  using Number = N;
  using Device = MosAtOf<N>;
  using Drive = MosVolts<N>;
  using Found = MosConductionOf<N>;
  using Stamp = TripleStamp<N>;
  using Current = std::array<N, 3>;
  static constexpr auto kElements = &Structure::mosfets;
  static constexpr auto kModels = &Values::mosfets;
  static constexpr auto kSlots = &Layout::mosfets;
  static constexpr auto kDrives = &MemoryOf<N>::mosfets;
  static constexpr bool kFollowsStamp = false;
};

template <class N>
struct RegulatorKindOf {
  using Number = N;
  using Device = RegulatorAtOf<N>;
  using Drive = RegulatorDrive<N>;
  using Found = RegulatorEquations<N>;
  using Stamp = RegulatorStamp<N>;
  using Current = std::array<N, 3>;
  static constexpr auto kElements = &Structure::regulators;
  static constexpr auto kModels = &Values::regulators;
  static constexpr auto kSlots = &Layout::regulators;
  static constexpr auto kDrives = &MemoryOf<N>::regulators;
  static constexpr bool kFollowsStamp = false;
};

/// All nonlinear elements of one kind, as Newton's method goes over them. What it does
/// stands in device_steps.h.
template <class Kind>
class DevicesOf {
 public:
  using Number = typename Kind::Number;

  explicit DevicesOf(const Layout& layout);

  /// Takes the models in, at the network's temperature. Those that are as they were are
  /// not worked out anew: one network after the other differs by a resistance alone.
  void bind(const Network& network);
  /// Takes a device in, moved to its temperature.
  void put(std::size_t k, const typename Kind::Device& device) { devices_[k] = device; }

  /// Drives every device to where a cold start begins.
  void start_cold(MemoryOf<Number>& memory) const;
  /// Drives every device by the memory's unknowns; a diode and a MOS transistor as if
  /// they had no resistance.
  void start_at_unknowns(MemoryOf<Number>& memory) const;
  /// Evaluates every device where the memory has it.
  void evaluate(const MemoryOf<Number>& memory);

  /// Adds every device's stamp to the matrix entries `a` and the right-hand side `b`.
  void load(const MemoryOf<Number>& memory, Number* a, Number* b);
  /// Adds every device's stamp to the matrix entries `a`, and takes what flows by it at
  /// the unknowns `x` off `left`.
  void load_left(const MemoryOf<Number>& memory, const std::vector<Number>& x,
                 Number* a, Number* left);
  /// Moves every device to the unknowns `next`, or as near as limiting lets it, and
  /// evaluates it there. Returns whether all of them are settled.
  [[nodiscard]] auto follow(const std::vector<Number>& next, const Settling& settling,
                            MemoryOf<Number>& memory);

  /// The node that a device with more than `most` ampere in a junction stands at, -1
  /// where there is none.
  [[nodiscard]] int node_beyond(double most) const;
  /// The devices' currents as they were last found.
  [[nodiscard]] std::vector<typename Kind::Current> currents(
      const MemoryOf<Number>& memory) const;
  [[nodiscard]] const std::vector<typename Kind::Device>& devices() const {
    return devices_;
  }

 private:
  using Elements = std::decay_t<decltype(std::declval<Structure>().*Kind::kElements)>;
  using Slots = std::decay_t<decltype(std::declval<Layout>().*Kind::kSlots)>;
  using Models = std::decay_t<decltype(std::declval<Values>().*Kind::kModels)>;

  Models bound_;          ///< As they were taken in.
  double celsius_ = 0.0;  ///< At which.
  const Elements& elements_;
  const Slots& slots_;
  std::vector<typename Kind::Device> devices_;
  std::vector<typename Kind::Found> found_;   ///< Where last looked at.
  std::vector<typename Kind::Stamp> stamps_;  ///< As last loaded, if kFollowsStamp.
};

/// The nonlinear elements of a structure.
template <class Number>
struct AllDevices {
  explicit AllDevices(const Layout& layout)
      : diodes(layout), bipolars(layout), mosfets(layout), regulators(layout) {}

  /// The one way over all of them: visit(DevicesOf<Kind>&) for each kind in turn.
  template <class Visit>
  void each(const Visit& visit) {
    visit(diodes);
    visit(bipolars);
    visit(mosfets);
    visit(regulators);
  }

  DevicesOf<DiodeKindOf<Number>> diodes;
  DevicesOf<BipolarKindOf<Number>> bipolars;
  DevicesOf<MosKindOf<Number>> mosfets;
  DevicesOf<RegulatorKindOf<Number>> regulators;
};
using Devices = AllDevices<double>;

}  // namespace benchproof
