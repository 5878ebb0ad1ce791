#include "outlet/local_time.h"

#include <date/tz.h>

#include <cstdio>
#include <exception>

namespace plainwater::outlet {
namespace {

struct Parts {
  ::date::year_month_day day;
  ::date::hh_mm_ss<seconds> clock;
};

Parts parts(const ::date::time_zone* zone, Instant t) {
  const auto local = std::chrono::floor<seconds>(zone->to_local(t));
  const auto midnight = ::date::floor<::date::days>(local);
  return {::date::year_month_day(midnight), ::date::hh_mm_ss<seconds>(local - midnight)};
}

}  // namespace

Result<LocalTime> LocalTime::of(std::string_view zone_name) {
  try {
    return LocalTime(::date::locate_zone(std::string(zone_name)));
  } catch (const std::exception& e) {
    return Error{
        "no time zone \"" + std::string(zone_name) + "\" on this machine (" + e.what() + ")",
        "site.time_zone", "give an IANA name such as Europe/London and install the tzdata package"};
  }
}

std::chrono::year_month_day LocalTime::day(Instant t) const {
  const auto shown = parts(zone_, t).day;
  return {std::chrono::year(static_cast<int>(shown.year())),
          std::chrono::month(static_cast<unsigned>(shown.month())),
          std::chrono::day(static_cast<unsigned>(shown.day()))};
}

std::string LocalTime::date(Instant t) const {
  const auto day = parts(zone_, t).day;
  char text[32];
  std::snprintf(text, sizeof text, "%04d-%02u-%02u", static_cast<int>(day.year()),
                static_cast<unsigned>(day.month()), static_cast<unsigned>(day.day()));
  return text;
}

std::string LocalTime::date_time(Instant t) const {
  const auto clock = parts(zone_, t).clock;
  char text[16];
  std::snprintf(text, sizeof text, " %02d:%02d", static_cast<int>(clock.hours().count()),
                static_cast<int>(clock.minutes().count()));
  return date(t) + text;
}

std::optional<Instant> LocalTime::midnight(std::string_view text) const {
  Instant utc;
  if (text.size() != 10 || !parse_rfc3339_into(std::string(text) + "T00:00:00Z", utc))
    return std::nullopt;
  return moments(utc.time_since_epoch()).first;
}

LocalTime::Moments LocalTime::moments(Span shown) const {
  const ::date::local_time<Span> local(shown);
  const auto info = zone_->get_info(::date::floor<seconds>(local));
  if (info.result == ::date::local_info::nonexistent)
    return {0, Instant(info.first.end.time_since_epoch()),
            Instant(info.first.end.time_since_epoch())};
  const Instant first(shown - info.first.offset);
  if (info.result == ::date::local_info::unique) return {1, first, first};
  return {2, first, Instant(shown - info.second.offset)};
}

Span LocalTime::shown(Instant t) const { return zone_->to_local(t).time_since_epoch(); }

}  // namespace plainwater::outlet
