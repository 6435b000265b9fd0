#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/catalogue/catalogue.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// How a circuit can be built otherwise than it was meant. A closed list: `word_of` has
/// the word of each that ids and JSON use.
enum class FaultMode {
  none,       ///< As meant.
  open,       ///< A part that lets nothing through, or is missing.
  short_,     ///< Two pins of a part that are one.
  reversed,   ///< A part of two poles the wrong way round.
  value,      ///< A neighbouring, tenfold or tenth value; another colour or type.
  joint,      ///< One pin that is not joined to its net (a cold joint).
  bridge,     ///< Two nets that solder joins.
  exchanged,  ///< Two leads of a part, or two outputs, in each other's place.
  shifted,    ///< A wire on the neighbouring pin.
  stuck,      ///< An output that is high, low or open, whatever the state.
  blank,      ///< A chip without its program: all its outputs are open.
  supply,     ///< Absent, low, reversed, or not regulated.
  ground,     ///< A source that is not joined to ground.
};

/// "open", "short", "reversed" ...
[[nodiscard]] std::string_view word_of(FaultMode mode);
[[nodiscard]] std::vector<FaultMode> fault_modes();

/// One thing that is done to a circuit to build a fault into it.
struct Edit {
  enum class What {
    lift,      ///< Pin `a` comes off its net.
    move,      ///< Pin `a` comes onto `net`.
    exchange,  ///< Pins `a` and `b` stand where the other one stood.
    short_,    ///< The nets of pins `a` and `b` are joined by kShortOhms.
    join,      ///< `net` and `to` are joined by kShortOhms.
    scale,     ///< `key` of the part of `a` is `times` as much, in every state.
    loosen,  ///< The supply of `a` is not regulated: without load `times` its voltage.
    retype,  ///< The part of `a` is of `type`.
    hold,    ///< Output `a` is at `level`, in every state.
  };
  What what = What::lift;
  PinRef a;
  PinRef b;
  int net = -1;
  int to = -1;
  std::string key;
  double times = 1.0;
  const Type* type = nullptr;
  OutputSetting::Level level = OutputSetting::Level::low;
};

/// What solder, or a part that is shorted, has between its ends. Ohm. Common practice.
inline constexpr double kShortOhms = 1e-2;

/// A difference between a circuit as meant and as built.
struct Fault {
  FaultMode mode = FaultMode::none;
  std::string id;  ///< "bridge quay rail": the mode's word and its subjects in order.
  std::vector<std::string> parts;
  std::vector<std::string> pins;  ///< "quay1_r.b"
  std::vector<std::string> nets;
  std::string words;   ///< "cold joint at quay1_r.b"
  std::string remedy;  ///< "reheat the joint with a little fresh solder"
  /// How often such a mistake is made against others, on any scale; > 0.
  double weight = 1.0;
  std::string weight_source;
  Mark weight_mark = Mark::practice;
  std::vector<Edit> edits;
};

/// Every single fault of a circuit, mode by mode, in the order of the description.
///
/// Bridges are those of nets that share a part of two or three pins, and of the nets of
/// neighbouring pins of larger ones; or, where `neighbours` has pairs of nets (a
/// board's), of these. The circuit and the catalogue must outlive the faults.
[[nodiscard]] std::vector<Fault> faults_of(
    const Circuit& circuit, const Catalogue& catalogue,
    const std::vector<std::pair<int, int>>& neighbours = {});

/// The circuit with an edit, or with all edits of a fault, built into it. Joints are
/// the last parts; all others, and all nets, keep their places.
void build_in(Circuit& circuit, const Edit& edit);
void build_in(Circuit& circuit, const Fault& fault);

}  // namespace benchproof
