#include "spice/worker/protocol.h"

#include <bit>

namespace benchproof::wire {
namespace {

constexpr std::string_view kMagic = "BPW\x01";  // the last byte is the version

class Writer {
 public:
  explicit Writer(FrameKind kind) {
    bytes_.append(kMagic);
    number(static_cast<std::uint32_t>(kind));
    number(std::uint32_t{0});  // the payload's length, known at the end
  }

  template <typename Unsigned>
  void number(Unsigned value) {
    for (std::size_t byte = 0; byte < sizeof(Unsigned); ++byte) {
      bytes_.push_back(static_cast<char>((value >> (8 * byte)) & 0xFFU));
    }
  }

  void text(std::string_view value) {
    number(static_cast<std::uint32_t>(value.size()));
    bytes_.append(value);
  }

  void texts(const std::vector<std::string>& values) {
    number(static_cast<std::uint32_t>(values.size()));
    for (const std::string& value : values) text(value);
  }

  std::string frame() {
    const auto length = static_cast<std::uint32_t>(bytes_.size() - kHeaderBytes);
    for (std::size_t byte = 0; byte < 4; ++byte) {
      bytes_[kHeaderBytes - 4 + byte] =
          static_cast<char>((length >> (8 * byte)) & 0xFFU);
    }
    return std::move(bytes_);
  }

 private:
  std::string bytes_;
};

// Reads from the front of `rest`; after the first failure everything reads as zero or
// empty, and `is_whole` is false.
class Reader {
 public:
  explicit Reader(std::string_view bytes) : rest_(bytes) {}

  template <typename Unsigned>
  Unsigned number() {
    if (rest_.size() < sizeof(Unsigned)) {
      fail();
      return 0;
    }
    Unsigned value = 0;
    for (std::size_t byte = 0; byte < sizeof(Unsigned); ++byte) {
      const Unsigned digit = static_cast<unsigned char>(rest_[byte]);
      value |= digit << (8 * byte);
    }
    rest_.remove_prefix(sizeof(Unsigned));
    return value;
  }

  // A count of items that take at least `item_bytes` each.
  std::size_t count(std::size_t item_bytes) {
    const auto items = number<std::uint32_t>();
    if (items > rest_.size() / item_bytes) {
      fail();
      return 0;
    }
    return items;
  }

  std::string text() {
    const std::size_t length = count(1);
    std::string value(rest_.substr(0, length));
    rest_.remove_prefix(length);
    return value;
  }

  std::vector<std::string> texts() {
    std::vector<std::string> values(count(sizeof(std::uint32_t)));
    for (std::string& value : values) value = text();
    return values;
  }

  bool flag() {
    const auto value = number<std::uint32_t>();
    if (value > 1) fail();
    return value == 1;
  }

  // An enumerator from 1 to `last`.
  template <typename Enum>
  Enum choice(Enum last) {
    const auto value = number<std::uint32_t>();
    if (value < 1 || value > static_cast<std::uint32_t>(last)) fail();
    return static_cast<Enum>(value);
  }

  [[nodiscard]] bool is_whole() const { return !has_failed_ && rest_.empty(); }

 private:
  void fail() {
    has_failed_ = true;
    rest_ = {};
  }

  std::string_view rest_;
  bool has_failed_ = false;
};

}  // namespace

std::string encode(const Hello& hello) {
  Writer writer(FrameKind::hello);
  writer.number(std::uint32_t{hello.is_sealed});
  writer.number(std::uint32_t{hello.is_engine_ready});
  writer.text(hello.detail);
  return writer.frame();
}

std::string encode(const Request& request) {
  Writer writer(FrameKind::request);
  writer.number(static_cast<std::uint32_t>(request.analysis));
  writer.texts(request.deck);
  writer.texts(request.vectors);
  return writer.frame();
}

std::string encode(const Reply& reply) {
  Writer writer(FrameKind::reply);
  writer.number(static_cast<std::uint32_t>(reply.outcome));
  writer.number(static_cast<std::uint32_t>(reply.values.size()));
  for (const double value : reply.values) {
    writer.number(std::bit_cast<std::uint64_t>(value));
  }
  writer.number(reply.heap_bytes);
  writer.text(reply.message);
  return writer.frame();
}

std::optional<FrameHeader> decode_header(std::string_view bytes) {
  if (bytes.size() != kHeaderBytes || !bytes.starts_with(kMagic)) return std::nullopt;
  Reader reader(bytes.substr(kMagic.size()));
  FrameHeader header;
  header.kind = reader.choice(FrameKind::reply);
  header.payload_bytes = reader.number<std::uint32_t>();
  if (!reader.is_whole() || header.payload_bytes > kMaxPayloadBytes) {
    return std::nullopt;
  }
  return header;
}

std::optional<Hello> decode_hello(std::string_view payload) {
  Reader reader(payload);
  Hello hello;
  hello.is_sealed = reader.flag();
  hello.is_engine_ready = reader.flag();
  hello.detail = reader.text();
  if (!reader.is_whole()) return std::nullopt;
  return hello;
}

std::optional<Request> decode_request(std::string_view payload) {
  Reader reader(payload);
  Request request;
  request.analysis = reader.choice(Analysis::operating_point);
  request.deck = reader.texts();
  request.vectors = reader.texts();
  if (!reader.is_whole()) return std::nullopt;
  return request;
}

std::optional<Reply> decode_reply(std::string_view payload) {
  Reader reader(payload);
  Reply reply;
  reply.outcome = reader.choice(Outcome::leaving);
  reply.values.resize(reader.count(sizeof(std::uint64_t)));
  for (double& value : reply.values) {
    value = std::bit_cast<double>(reader.number<std::uint64_t>());
  }
  reply.heap_bytes = reader.number<std::uint64_t>();
  reply.message = reader.text();
  if (!reader.is_whole()) return std::nullopt;
  return reply;
}

}  // namespace benchproof::wire
