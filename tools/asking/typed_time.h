// A date, a time of day or both, as a person typed them, before they mean a moment.
#pragma once

#include <optional>
#include <string_view>

#include "common/instant.h"
#include "common/result.h"

namespace plainwater::asking {

struct TypedTime {
  std::optional<int> year;       ///< four figures
  std::optional<int> month;      ///< 1 to 12, always with `day`
  std::optional<int> day;        ///< 1 to 31
  std::optional<int> days_off;   ///< instead of a date: 0 today, -1 yesterday, 1 tomorrow
  std::optional<int> weekday;    ///< instead of a date: 0 Sunday to 6 Saturday
  std::optional<Span> clock;     ///< since midnight on the clock
  std::optional<Span> from_now;  ///< "in 2 weeks", "3 h ago": nothing else then
  bool now = false;              ///< nothing else then
};

/// "18:30", "yesterday 18:30", "friday", "in 2 weeks", "3 h ago", "2026-10-12", "2026-10-12 18:30",
/// "12 Oct", "Oct 12 2026 18:30", "12.10.2026" where only one order of day and month is possible.
/// An error says what to write.
Result<TypedTime> read_typed_time(std::string_view text);

}  // namespace plainwater::asking
