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
struct Memory {
  std::vector<double> x;       ///< Unknowns.
  std::vector<double> diodes;  ///< Junction voltages.
  std::vector<BipolarVolts<double>> bipolars;
  std::vector<MosVolts<double>> mosfets;
  std::vector<RegulatorDrive<double>> regulators;
};

// What tells the kinds of nonlinear elements apart. Of each kind: its lists, and the
// types of what belongs to one element. kFollowsStamp: what its next step foretells is
// read off the stamp, which is kept for that.

struct DiodeKind {
  using Device = DiodeAt;
  using Drive = double;
  using Found = Conduction;
  using Stamp = PairStamp<double>;
  using Current = double;  ///< As in Currents.
  static constexpr auto kElements = &Structure::diodes;
  static constexpr auto kModels = &Values::diodes;
  static constexpr auto kSlots = &Layout::diodes;
  static constexpr auto kDrives = &Memory::diodes;
  static constexpr bool kFollowsStamp = true;
};

struct BipolarKind {
  using Device = BipolarAt;
  using Drive = BipolarVolts<double>;
  using Found = BipolarConduction;
  using Stamp = TripleStamp<double>;
  using Current = std::array<double, 3>;
  static constexpr auto kElements = &Structure::bipolars;
  static constexpr auto kModels = &Values::bipolars;
  static constexpr auto kSlots = &Layout::bipolars;
  static constexpr auto kDrives = &Memory::bipolars;
  static constexpr bool kFollowsStamp = false;
};

struct MosKind {
  using Device = MosAt;
  using Drive = MosVolts<double>;
  using Found = MosConduction;
  using Stamp = TripleStamp<double>;
  using Current = std::array<double, 3>;
  static constexpr auto kElements = &Structure::mosfets;
  static constexpr auto kModels = &Values::mosfets;
  static constexpr auto kSlots = &Layout::mosfets;
  static constexpr auto kDrives = &Memory::mosfets;
  static constexpr bool kFollowsStamp = false;
};

struct RegulatorKind {
  using Device = RegulatorAt;
  using Drive = RegulatorDrive<double>;
  using Found = RegulatorEquations<double>;
  using Stamp = RegulatorStamp<double>;
  using Current = std::array<double, 3>;
  static constexpr auto kElements = &Structure::regulators;
  static constexpr auto kModels = &Values::regulators;
  static constexpr auto kSlots = &Layout::regulators;
  static constexpr auto kDrives = &Memory::regulators;
  static constexpr bool kFollowsStamp = false;
};

/// All nonlinear elements of one kind, as Newton's method goes over them.
template <class Kind>
class DevicesOf {
 public:
  explicit DevicesOf(const Layout& layout);

  /// Takes the models in, at the network's temperature.
  void bind(const Network& network);

  /// Drives every device to where a cold start begins.
  void start_cold(Memory& memory) const;
  /// Drives every device by the memory's unknowns; a diode as if it had no resistance.
  void start_at_unknowns(Memory& memory) const;
  /// Evaluates every device where the memory has it.
  void evaluate(const Memory& memory);

  /// Adds every device's stamp to the matrix entries `a` and the right-hand side `b`.
  void load(const Memory& memory, double* a, double* b);
  /// Moves every device to the unknowns `next`, or as near as limiting lets it, and
  /// evaluates it there. Returns whether all of them are settled.
  [[nodiscard]] bool follow(const std::vector<double>& next, const Settling& settling,
                            Memory& memory);

  /// The node that a device with more than `most` ampere in a junction stands at, -1
  /// where there is none.
  [[nodiscard]] int node_beyond(double most) const;
  /// The devices' currents as they were last found.
  [[nodiscard]] std::vector<typename Kind::Current> currents(
      const Memory& memory) const;
  [[nodiscard]] const std::vector<typename Kind::Device>& devices() const {
    return devices_;
  }

 private:
  using Elements = std::decay_t<decltype(std::declval<Structure>().*Kind::kElements)>;
  using Slots = std::decay_t<decltype(std::declval<Layout>().*Kind::kSlots)>;

  const Elements& elements_;
  const Slots& slots_;
  std::vector<typename Kind::Device> devices_;
  std::vector<typename Kind::Found> found_;   ///< Where last looked at.
  std::vector<typename Kind::Stamp> stamps_;  ///< As last loaded, if kFollowsStamp.
};

/// The nonlinear elements of a structure.
struct Devices {
  explicit Devices(const Layout& layout)
      : diodes(layout), bipolars(layout), mosfets(layout), regulators(layout) {}

  /// The one way over all of them: visit(DevicesOf<Kind>&) for each kind in turn.
  template <class Visit>
  void each(const Visit& visit) {
    visit(diodes);
    visit(bipolars);
    visit(mosfets);
    visit(regulators);
  }

  DevicesOf<DiodeKind> diodes;
  DevicesOf<BipolarKind> bipolars;
  DevicesOf<MosKind> mosfets;
  DevicesOf<RegulatorKind> regulators;
};

}  // namespace benchproof
