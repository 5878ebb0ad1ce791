// One list of fields serves saving and loading. A state struct offers
//   template <class Archive> void fields(Archive& a) { a(this->x); a(this->y); }
// and Saver, Loader and Shifter all use it, so saving, loading and setting the time back always
// cover the same fields. A day number is passed as `a.day(x)`, a map keyed by day numbers as
// `a.by_day(x)`. A field that older bytes lack asks `a.version()` first.
#pragma once

#include <concepts>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <type_traits>
#include <utility>
#include <vector>

#include "common/bytes.h"
#include "common/instant.h"

namespace plainwater {

template <class T, class Archive>
concept HasFields = requires(T& t, Archive& a) { t.fields(a); };

/// Of bytes that have all fields of today.
inline constexpr std::uint32_t kThisVersion = 0xffff'ffff;

class Saver {
 public:
  explicit Saver(ByteWriter& out) : out_(out) {}
  static constexpr std::uint32_t version() { return kThisVersion; }

  template <class T>
  void operator()(T& value) {
    if constexpr (std::is_enum_v<T>) {
      out_.put(static_cast<std::underlying_type_t<T>>(value));
    } else if constexpr (HasFields<T, Saver>) {
      value.fields(*this);
    } else {
      out_.put(value);
    }
  }
  template <class T>
  void operator()(std::optional<T>& value) {
    out_.put(value.has_value());
    if (value) (*this)(*value);
  }
  template <class T>
  void operator()(std::vector<T>& values) {
    out_.put(static_cast<std::uint32_t>(values.size()));
    for (T& value : values) (*this)(value);
  }
  template <class K, class V>
  void operator()(std::map<K, V>& values) {
    out_.put(static_cast<std::uint32_t>(values.size()));
    for (auto& [key, value] : values) {
      K copy = key;
      (*this)(copy);
      (*this)(value);
    }
  }
  void day(std::int64_t& number) { (*this)(number); }
  template <class V>
  void by_day(std::map<std::int64_t, V>& values) {
    (*this)(values);
  }

 private:
  ByteWriter& out_;
};

class Loader {
 public:
  /// `version`: of the bytes that are read, for those that lack some of today's fields.
  explicit Loader(ByteReader& in, std::uint32_t version = kThisVersion)
      : in_(in), version_(version) {}
  std::uint32_t version() const { return version_; }

  template <class T>
  void operator()(T& value) {
    if constexpr (std::is_enum_v<T>) {
      std::underlying_type_t<T> bits{};
      in_.get(bits);
      value = static_cast<T>(bits);
    } else if constexpr (HasFields<T, Loader>) {
      value.fields(*this);
    } else {
      in_.get(value);
    }
  }
  template <class T>
  void operator()(std::optional<T>& value) {
    bool present = false;
    in_.get(present);
    value.reset();
    if (present) (*this)(value.emplace());
  }
  template <class T>
  void operator()(std::vector<T>& values) {
    values.resize(in_.get_count());
    for (T& value : values) (*this)(value);
  }
  template <class K, class V>
  void operator()(std::map<K, V>& values) {
    values.clear();
    for (std::size_t n = in_.get_count(); n > 0; --n) {
      K key{};
      (*this)(key);
      (*this)(values[key]);
    }
  }
  void day(std::int64_t& number) { (*this)(number); }
  template <class V>
  void by_day(std::map<std::int64_t, V>& values) {
    (*this)(values);
  }

 private:
  ByteReader& in_;
  std::uint32_t version_;
};

/// Moves all times of a state back by one span, and its day numbers by `days`. Values that mean "no
/// time" (kNever, kForever, 1970 itself, numbers below 0) do not change.
class Shifter {
 public:
  Shifter(Span by, std::int64_t days) : by_(by), days_(days) {}
  static constexpr std::uint32_t version() { return kThisVersion; }

  template <class T>
  void operator()(T& value) {
    if constexpr (std::same_as<T, Instant>) {
      if (value != kNever && value != kForever && value != Instant{}) value -= by_;
    } else if constexpr (HasFields<T, Shifter>) {
      value.fields(*this);
    } else {
      static_assert(std::is_arithmetic_v<T> || std::is_enum_v<T> || std::same_as<T, std::string>,
                    "this may hold a time: give it fields");
    }
  }
  template <class T>
  void operator()(std::optional<T>& value) {
    if (value) (*this)(*value);
  }
  template <class T>
  void operator()(std::vector<T>& values) {
    for (T& value : values) (*this)(value);
  }
  template <class K, class V>
  void operator()(std::map<K, V>& values) {
    static_assert(!std::same_as<K, Instant>, "its keys would have to move");
    for (auto& [key, value] : values) (*this)(value);
  }
  void day(std::int64_t& number) const {
    if (number > 0) number -= days_;
  }
  template <class V>
  void by_day(std::map<std::int64_t, V>& values) {
    std::map<std::int64_t, V> moved;
    for (auto& [number, value] : values) {
      (*this)(value);
      moved.emplace(number - days_, std::move(value));
    }
    values = std::move(moved);
  }

 private:
  Span by_;
  std::int64_t days_;
};

}  // namespace plainwater
