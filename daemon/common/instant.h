// Instants and spans of time, always UTC, in whole milliseconds. Time is passed in as an argument
// here, never read from a clock.
#pragma once

#include <chrono>
#include <cstdint>
#include <limits>
#include <string>
#include <string_view>

#include "common/result.h"

namespace plainwater {

using Span = std::chrono::milliseconds;
using Instant = std::chrono::sys_time<Span>;

using std::chrono::hours;
using std::chrono::milliseconds;
using std::chrono::minutes;
using std::chrono::seconds;
inline constexpr Span kDay = hours(24);

/// Before anything that can happen; sorts first.
inline constexpr Instant kNever{Span(std::numeric_limits<std::int64_t>::min())};
/// After anything that can happen; sorts last.
inline constexpr Instant kForever{Span(std::numeric_limits<std::int64_t>::max())};

constexpr Instant from_ms(std::int64_t ms_since_1970) { return Instant(Span(ms_since_1970)); }
constexpr std::int64_t to_ms(Instant t) { return t.time_since_epoch().count(); }
constexpr Instant from_seconds(std::int64_t s_since_1970) {
  return Instant(Span(s_since_1970 * 1000));
}
/// Whole seconds since 1970, rounded towards the past.
constexpr std::int64_t to_seconds(Instant t) {
  return std::chrono::floor<seconds>(t).time_since_epoch().count();
}
constexpr double days_of(Span s) { return static_cast<double>(s.count()) / 86'400'000.0; }
constexpr double hours_of(Span s) { return static_cast<double>(s.count()) / 3'600'000.0; }
/// A whole number of milliseconds from a number of days; `days` within ±1e8.
constexpr Span from_days(double days) {
  return Span(static_cast<std::int64_t>(days * 86'400'000.0 + (days < 0 ? -0.5 : 0.5)));
}

/// RFC 3339 date and time with `Z` or an offset, fraction optional ("2026-09-14T05:31:00.250Z").
/// Years 0001 to 9999; a leap second (:60) reads as the second after. Errors name the character at
/// fault.
Result<Instant> parse_rfc3339(std::string_view text);
/// The same without an error text, for the rehearsal's hot path; false when malformed.
bool parse_rfc3339_into(std::string_view text, Instant& out) noexcept;
/// "2026-09-14T05:31:00Z"; milliseconds only when they are not zero.
std::string format_rfc3339(Instant t);
/// "2026-09-14", the UTC date.
std::string format_date(Instant t);

}  // namespace plainwater
