#include "common/instant.h"

#include <cstdio>

#include "common/quoted.h"

namespace plainwater {
namespace {

using std::chrono::day;
using std::chrono::month;
using std::chrono::sys_days;
using std::chrono::year;
using std::chrono::year_month_day;

constexpr Instant kFirst = from_seconds(-62'135'596'800);                     // 0001-01-01
constexpr Instant kLast = from_seconds(253'402'300'799) + milliseconds(999);  // 9999-12-31

constexpr bool digit(char c) { return c >= '0' && c <= '9'; }

/// `count` digits at `text[at]` as a number, or -1.
int digits(std::string_view text, std::size_t at, std::size_t count) {
  if (at + count > text.size()) return -1;
  int value = 0;
  for (std::size_t i = at; i < at + count; ++i) {
    if (!digit(text[i])) return -1;
    value = value * 10 + (text[i] - '0');
  }
  return value;
}

bool char_at(std::string_view text, std::size_t at, char a, char b) {
  return at < text.size() && (text[at] == a || text[at] == b);
}

/// The position of the first fault, or npos when `out` holds the instant.
std::size_t parse_at(std::string_view t, Instant& out) {
  const int y = digits(t, 0, 4), mo = digits(t, 5, 2), d = digits(t, 8, 2), h = digits(t, 11, 2),
            mi = digits(t, 14, 2), s = digits(t, 17, 2);
  if (y < 1) return 0;
  if (!char_at(t, 4, '-', '-') || mo < 1 || mo > 12) return 4;
  if (!char_at(t, 7, '-', '-') || d < 1) return 7;
  const year_month_day date{year(y), month(static_cast<unsigned>(mo)),
                            day(static_cast<unsigned>(d))};
  if (!date.ok()) return 8;
  if (!char_at(t, 10, 'T', 't') && !char_at(t, 10, ' ', ' ')) return 10;
  if (h < 0 || h > 23) return 11;
  if (!char_at(t, 13, ':', ':') || mi < 0 || mi > 59) return 13;
  if (!char_at(t, 16, ':', ':') || s < 0 || s > 60) return 16;
  std::size_t at = 19;
  int ms = 0;
  if (char_at(t, at, '.', '.')) {
    std::size_t places = 0;
    for (++at; at < t.size() && digit(t[at]); ++at, ++places)
      if (places < 3) ms = ms * 10 + (t[at] - '0');
    if (places == 0) return at;
    for (; places < 3; ++places) ms *= 10;
  }
  int offset_min = 0;
  if (char_at(t, at, 'Z', 'z')) {
    ++at;
  } else {
    if (!char_at(t, at, '+', '-')) return at;
    const int oh = digits(t, at + 1, 2), om = digits(t, at + 4, 2);
    if (oh < 0 || oh > 23 || !char_at(t, at + 3, ':', ':') || om < 0 || om > 59) return at;
    offset_min = (oh * 60 + om) * (t[at] == '-' ? -1 : 1);
    at += 6;
  }
  if (at != t.size()) return at;
  out =
      Instant(sys_days(date)) + hours(h) + minutes(mi - offset_min) + seconds(s) + milliseconds(ms);
  // An offset or a leap second can lead to a year that cannot be written and read back.
  if (out < kFirst || out > kLast) return 0;
  return std::string_view::npos;
}

year_month_day date_of(Instant t) {
  return year_month_day(std::chrono::floor<std::chrono::days>(t));
}

}  // namespace

bool parse_rfc3339_into(std::string_view text, Instant& out) noexcept {
  return parse_at(text, out) == std::string_view::npos;
}

Result<Instant> parse_rfc3339(std::string_view text) {
  Instant t;
  const std::size_t fault = parse_at(text, t);
  if (fault == std::string_view::npos) return t;
  return Error{
      "not an RFC 3339 time at character " + std::to_string(fault + 1) + ": " + quoted(text), "",
      "write it like 2026-09-14T05:31:00Z"};
}

std::string format_date(Instant t) {
  const auto d = date_of(t);
  char text[32];
  std::snprintf(text, sizeof text, "%04d-%02u-%02u", static_cast<int>(d.year()),
                static_cast<unsigned>(d.month()), static_cast<unsigned>(d.day()));
  return text;
}

std::string format_rfc3339(Instant t) {
  const auto midnight = std::chrono::floor<std::chrono::days>(t);
  const auto ms = (t - midnight).count();
  char text[48];
  const int n =
      std::snprintf(text, sizeof text, "T%02d:%02d:%02d", static_cast<int>(ms / 3'600'000),
                    static_cast<int>(ms / 60'000 % 60), static_cast<int>(ms / 1000 % 60));
  if (ms % 1000 != 0)
    std::snprintf(text + n, sizeof text - static_cast<std::size_t>(n), ".%03d",
                  static_cast<int>(ms % 1000));
  return format_date(t) + text + "Z";
}

}  // namespace plainwater
