// Little-endian bytes for snapshots. Integers are written whole and doubles as their bits, so that
// equal states give equal bytes.
#pragma once

#include <bit>
#include <concepts>
#include <cstdint>
#include <cstring>
#include <string>
#include <string_view>

#include "common/instant.h"

namespace plainwater {

class ByteWriter {
 public:
  template <std::integral T>
  void put(T value) {
    using U = std::make_unsigned_t<std::conditional_t<std::same_as<T, bool>, std::uint8_t, T>>;
    auto bits = static_cast<std::uint64_t>(static_cast<U>(value));
    for (std::size_t i = 0; i < sizeof(T); ++i, bits >>= 8)
      bytes_ += static_cast<char>(bits & 0xff);
  }
  void put(double value) { put(std::bit_cast<std::uint64_t>(value)); }
  void put(Instant t) { put(to_ms(t)); }
  void put(std::string_view text) {
    put(static_cast<std::uint32_t>(text.size()));
    bytes_ += text;
  }
  std::string take() { return std::move(bytes_); }

 private:
  std::string bytes_;
};

/// Reads what ByteWriter wrote. Past the end it returns zeros and `ok()` turns false; check that
/// once at the end.
class ByteReader {
 public:
  explicit ByteReader(std::string_view bytes) : bytes_(bytes) {}
  bool ok() const { return ok_; }
  bool at_end() const { return bytes_.empty(); }

  template <std::integral T>
  void get(T& value) {
    if (bytes_.size() < sizeof(T)) {
      ok_ = false;
      bytes_ = {};
      value = T{};
      return;
    }
    std::uint64_t bits = 0;
    for (std::size_t i = 0; i < sizeof(T); ++i)
      bits |= static_cast<std::uint64_t>(static_cast<unsigned char>(bytes_[i])) << (8 * i);
    value = static_cast<T>(bits);
    bytes_.remove_prefix(sizeof(T));
  }
  void get(double& value) {
    std::uint64_t bits = 0;
    get(bits);
    value = std::bit_cast<double>(bits);
  }
  void get(Instant& t) {
    std::int64_t ms = 0;
    get(ms);
    t = from_ms(ms);
  }
  void get(std::string& text) {
    std::uint32_t size = 0;
    get(size);
    if (bytes_.size() < size) {
      ok_ = false;
      bytes_ = {};
      text.clear();
      return;
    }
    text.assign(bytes_.substr(0, size));
    bytes_.remove_prefix(size);
  }
  /// A count of things that take at least one byte each. Checked against the bytes left, so that a
  /// damaged snapshot cannot make us allocate gigabytes.
  std::size_t get_count() {
    std::uint32_t n = 0;
    get(n);
    if (n > bytes_.size()) {
      ok_ = false;
      bytes_ = {};
      return 0;
    }
    return n;
  }

 private:
  std::string_view bytes_;
  bool ok_ = true;
};

/// FNV-1a: detects damage and changes. It is no protection against anyone who means harm.
constexpr std::uint64_t checksum(std::string_view bytes) {
  std::uint64_t sum = 14695981039346656037u;
  for (const char c : bytes) sum = (sum ^ static_cast<unsigned char>(c)) * 1099511628211u;
  return sum;
}

}  // namespace plainwater
