// One list of fields serves saving and loading. A state struct offers
//   template <class Archive> void fields(Archive& a) { a(this->x); a(this->y); }
// and Saver and Loader walk it; so what is saved and what is restored cannot drift apart.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <type_traits>
#include <vector>

#include "common/bytes.h"

namespace plainwater {

template <class T, class Archive>
concept HasFields = requires(T& t, Archive& a) { t.fields(a); };

class Saver {
 public:
  explicit Saver(ByteWriter& out) : out_(out) {}

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

 private:
  ByteWriter& out_;
};

class Loader {
 public:
  explicit Loader(ByteReader& in) : in_(in) {}

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

 private:
  ByteReader& in_;
};

}  // namespace plainwater
