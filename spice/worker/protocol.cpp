#include "spice/worker/protocol.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>

#include "core/base/pages.h"

namespace benchproof::wire {
namespace {

constexpr std::string_view kMagic = "BPW\x03";  // the last byte is the version

class Writer {
 public:
  explicit Writer(FrameKind kind) {
    bytes_.append(kMagic);
    number(static_cast<std::uint32_t>(kind));
    number(std::uint32_t{0});  // the payload's length, known at the end
  }

  template <typename Unsigned>
  void number(Unsigned value) {
    std::array<char, sizeof(Unsigned)> bytes;
    for (std::size_t byte = 0; byte < sizeof(Unsigned); ++byte) {
      bytes[byte] = static_cast<char>((value >> (8 * byte)) & 0xFFU);
    }
    bytes_.append(bytes.data(), bytes.size());
  }

  void real(double value) { number(std::bit_cast<std::uint64_t>(value)); }

  void reals(std::span<const double> values) {
    const std::size_t bytes =
        bytes_.size() + (values.size() + 8) * sizeof(std::uint64_t);
    reserve_at_once(bytes_, bytes, bytes);
    number(static_cast<std::uint32_t>(values.size()));
    for (const double value : values) real(value);
  }

  void text(std::string_view value) {
    number(static_cast<std::uint32_t>(value.size()));
    bytes_.append(value);
  }

  void texts(const std::vector<std::string>& values) {
    number(static_cast<std::uint32_t>(values.size()));
    for (const std::string& value : values) text(value);
  }

  void changes(const std::vector<Change>& values) {
    number(static_cast<std::uint32_t>(values.size()));
    for (const Change& change : values) {
      text(change.element);
      real(change.value);
    }
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

  double real() { return std::bit_cast<double>(number<std::uint64_t>()); }

  std::vector<double> reals() {
    std::size_t items = count(sizeof(std::uint64_t));
    if (items > kMaxFrameValues) {
      fail();
      items = 0;
    }
    std::vector<double> values;
    reserve_at_once(values, items, items);
    while (values.size() < items) values.push_back(real());
    return values;
  }

  std::vector<std::string> texts() {
    std::vector<std::string> values(count(sizeof(std::uint32_t)));
    for (std::string& value : values) value = text();
    return values;
  }

  std::vector<Change> changes() {
    constexpr std::size_t kLeastBytes = sizeof(std::uint32_t) + sizeof(std::uint64_t);
    std::vector<Change> values(count(kLeastBytes));
    for (Change& change : values) {
      change.element = text();
      change.value = real();
      if (!can_change(change.element) || !std::isfinite(change.value)) fail();
    }
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

bool can_change(std::string_view element) {
  constexpr std::size_t kMostBytes = 16;
  return element.size() > 1 && element.size() <= kMostBytes &&
         std::string_view("rvi").find(element[0]) != std::string_view::npos &&
         element.find_first_not_of("0123456789", 1) == std::string_view::npos;
}

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
  writer.real(request.span);
  writer.changes(request.changes);
  return writer.frame();
}

std::string encode(const Reply& reply) {
  Writer writer(FrameKind::reply);
  writer.number(static_cast<std::uint32_t>(reply.outcome));
  const std::span<const double> values(reply.values);
  const std::size_t here = std::min(values.size(), kMaxFrameValues);
  writer.reals(values.first(here));
  writer.number(reply.heap_bytes);
  writer.text(reply.message);
  writer.real(reply.reached);
  writer.number(std::uint32_t{reply.is_held});
  writer.number(reply.more + (values.size() - here));
  return writer.frame();
}

std::string encode_more(std::span<const double> values) {
  Writer writer(FrameKind::more);
  writer.reals(values);
  return writer.frame();
}

std::optional<FrameHeader> decode_header(std::string_view bytes) {
  if (bytes.size() != kHeaderBytes || !bytes.starts_with(kMagic)) return std::nullopt;
  Reader reader(bytes.substr(kMagic.size()));
  FrameHeader header;
  header.kind = reader.choice(FrameKind::more);
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
  request.analysis = reader.choice(Analysis::transient);
  request.deck = reader.texts();
  request.vectors = reader.texts();
  request.span = reader.real();
  request.changes = reader.changes();
  if (!reader.is_whole()) return std::nullopt;
  if (request.deck.empty() ? request.analysis != Analysis::operating_point
                           : !request.changes.empty())
    return std::nullopt;
  return request;
}

std::optional<Reply> decode_reply(std::string_view payload) {
  Reader reader(payload);
  Reply reply;
  reply.outcome = reader.choice(Outcome::too_large);
  reply.values = reader.reals();
  reply.heap_bytes = reader.number<std::uint64_t>();
  reply.message = reader.text();
  reply.reached = reader.real();
  reply.is_held = reader.flag();
  reply.more = reader.number<std::uint64_t>();
  if (!reader.is_whole()) return std::nullopt;
  return reply;
}

std::optional<std::vector<double>> decode_more(std::string_view payload) {
  Reader reader(payload);
  std::vector<double> values = reader.reals();
  if (!reader.is_whole()) return std::nullopt;
  return values;
}

}  // namespace benchproof::wire
