#pragma once

#include <chrono>
#include <cstddef>
#include <string>
#include <string_view>

#include "spice/worker/protocol.h"

namespace benchproof {

/// How sending or receiving went.
enum class Transfer {
  done,
  timed_out,  ///< The deadline passed first.
  closed,     ///< The other end has gone.
  garbled     ///< What came is not what was to come.
};

/// The session's end of a worker's stream socket: frames out and in, each by a
/// deadline. Closes the socket when destroyed.
class FrameStream {
 public:
  using Deadline = std::chrono::steady_clock::time_point;

  explicit FrameStream(int socket) : socket_(socket) {}
  FrameStream(const FrameStream&) = delete;
  FrameStream& operator=(const FrameStream&) = delete;
  ~FrameStream() { close(); }

  [[nodiscard]] Transfer send(std::string_view frame, Deadline deadline);

  /// The payload of the next frame, which must be of `kind`, goes to `payload`.
  [[nodiscard]] Transfer receive(wire::FrameKind kind, std::string& payload,
                                 Deadline deadline);

  /// Nothing can be sent or received any more.
  void close();

 private:
  Transfer receive_all(char* bytes, std::size_t length, Deadline deadline);

  int socket_;
};

/// What of a request its answer is held against.
struct Wanted {
  wire::Analysis analysis = wire::Analysis::operating_point;
  std::size_t vectors = 0;  ///< How many.
  double span = 0.0;        ///< Of a transient. Second.
};

/// Sends a request's frame and receives the whole answer, the frames that follow a
/// reply included. `done` only if it holds exactly what was wanted: solved at rest one
/// value per vector, solved in time whole points of 1 + `vectors` values and at most
/// wire::kMaxValues in all, the points' times rising from 0 or later to the span, not
/// solved none; every value is finite, and no circuit is held but one solved at rest.
/// Then `reply.more` is 0.
[[nodiscard]] Transfer exchange(FrameStream& stream, std::string_view frame,
                                const Wanted& wanted, FrameStream::Deadline deadline,
                                wire::Reply& reply);

}  // namespace benchproof
