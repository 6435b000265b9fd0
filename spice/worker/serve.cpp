#include "spice/worker/detail/serve.h"

#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <span>
#include <string>
#include <string_view>

namespace benchproof::worker {
namespace {

// True when all of `bytes` came; false at the end of the stream or on an error.
bool read_all(int socket, char* bytes, std::size_t length) {
  while (length > 0) {
    const ssize_t got = read(socket, bytes, length);
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) return false;
    bytes += got;
    length -= static_cast<std::size_t>(got);
  }
  return true;
}

}  // namespace

bool send_frame(int socket, const std::string& frame) {
  std::string_view bytes = frame;
  while (!bytes.empty()) {
    const ssize_t put = write(socket, bytes.data(), bytes.size());
    if (put < 0 && errno == EINTR) continue;
    if (put <= 0) return false;
    bytes.remove_prefix(static_cast<std::size_t>(put));
  }
  return true;
}

Served serve(int socket,
             const std::function<wire::Reply(const wire::Request&)>& answer) {
  std::string payload;
  while (true) {
    std::array<char, wire::kHeaderBytes> head{};
    if (!read_all(socket, head.data(), head.size())) return Served::done;
    const auto header = wire::decode_header({head.data(), head.size()});
    if (!header || header->kind != wire::FrameKind::request) return Served::bad_request;
    payload.resize(header->payload_bytes);
    if (!read_all(socket, payload.data(), payload.size())) return Served::done;
    const auto request = wire::decode_request(payload);
    if (!request) return Served::bad_request;
    const wire::Reply reply = answer(*request);
    if (!send_frame(socket, wire::encode(reply))) return Served::bad_socket;
    std::span<const double> rest(reply.values);
    while (rest.size() > wire::kMaxFrameValues) {
      rest = rest.subspan(wire::kMaxFrameValues);
      const auto next = rest.first(std::min(rest.size(), wire::kMaxFrameValues));
      if (!send_frame(socket, wire::encode_more(next))) return Served::bad_socket;
    }
    if (reply.outcome == wire::Outcome::leaving) return Served::done;
  }
}

}  // namespace benchproof::worker
