#include <bit>
#include <catch2/catch.hpp>
#include <limits>
#include <random>

#include "spice/worker/protocol.h"

namespace {

namespace wire = benchproof::wire;

std::string payload_of(const std::string& frame) {
  return frame.substr(wire::kHeaderBytes);
}

wire::Request sample_request() {
  return {wire::Analysis::operating_point,
          {"title", "v1 n1 0 10", "", std::string("a\0b", 3), ".end"},
          {"n1", "@r1[i]"},
          0.02};
}

wire::Request sample_change() {
  return {wire::Analysis::operating_point,
          {},
          {"n1"},
          0.0,
          {{"r1", 1e9}, {"v12", -0.1}, {"i3", 5e-324}}};
}

wire::Reply sample_reply() {
  return {wire::Outcome::solved,
          {-0.0, 5e-324, std::numeric_limits<double>::max(),
           -std::numeric_limits<double>::infinity(), 1.0 / 3.0},
          std::numeric_limits<std::uint64_t>::max(),
          "a warning\n",
          1.25e-3,
          true,
          77};
}

// The decoders accept only what the encoders make, so whatever is accepted must come
// back byte for byte.
template <typename Decoded>
bool is_refused_or_canonical(const std::optional<Decoded>& decoded,
                             const std::string& payload) {
  return !decoded || payload_of(wire::encode(*decoded)) == payload;
}

}  // namespace

TEST_CASE("a frame announces its kind and its length", "[engine][protocol]") {
  const std::string frame = wire::encode(sample_request());
  const auto header = wire::decode_header(frame.substr(0, wire::kHeaderBytes));
  REQUIRE(header);
  CHECK(header->kind == wire::FrameKind::request);
  CHECK(header->payload_bytes == frame.size() - wire::kHeaderBytes);
  CHECK(wire::decode_header(wire::encode(sample_reply()).substr(0, 12))->kind ==
        wire::FrameKind::reply);
  CHECK(wire::decode_header(wire::encode(wire::Hello{}).substr(0, 12))->kind ==
        wire::FrameKind::hello);
}

TEST_CASE("frames come back as they were sent", "[engine][protocol]") {
  const auto request = wire::decode_request(payload_of(encode(sample_request())));
  REQUIRE(request);
  CHECK(request->analysis == wire::Analysis::operating_point);
  CHECK(request->deck == sample_request().deck);
  CHECK(request->vectors == sample_request().vectors);
  CHECK(request->span == 0.02);
  CHECK(request->changes.empty());

  const auto change = wire::decode_request(payload_of(encode(sample_change())));
  REQUIRE(change);
  CHECK(change->deck.empty());
  CHECK(change->changes == sample_change().changes);

  const auto reply = wire::decode_reply(payload_of(encode(sample_reply())));
  REQUIRE(reply);
  CHECK(reply->outcome == wire::Outcome::solved);
  REQUIRE(reply->values.size() == 5);
  for (std::size_t i = 0; i < 5; ++i) {
    CAPTURE(i);
    CHECK(std::bit_cast<std::uint64_t>(reply->values[i]) ==
          std::bit_cast<std::uint64_t>(sample_reply().values[i]));
  }
  CHECK(reply->heap_bytes == std::numeric_limits<std::uint64_t>::max());
  CHECK(reply->message == "a warning\n");
  CHECK(reply->reached == 1.25e-3);
  CHECK(reply->is_held);
  CHECK(reply->more == 77);

  const auto hello =
      wire::decode_hello(payload_of(encode(wire::Hello{true, false, "x"})));
  REQUIRE(hello);
  CHECK(hello->is_sealed);
  CHECK_FALSE(hello->is_engine_ready);
  CHECK(hello->detail == "x");
}

TEST_CASE("a header that is not ours is refused", "[engine][protocol]") {
  const std::string good = wire::encode(wire::Hello{}).substr(0, wire::kHeaderBytes);
  REQUIRE(wire::decode_header(good));
  CHECK_FALSE(wire::decode_header(""));
  CHECK_FALSE(wire::decode_header(good.substr(1)));
  CHECK_FALSE(wire::decode_header(good + "x"));
  for (std::size_t at = 0; at < 4; ++at) {  // the magic and the version
    std::string bad = good;
    bad[at] = static_cast<char>(bad[at] + 1);
    CHECK_FALSE(wire::decode_header(bad));
  }
  for (const char kind : {'\0', '\x05', '\xFF'}) {
    std::string bad = good;
    bad[4] = kind;
    CHECK_FALSE(wire::decode_header(bad));
  }
  std::string oversized = good;
  oversized[11] = '\x7F';  // the length's highest byte: two thousand megabytes
  CHECK_FALSE(wire::decode_header(oversized));
}

TEST_CASE("more values than fit a frame go into several", "[engine][protocol]") {
  wire::Reply reply;
  reply.outcome = wire::Outcome::solved;
  for (std::size_t k = 0; k < wire::kMaxFrameValues + 3; ++k)
    reply.values.push_back(static_cast<double>(k));
  const std::string first = wire::encode(reply);
  // What the session refuses to read must not be sent.
  CHECK(first.size() <= wire::kHeaderBytes + wire::kMaxPayloadBytes);
  const auto head = wire::decode_reply(payload_of(first));
  REQUIRE(head);
  CHECK(head->values.size() == wire::kMaxFrameValues);
  CHECK(head->more == 3);
  const auto rest = std::span<const double>(reply.values).last(3);
  const std::string second = wire::encode_more(rest);
  CHECK(wire::decode_header(second.substr(0, wire::kHeaderBytes))->kind ==
        wire::FrameKind::more);
  const auto tail = wire::decode_more(payload_of(second));
  REQUIRE(tail);
  CHECK(*tail == std::vector<double>(rest.begin(), rest.end()));

  // One value more than a frame may hold is none of ours.
  const std::string full = wire::encode_more(
      std::span<const double>(reply.values).first(wire::kMaxFrameValues + 1));
  CHECK_FALSE(wire::decode_more(payload_of(full)));
}

TEST_CASE("a truncated or overlong payload is refused", "[engine][protocol]") {
  for (const wire::Request& sample : {sample_request(), sample_change()}) {
    const std::string request = payload_of(wire::encode(sample));
    for (std::size_t length = 0; length < request.size(); ++length) {
      CAPTURE(length);
      CHECK_FALSE(wire::decode_request(request.substr(0, length)));
    }
    CHECK_FALSE(wire::decode_request(request + '\0'));
  }

  const std::string reply = payload_of(wire::encode(sample_reply()));
  for (std::size_t length = 0; length < reply.size(); ++length) {
    CAPTURE(length);
    CHECK_FALSE(wire::decode_reply(reply.substr(0, length)));
  }
  CHECK_FALSE(wire::decode_reply(reply + '\0'));

  const std::string more = payload_of(wire::encode_more(std::vector<double>{1.0, 2.0}));
  for (std::size_t length = 0; length < more.size(); ++length) {
    CAPTURE(length);
    CHECK_FALSE(wire::decode_more(more.substr(0, length)));
  }
  CHECK_FALSE(wire::decode_more(more + '\0'));

  const std::string hello = payload_of(wire::encode(wire::Hello{true, true, "why"}));
  for (std::size_t length = 0; length < hello.size(); ++length) {
    CAPTURE(length);
    CHECK_FALSE(wire::decode_hello(hello.substr(0, length)));
  }
  CHECK_FALSE(wire::decode_hello(hello + '\0'));
}

TEST_CASE("a count is not believed without its bytes", "[engine][protocol]") {
  // An analysis, then a deck that claims four thousand million lines.
  CHECK_FALSE(wire::decode_request(std::string("\x01\0\0\0\xFF\xFF\xFF\xFF", 8)));
  CHECK_FALSE(wire::decode_reply(std::string("\x01\0\0\0\xFF\xFF\xFF\x7F", 8)));
  CHECK_FALSE(
      wire::decode_hello(std::string("\x01\0\0\0\x01\0\0\0\xFF\xFF\xFF\xFF", 12)));
}

TEST_CASE("a change is of an element that can change, to a value that can be",
          "[engine][protocol]") {
  const auto decoded = [](const std::string& element, double value,
                          std::vector<std::string> deck = {}) {
    wire::Request request = sample_change();
    request.deck = std::move(deck);
    request.changes = {{"r1", 1.0}, {element, value}};
    return wire::decode_request(payload_of(wire::encode(request)));
  };
  for (const char* good : {"r2", "v1", "i20", "r123456789012345"}) {
    CAPTURE(good);
    CHECK(decoded(good, 0.0));
  }
  for (const char* bad : {"", "r", "R1", "rm1", "b1", "d1", "r1 ", " r1", "r1\nshell",
                          "r1;quit", "1r", "@r1[i]", "r-1", "r1234567890123456"}) {
    CAPTURE(bad);
    CHECK_FALSE(decoded(bad, 1.0));
  }
  for (const double bad : {std::numeric_limits<double>::infinity(),
                           -std::numeric_limits<double>::infinity(),
                           std::numeric_limits<double>::quiet_NaN()})
    CHECK_FALSE(decoded("r2", bad));
  // Either a deck or changes.
  CHECK_FALSE(decoded("r2", 1.0, {"title", ".end"}));
  // No circuit is held for a transient.
  wire::Request in_time = sample_change();
  in_time.analysis = wire::Analysis::transient;
  CHECK_FALSE(wire::decode_request(payload_of(encode(in_time))));
}

TEST_CASE("flags and enumerators have no other values", "[engine][protocol]") {
  std::string hello = payload_of(wire::encode(wire::Hello{true, true, ""}));
  hello[0] = 2;
  CHECK_FALSE(wire::decode_hello(hello));
  for (const char value : {'\0', '\x05'}) {
    std::string reply = payload_of(wire::encode(sample_reply()));
    reply[0] = value;
    CHECK_FALSE(wire::decode_reply(reply));
  }
  for (const char value : {'\0', '\x03'}) {
    std::string request = payload_of(wire::encode(sample_request()));
    request[0] = value;
    CHECK_FALSE(wire::decode_request(request));
  }
}

TEST_CASE("garbled payloads are refused or mean what they say", "[engine][protocol]") {
  const std::uint32_t seed = std::random_device{}();
  CAPTURE(seed);
  std::mt19937 random(seed);
  const std::string request = payload_of(wire::encode(sample_request()));
  const std::string change = payload_of(wire::encode(sample_change()));
  const std::string reply = payload_of(wire::encode(sample_reply()));
  int refused = 0;
  for (int round = 0; round < 20'000; ++round) {
    std::string bad = round % 3 == 0 ? request : round % 3 == 1 ? change : reply;
    for (int flips = 1 + static_cast<int>(random() % 3); flips > 0; --flips) {
      bad[random() % bad.size()] = static_cast<char>(random());
    }
    const auto as_request = wire::decode_request(bad);
    const auto as_reply = wire::decode_reply(bad);
    const auto as_hello = wire::decode_hello(bad);
    REQUIRE(is_refused_or_canonical(as_request, bad));
    REQUIRE(is_refused_or_canonical(as_reply, bad));
    REQUIRE(is_refused_or_canonical(as_hello, bad));
    if (!as_request && !as_reply && !as_hello) ++refused;
  }
  CHECK(refused > 1000);
}
