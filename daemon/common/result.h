// A value or an error: the return type of everything that the world can make fail.
#pragma once

#include <string>
#include <utility>
#include <variant>

namespace plainwater {

/// What was wrong, where, and what to do about it; each part may be empty.
struct Error {
  std::string what;    ///< "expected a number from -90 to 90, found \"north\""
  std::string where;   ///< "greenhouse.yaml:4: site.latitude"
  std::string remedy;  ///< "give the latitude in degrees, north positive"

  std::string message() const {
    std::string text = where.empty() ? what : where + ": " + what;
    return remedy.empty() ? text : text + "; " + remedy;
  }
};

/// Either a T or an Error. Calling `value()` on an error is a bug in the caller.
template <class T>
class [[nodiscard]] Result {
 public:
  Result(T value)
      : held_(std::in_place_index<0>, std::move(value)) {}  // NOLINT: implicit on purpose
  Result(Error error)
      : held_(std::in_place_index<1>, std::move(error)) {}  // NOLINT: implicit on purpose

  explicit operator bool() const { return held_.index() == 0; }
  T& value() & { return std::get<0>(held_); }
  const T& value() const& { return std::get<0>(held_); }
  T&& value() && { return std::get<0>(std::move(held_)); }
  T& operator*() & { return value(); }
  const T& operator*() const& { return value(); }
  T* operator->() { return &value(); }
  const T* operator->() const { return &value(); }
  const Error& error() const { return std::get<1>(held_); }

 private:
  std::variant<T, Error> held_;
};

/// Success without a value.
struct Done {};
using Status = Result<Done>;

}  // namespace plainwater
