// When waterings are due, and the time carried by messages of a house that is played fast.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "common/instant.h"

namespace plainwater::pump {

/// Marks at whole multiples of `every` since 1970, shifted by `offset`. `every` is at least a
/// millisecond.
class Schedule {
 public:
  Schedule(Span every, Span offset, bool catch_up)
      : every_(every), offset_(offset), catch_up_(catch_up) {}

  /// Marks passed since the previous call, in order; the first call only sets the start. Without
  /// `catch_up` a sleep over several marks returns only the last: pots that missed a watering do
  /// not get two. A clock set back never repeats a mark.
  std::vector<Instant> due(Instant now);

 private:
  Span every_, offset_;
  bool catch_up_;
  std::optional<Instant> last_;  ///< newest mark passed
};

/// A field of a JSON object as RFC 3339 text or seconds since 1970; none when missing. `field` is a
/// key, or a JSON Pointer when it begins with a slash.
std::optional<Instant> time_in(std::string_view json, std::string_view field);

}  // namespace plainwater::pump
