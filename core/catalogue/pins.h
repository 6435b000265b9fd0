#pragma once

namespace benchproof {

// Where pins stand among those of their kind (kind_of(id).pins).

/// Of a regulator; the second is its ground, or what an adjustable one holds apart from
/// its output.
inline constexpr int kIn = 0, kCommon = 1, kOut = 2;

/// Of a bipolar transistor.
inline constexpr int kBase = 0, kCollector = 1, kEmitter = 2;

/// Of a MOS transistor.
inline constexpr int kGate = 0, kDrain = 1, kSource = 2;

/// Of either: what drives it, where its load hangs, and where its current goes.
inline constexpr int kControl = 0, kHigh = 1, kLow = 2;

/// Of a diode, a Zener diode, an LED.
inline constexpr int kAnode = 0, kCathode = 1;

/// Of a potentiometer or trimmer, between its ends.
inline constexpr int kWiper = 1;

}  // namespace benchproof
