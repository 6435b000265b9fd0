#pragma once

#include <functional>
#include <string>

#include "spice/worker/protocol.h"

namespace benchproof::worker {

/// How serving ended.
enum class Served {
  done,         ///< The session closed its end, or the answer was that of one leaving.
  bad_request,  ///< What came is not a request.
  bad_socket    ///< An answer could not be sent.
};

/// Sends one frame whole. False where the socket does not take it.
[[nodiscard]] bool send_frame(int socket, const std::string& frame);

/// Answers the requests that come on `socket` until the session closes it.
[[nodiscard]] Served serve(
    int socket, const std::function<wire::Reply(const wire::Request&)>& answer);

}  // namespace benchproof::worker
