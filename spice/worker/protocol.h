#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

/// What the session and the worker say to each other over one stream socket.
///
/// A frame is a header of 12 bytes and a payload:
///
///     'B' 'P' 'W' version   kind (u32)   payload length (u32)   payload
///
/// Integers are little-endian, doubles are the bits of IEEE 754 binary64 as a u64, a
/// string is its length (u32) and its bytes, a list is its count (u32) and its items.
/// The decoders accept exactly what the encoders make: a truncated, overlong or
/// oversized payload, an unknown kind, an undefined enumerator or flag gives
/// `std::nullopt`, and no count is believed before the bytes it promises are there.
namespace benchproof::wire {

inline constexpr std::size_t kHeaderBytes = 12;
inline constexpr std::size_t kMaxPayloadBytes = 16U
                                                << 20U;  ///< Larger ones are refused.
inline constexpr int kWorkerSocket = 3;  ///< The worker's end of the socket.

/// What the seal ended the worker for; its exit status then.
enum class Breach : int {
  program = 101,     ///< It tried to start a program, a process or a thread.
  connection = 102,  ///< To open a socket or a pipe.
  process = 103,     ///< To reach another process.
};

enum class FrameKind : std::uint32_t { hello = 1, request = 2, reply = 3, more = 4 };

struct FrameHeader {
  FrameKind kind = FrameKind::hello;
  std::size_t payload_bytes = 0;  ///< At most kMaxPayloadBytes.
};

/// The worker's first frame, sent once it is sealed and the engine is up.
struct Hello {
  bool is_sealed = false;        ///< The system call filter is in force.
  bool is_engine_ready = false;  ///< The engine initialised.
  std::string detail;            ///< Why not, for whichever of the two is false.
};

enum class Analysis : std::uint32_t { operating_point = 1, transient = 2 };

/// Another value for an element of the circuit that the worker holds.
struct Change {
  std::string element;  ///< See can_change.
  double value = 0.0;   ///< SI, finite.
  friend bool operator==(const Change&, const Change&) = default;
};

/// Whether this names an element whose value may change in place: a resistor, a voltage
/// or a current source, as in "r3", "v1", "i2", of at most 16 bytes.
[[nodiscard]] bool can_change(std::string_view element);

struct Request {
  Analysis analysis = Analysis::operating_point;
  std::vector<std::string> deck;     ///< Lines: title first, ".end" last.
  std::vector<std::string> vectors;  ///< Names of the results wanted.
  double span = 0.0;                 ///< Of a transient: how far it must reach. Second.
  /// Of the circuit that the worker holds (Reply::is_held); only where `deck` is empty,
  /// which asks for that circuit, at rest.
  std::vector<Change> changes = {};
};

enum class Outcome : std::uint32_t {
  solved = 1,  ///< Every wanted vector is there, real and finite: at rest of length
               ///< 1, in a transient of the times' length, these rising to the span.
  not_solved = 2,  ///< The engine ran and failed.
  leaving = 3,     ///< It failed and asked to exit: this worker ends now.
  too_large = 4    ///< A transient would take more than kMaxValues.
};

/// Numbers that an answer may hold (128 MiB): of a transient of 15 vectors, 2^20
/// points.
inline constexpr std::size_t kMaxValues = 1U << 24U;
/// Of these a reply itself holds so many (8 MiB), and so does each frame that follows.
inline constexpr std::size_t kMaxFrameValues = 1U << 20U;

struct Reply {
  Outcome outcome = Outcome::not_solved;
  /// In the order of Request::vectors, SI; of a transient one point after the other,
  /// each its time and then these. Empty unless solved.
  std::vector<double> values;
  std::uint64_t heap_bytes = 0;  ///< What the worker's heap holds after this request.
  std::string message;           ///< What the engine complained of.
  double reached = 0.0;          ///< How far a transient came. Second.
  /// Solved at rest: the worker holds this circuit, and answers for other values of its
  /// elements as it would for a deck of them.
  bool is_held = false;
  /// Values that follow in frames of kind `more`, besides those of `values` that the
  /// encoder leaves for them.
  std::uint64_t more = 0;
};

/// One whole frame, header included. A payload above kMaxPayloadBytes is encoded all
/// the same; the sender must not send it (the other end would refuse it).
[[nodiscard]] std::string encode(const Hello& hello);
[[nodiscard]] std::string encode(const Request& request);
/// Of the values the first kMaxFrameValues, and how many others there are.
[[nodiscard]] std::string encode(const Reply& reply);
/// A frame of kind `more`: at most kMaxFrameValues.
[[nodiscard]] std::string encode_more(std::span<const double> values);

/// @param bytes exactly kHeaderBytes of them.
[[nodiscard]] std::optional<FrameHeader> decode_header(std::string_view bytes);

[[nodiscard]] std::optional<Hello> decode_hello(std::string_view payload);
[[nodiscard]] std::optional<Request> decode_request(std::string_view payload);
[[nodiscard]] std::optional<Reply> decode_reply(std::string_view payload);
[[nodiscard]] std::optional<std::vector<double>> decode_more(std::string_view payload);

}  // namespace benchproof::wire
