#include "spice/session/detail/frame_stream.h"

#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <climits>
#include <cmath>
#include <utility>

#include "core/base/pages.h"

namespace benchproof {
namespace {

// How near a transient's last time comes to its span: the engine adds steps up.
constexpr double kEnd = 1e-12;

// Waits until `events` or an end of the other side shows on `socket`; false at the
// deadline.
bool await(int socket, short events, FrameStream::Deadline deadline) {
  while (true) {
    // Rounded up, so that the wait does not spin in the last millisecond.
    const auto left = std::chrono::ceil<std::chrono::milliseconds>(
        deadline - std::chrono::steady_clock::now());
    if (left.count() <= 0) return false;
    pollfd watched{socket, events, 0};
    const auto wait = std::min<std::chrono::milliseconds::rep>(left.count(), INT_MAX);
    const int ready = poll(&watched, 1, static_cast<int>(wait));
    if (ready > 0) return true;
    if (ready < 0 && errno != EINTR && errno != EAGAIN)
      return true;  // the call will tell
  }
}

bool is_passing(int error) {
  return error == EINTR || error == EAGAIN || error == EWOULDBLOCK;
}

// Whether a reply holds, or promises, as many values as were asked for, and a circuit
// is held only where one can be.
bool fits(const wire::Reply& reply, const Wanted& wanted) {
  const std::size_t here = reply.values.size();
  const bool is_solved = reply.outcome == wire::Outcome::solved;
  const bool is_at_rest = wanted.analysis == wire::Analysis::operating_point;
  if (reply.is_held && !(is_solved && is_at_rest)) return false;
  if (!is_solved) return here == 0 && reply.more == 0;
  if (is_at_rest) return here == wanted.vectors && reply.more == 0;
  if (here == 0 || here > wire::kMaxValues || reply.more > wire::kMaxValues - here) {
    return false;
  }
  return (here + reply.more) % (wanted.vectors + 1) == 0;
}

// Whether a whole answer's values can be what was asked for.
bool is_sound(const wire::Reply& reply, const Wanted& wanted) {
  const std::vector<double>& values = reply.values;
  if (!std::all_of(values.begin(), values.end(),
                   [](double x) { return std::isfinite(x); }))
    return false;
  if (values.empty() || wanted.analysis == wire::Analysis::operating_point) return true;
  const std::size_t width = wanted.vectors + 1;
  double last = -1.0;
  for (std::size_t at = 0; at < values.size(); at += width) {
    if (!(values[at] >= 0.0 && values[at] > last)) return false;
    last = values[at];
  }
  return std::abs(last - wanted.span) <= kEnd * wanted.span;
}

}  // namespace

void FrameStream::close() {
  if (socket_ >= 0) ::close(std::exchange(socket_, -1));
}

Transfer FrameStream::send(std::string_view frame, Deadline deadline) {
  while (!frame.empty()) {
    const ssize_t put =
        ::send(socket_, frame.data(), frame.size(), MSG_NOSIGNAL | MSG_DONTWAIT);
    if (put >= 0) {
      frame.remove_prefix(static_cast<std::size_t>(put));
    } else if (!is_passing(errno)) {
      return Transfer::closed;
    } else if (!await(socket_, POLLOUT, deadline)) {
      return Transfer::timed_out;
    }
  }
  return Transfer::done;
}

Transfer FrameStream::receive_all(char* bytes, std::size_t length, Deadline deadline) {
  while (length > 0) {
    const ssize_t got = recv(socket_, bytes, length, MSG_DONTWAIT);
    if (got > 0) {
      bytes += got;
      length -= static_cast<std::size_t>(got);
    } else if (got == 0 || !is_passing(errno)) {
      return Transfer::closed;
    } else if (!await(socket_, POLLIN, deadline)) {
      return Transfer::timed_out;
    }
  }
  return Transfer::done;
}

Transfer FrameStream::receive(wire::FrameKind kind, std::string& payload,
                              Deadline deadline) {
  std::array<char, wire::kHeaderBytes> head{};
  Transfer transfer = receive_all(head.data(), head.size(), deadline);
  if (transfer != Transfer::done) return transfer;
  const auto header = wire::decode_header({head.data(), head.size()});
  if (!header || header->kind != kind) return Transfer::garbled;
  payload.clear();
  reserve_at_once(payload, header->payload_bytes, header->payload_bytes);
  payload.resize(header->payload_bytes);
  return receive_all(payload.data(), payload.size(), deadline);
}

Transfer exchange(FrameStream& stream, std::string_view frame, const Wanted& wanted,
                  FrameStream::Deadline deadline, wire::Reply& reply) {
  std::string payload;
  Transfer transfer = stream.send(frame, deadline);
  if (transfer != Transfer::done) return transfer;
  transfer = stream.receive(wire::FrameKind::reply, payload, deadline);
  if (transfer != Transfer::done) return transfer;
  auto decoded = wire::decode_reply(payload);
  if (!decoded || !fits(*decoded, wanted)) return Transfer::garbled;
  reply = *std::move(decoded);
  while (reply.more > 0) {
    transfer = stream.receive(wire::FrameKind::more, payload, deadline);
    if (transfer != Transfer::done) return transfer;
    const auto values = wire::decode_more(payload);
    if (!values || values->empty() || values->size() > reply.more) {
      return Transfer::garbled;
    }
    reply.values.insert(reply.values.end(), values->begin(), values->end());
    reply.more -= values->size();
  }
  return is_sound(reply, wanted) ? Transfer::done : Transfer::garbled;
}

}  // namespace benchproof
