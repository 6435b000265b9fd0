#pragma once

#include <array>
#include <string_view>

namespace benchproof {

/// The stable name of a kind of complaint, and what it means.
struct DiagnosticId {
  std::string_view name;
  std::string_view about;
};

// Each has a file tests/diagnostics/NAME.toml that must bring it about, by itself or by
// its own catalogue file tests/diagnostics/parts/NAME.toml.

// The file as a whole.
inline constexpr DiagnosticId kTooLarge{"too-large", "the file exceeds a limit"};
inline constexpr DiagnosticId kTooDeep{"too-deep", "tables are nested too deeply"};
inline constexpr DiagnosticId kNotUtf8{"not-utf8", "the file is not UTF-8 text"};
inline constexpr DiagnosticId kSyntax{"syntax", "the file is not TOML"};
inline constexpr DiagnosticId kOtherFile{"other-file", "a file for another purpose"};

// A catalogue file of the user's own.
inline constexpr DiagnosticId kCataloguePath{"catalogue-path",
                                             "not a file beside the description"};
inline constexpr DiagnosticId kFigureMalformed{"figure-malformed",
                                               "not value | mark | source | condition"};
inline constexpr DiagnosticId kMarkUnknown{"mark-unknown", "no such mark"};
inline constexpr DiagnosticId kSourceMissing{"source-missing", "a figure without one"};
inline constexpr DiagnosticId kSourceUnknown{"source-unknown", "not in [sources]"};
inline constexpr DiagnosticId kSourceUnused{"source-unused", "no figure names it"};
inline constexpr DiagnosticId kFamilyUnknown{"family-unknown", "no such family"};
inline constexpr DiagnosticId kKindTypeless{"kind-typeless", "a kind without types"};
inline constexpr DiagnosticId kTypeTwice{"type-twice", "two types of one name"};
inline constexpr DiagnosticId kTypeKnown{"type-known", "the catalogue has that name"};
inline constexpr DiagnosticId kCurveUnknown{"curve-unknown", "no such curve to share"};
inline constexpr DiagnosticId kModelUnfit{"model-unfit", "figures that no device has"};

// Names and free texts.
inline constexpr DiagnosticId kNameInvalid{"name-invalid", "not a name"};
inline constexpr DiagnosticId kNameReserved{"name-reserved", "the name has a meaning"};
inline constexpr DiagnosticId kTextInvalid{"text-invalid", "too long or unprintable"};

// Keys and the shape of what stands behind them.
inline constexpr DiagnosticId kKeyUnknown{"key-unknown", "no such key here"};
inline constexpr DiagnosticId kKeyMissing{"key-missing", "a key must be there"};
inline constexpr DiagnosticId kKeyConflict{"key-conflict", "keys exclude each other"};
inline constexpr DiagnosticId kKeyNeeds{"key-needs", "a key stands without its mate"};
inline constexpr DiagnosticId kTomlType{"toml-type",
                                        "a list where a text must be, ..."};

// Parts and their values.
inline constexpr DiagnosticId kKindUnknown{"kind-unknown", "no such kind of part"};
inline constexpr DiagnosticId kTypeUnknown{"type-unknown", "not in the catalogue"};
inline constexpr DiagnosticId kWordUnknown{"word-unknown", "not one of the choices"};
inline constexpr DiagnosticId kValueMalformed{"value-malformed", "not a quantity"};
inline constexpr DiagnosticId kValueComma{"value-comma", "a decimal comma"};
inline constexpr DiagnosticId kValueRange{"value-range", "too small or too large"};
inline constexpr DiagnosticId kValueZero{"value-zero", "a resistor of 0 ohm"};
inline constexpr DiagnosticId kFigureOrder{"figure-order",
                                           "figures at odds with each other"};
inline constexpr DiagnosticId kNumberBare{"number-bare",
                                          "a number without quotes, unit"};
inline constexpr DiagnosticId kUnitMissing{"unit-missing", "a number without its unit"};
inline constexpr DiagnosticId kUnitUnknown{"unit-unknown", "no such unit"};
inline constexpr DiagnosticId kUnitWrong{"unit-wrong", "the unit of something else"};
inline constexpr DiagnosticId kPinDuplicate{"pin-duplicate",
                                            "a part's pin named twice"};
inline constexpr DiagnosticId kSupplyVoltage{"supply-voltage", "a supply above 60 V"};
inline constexpr DiagnosticId kSupplyMains{"supply-mains", "a supply not isolated"};
inline constexpr DiagnosticId kSupplyNoLoad{"supply-no-load",
                                            "no-load voltage at odds"};

// Nets.
inline constexpr DiagnosticId kGroundMissing{"ground-missing", "no net named ground"};
inline constexpr DiagnosticId kNetEmpty{"net-empty", "a net without pins"};
inline constexpr DiagnosticId kNetDangling{"net-dangling", "a net with a single pin"};
inline constexpr DiagnosticId kNetUnknown{"net-unknown", "no such net"};
inline constexpr DiagnosticId kPartUnknown{"part-unknown", "no such part"};
inline constexpr DiagnosticId kPinUnknown{"pin-unknown", "the part has no such pin"};
inline constexpr DiagnosticId kPinMalformed{"pin-malformed",
                                            "not of the form part.pin"};
inline constexpr DiagnosticId kPinNowhere{"pin-nowhere", "a pin on no net"};
inline constexpr DiagnosticId kPinTwice{"pin-twice", "a pin named twice in the nets"};

// Paths and blocks.
inline constexpr DiagnosticId kPathWord{"path-word", "neither a part nor a net"};
inline constexpr DiagnosticId kPathShort{"path-short", "a path of less than two items"};
inline constexpr DiagnosticId kPathConflict{"path-conflict",
                                            "two places that contradict each other"};
inline constexpr DiagnosticId kBlockInside{"block-inside",
                                           "what is inside of a block, from outside"};
inline constexpr DiagnosticId kBlockUnknown{"block-unknown", "no such block"};
inline constexpr DiagnosticId kBlockFile{"block-file", "no file to take a block from"};
inline constexpr DiagnosticId kBlockPin{"block-pin",
                                        "a pin that is no net of its block"};
inline constexpr DiagnosticId kBlockCircle{"block-circle", "a block that holds itself"};
inline constexpr DiagnosticId kBlockDeep{"block-deep", "blocks are nested too deeply"};
inline constexpr DiagnosticId kBlockTest{"block-test",
                                         "nothing proves a block's file alone"};

// States.
inline constexpr DiagnosticId kStateTarget{"state-target", "not something to change"};
inline constexpr DiagnosticId kStateFixed{"state-fixed", "the same in every state"};
inline constexpr DiagnosticId kStateTwice{"state-twice", "one thing set twice"};
inline constexpr DiagnosticId kStateUnknown{"state-unknown", "no such state"};
inline constexpr DiagnosticId kStatePassing{"state-passing",
                                            "a state not judged at rest"};
inline constexpr DiagnosticId kOutputLevel{"output-level",
                                           "not high, low, open or PWM"};
inline constexpr DiagnosticId kPwmMany{"pwm-many", "too many phases of PWM"};

// Runs.
inline constexpr DiagnosticId kRunTwice{"run-twice", "two runs of one name"};
inline constexpr DiagnosticId kRunUnknown{"run-unknown", "no such run"};
inline constexpr DiagnosticId kRunSteps{"run-steps", "no steps, or out of order"};
inline constexpr DiagnosticId kRunTime{"run-time", "a time outside the run"};
inline constexpr DiagnosticId kRunFixed{"run-fixed", "cannot change within a run"};
inline constexpr DiagnosticId kRunPwm{"run-pwm", "PWM too fast to be played out"};

// Expectations.
inline constexpr DiagnosticId kExpectMeaning{"expect-meaning", "cannot be asked there"};
inline constexpr DiagnosticId kExpectPin{"expect-pin", "which pin is not said"};
inline constexpr DiagnosticId kExpectBounds{"expect-bounds", "bounds without room"};
inline constexpr DiagnosticId kExpectPhase{"expect-phase", "a phase where no PWM is"};

inline constexpr DiagnosticId kFindingUnknown{"finding-unknown", "no such finding"};

// Variants, and changes asked for beside the file.
inline constexpr DiagnosticId kVariantUnknown{"variant-unknown", "no such variant"};
inline constexpr DiagnosticId kChangeTarget{"change-target",
                                            "not something that can be changed"};
inline constexpr DiagnosticId kChangeWiring{"change-wiring",
                                            "a change of how things are joined"};
inline constexpr DiagnosticId kChangeTwice{"change-twice", "one thing changed twice"};
inline constexpr DiagnosticId kChangeAmbiguous{"change-ambiguous",
                                               "a part and a state of that name"};

// Structure.
inline constexpr DiagnosticId kNetFloating{"net-floating", "no DC path to ground"};
inline constexpr DiagnosticId kSourceLoop{"source-loop", "ideal sources in a loop"};
inline constexpr DiagnosticId kSourcePath{"source-path", "a current with no way back"};
inline constexpr DiagnosticId kSupplyShorted{"supply-shorted", "plus joined to minus"};

// Shapes and boards.
inline constexpr DiagnosticId kShapeUnknown{"shape-unknown", "no such shape"};
inline constexpr DiagnosticId kHoleMalformed{"hole-malformed", "not a hole's name"};
inline constexpr DiagnosticId kHoleUnknown{"hole-unknown", "not on the board"};

inline constexpr DiagnosticId kMore{"more", "further complaints are not shown"};

inline constexpr std::array kDiagnosticIds = {
    kTooLarge,        kTooDeep,        kNotUtf8,        kSyntax,        kOtherFile,
    kNameInvalid,     kNameReserved,   kTextInvalid,    kKeyUnknown,    kKeyMissing,
    kKeyConflict,     kKeyNeeds,       kTomlType,       kKindUnknown,   kTypeUnknown,
    kWordUnknown,     kValueMalformed, kValueComma,     kValueRange,    kValueZero,
    kNumberBare,      kUnitMissing,    kUnitUnknown,    kUnitWrong,     kPinDuplicate,
    kSupplyVoltage,   kSupplyMains,    kSupplyNoLoad,   kGroundMissing, kNetEmpty,
    kNetDangling,     kNetUnknown,     kPartUnknown,    kPinUnknown,    kPinMalformed,
    kPinNowhere,      kPinTwice,       kStateTarget,    kStateFixed,    kStateTwice,
    kStateUnknown,    kStatePassing,   kOutputLevel,    kPwmMany,       kRunTwice,
    kRunUnknown,      kRunSteps,       kRunTime,        kRunFixed,      kRunPwm,
    kExpectMeaning,   kExpectPin,      kExpectBounds,   kExpectPhase,   kNetFloating,
    kSourceLoop,      kSourcePath,     kSupplyShorted,  kMore,          kCataloguePath,
    kFigureMalformed, kMarkUnknown,    kSourceMissing,  kSourceUnknown, kSourceUnused,
    kFamilyUnknown,   kKindTypeless,   kTypeTwice,      kTypeKnown,     kCurveUnknown,
    kModelUnfit,      kVariantUnknown, kChangeTarget,   kChangeWiring,  kChangeTwice,
    kChangeAmbiguous, kFigureOrder,    kPathWord,       kPathShort,     kPathConflict,
    kBlockInside,     kBlockUnknown,   kBlockFile,      kBlockPin,      kBlockCircle,
    kBlockDeep,       kBlockTest,      kFindingUnknown, kShapeUnknown,  kHoleMalformed,
    kHoleUnknown,
};

}  // namespace benchproof
