// When waterings are due, and the time in the messages of a house that is played fast.
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

  /// Marks passed since the call before, in order; the first call only sets the beginning. Without
  /// `catch_up` a sleep over several marks gives the last one only: pots that missed a watering do
  /// not get two. A clock set back gives none twice.
  std::vector<Instant> due(Instant now);

 private:
  Span every_, offset_;
  bool catch_up_;
  std::optional<Instant> last_;  ///< newest mark that has passed
};

/// The RFC 3339 text, or the seconds since 1970, of that field of a JSON object; none when there is
/// none. The field is a key, or a JSON Pointer when it begins with a slash.
std::optional<Instant> time_in(std::string_view json, std::string_view field);

}  // namespace plainwater::pump
