#include "asking/when.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <optional>
#include <vector>

#include "asking/typed_time.h"
#include "common/quoted.h"

namespace plainwater::asking {
namespace {

using Days = std::chrono::sys_days;  ///< of the site's calendar
using Moments = outlet::LocalTime::Moments;

constexpr Span kYear = 366 * kDay;

Days day_shown(Instant t, const outlet::LocalTime& zone) {
  return std::chrono::floor<std::chrono::days>(Instant(zone.shown(t)));
}

/// "18:30", or "18:30:15"
std::string clock_of(Span since_midnight) {
  const auto whole = std::chrono::floor<seconds>(since_midnight).count();
  const std::string text = fmt::format("{:02}:{:02}", whole / 3600, whole / 60 % 60);
  return whole % 60 == 0 ? text : fmt::format("{}:{:02}", text, whole % 60);
}

/// "Mon 12 Oct 2026 18:30", of what clocks show.
std::string text_of(Span shown) {
  static constexpr std::array kWeekdays{"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
  static constexpr std::array kMonths{"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                      "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  const Days day = std::chrono::floor<std::chrono::days>(Instant(shown));
  const std::chrono::year_month_day date(day);
  return fmt::format("{} {} {} {} {}", kWeekdays[std::chrono::weekday(day).c_encoding()],
                     static_cast<unsigned>(date.day()),
                     kMonths[static_cast<unsigned>(date.month()) - 1],
                     static_cast<int>(date.year()), clock_of(Instant(shown) - day));
}

std::string date_of(const std::chrono::year_month_day& date) {
  return fmt::format("{:04}-{:02}-{:02}", static_cast<int>(date.year()),
                     static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
}

/// What was typed, placed on the site's calendar.
class Reading {
 public:
  Reading(std::string_view text, const TypedTime& typed, Instant now, const outlet::LocalTime& zone,
          Sense sense)
      : text_(text), typed_(typed), now_(now), zone_(zone), sense_(sense) {}

  Result<When> when() const {
    if (typed_.year || typed_.days_off) return of_full_date();
    if (typed_.weekday) return of_weekday();
    return typed_.day ? of_day_and_month() : of_clock();
  }

 private:
  bool past() const { return sense_ == Sense::past; }
  bool fits(Instant t) const { return past() ? t <= now_ : t > now_; }
  Span clock() const { return typed_.clock.value_or(Span(0)); }
  Moments moments(Days day) const { return zone_.moments(day.time_since_epoch() + clock()); }
  /// Which of the moments is meant.
  Instant one_of(const Moments& m) const {
    return m.count == 2 && !past() && m.first <= now_ ? m.last : m.first;
  }
  std::optional<Days> in_year(std::chrono::year year) const {
    const std::chrono::year_month_day date(year,
                                           std::chrono::month(static_cast<unsigned>(*typed_.month)),
                                           std::chrono::day(static_cast<unsigned>(*typed_.day)));
    return date.ok() ? std::optional(Days(date)) : std::nullopt;
  }
  std::chrono::year this_year() const {
    return std::chrono::year_month_day(day_shown(now_, zone_)).year();
  }

  When said(Days day) const {
    const Moments m = moments(day);
    When when{.at = one_of(m)};
    when.said = text_of(zone_.shown(when.at));
    const std::string typed = text_of(day.time_since_epoch() + clock());
    const Instant other = when.at == m.first ? m.last : m.first;
    if (m.count == 2)
      when.note =
          fmt::format("the clocks show {} twice: the {} is taken; for the other write {}", typed,
                      when.at == m.first ? "first" : "second", format_rfc3339(other));
    if (m.count == 0) when.note = fmt::format("the clocks skip {}, to {}", typed, when.said);
    return when;
  }

  /// The last or the next of these that fits.
  Result<When> nearest_of(const std::vector<Days>& days) const {
    std::optional<Days> best;
    for (const Days day : days)
      if (fits(one_of(moments(day))) && (!best || (past() ? day > *best : day < *best))) best = day;
    if (best) return said(*best);
    return Error{fmt::format("{} is in no year near this one", quoted(text_)), "",
                 "write the date with its year, like 2026-10-12"};
  }

  Result<When> of_clock() const {
    const Days today = day_shown(now_, zone_);
    return nearest_of({today - std::chrono::days(1), today, today + std::chrono::days(1)});
  }

  Result<When> of_weekday() const {
    std::vector<Days> days;
    for (int off = -7; off <= 7; ++off)
      if (const Days day = day_shown(now_, zone_) + std::chrono::days(off);
          std::chrono::weekday(day).c_encoding() == static_cast<unsigned>(*typed_.weekday))
        days.push_back(day);
    return nearest_of(days);
  }

  Result<When> of_day_and_month() const {
    std::vector<Days> days;
    for (int off = -1; off <= 1; ++off)
      if (const auto day = in_year(this_year() + std::chrono::years(off))) days.push_back(*day);
    // "From 12 Oct", said on that day, means today and not a year later.
    const Days today = day_shown(now_, zone_);
    if (!typed_.clock && std::ranges::find(days, today) != days.end()) return said(today);
    return nearest_of(days);
  }

  Result<When> of_full_date() const {
    const Days day = typed_.days_off ? day_shown(now_, zone_) + std::chrono::days(*typed_.days_off)
                                     : *in_year(std::chrono::year(*typed_.year));
    const When when = said(day);
    // A day that has begun is still to come in part: from when is for the service to say.
    const bool today = day == day_shown(now_, zone_) && !typed_.clock;
    const bool near = when.at >= now_ - kYear && when.at <= now_ + kYear;
    if ((fits(when.at) || today) && near) return when;
    const char* fault = near ? past() ? "has not come yet" : "is over" : "is more than a year away";
    return Error{fmt::format("{} {}", quoted(text_), fault), "", remedy()};
  }

  /// The same day of another year, if the year is what is wrong.
  std::string remedy() const {
    if (typed_.year) {
      for (int off = past() ? 0 : -1; off >= -1 && off <= 1; off += past() ? -1 : 1) {
        const auto year = this_year() + std::chrono::years(off);
        const auto day = in_year(year);
        if (!day || year == std::chrono::year(*typed_.year) || !fits(one_of(moments(*day))))
          continue;
        const std::string clock = typed_.clock ? " " + clock_of(*typed_.clock) : "";
        return fmt::format("did you mean {}{}?", date_of(std::chrono::year_month_day(*day)), clock);
      }
    }
    return past() ? "give a time that is past" : "give a later time";
  }

  std::string_view text_;
  const TypedTime& typed_;
  Instant now_;
  const outlet::LocalTime& zone_;
  Sense sense_;
};

}  // namespace

std::string say_moment(Instant t, const outlet::LocalTime& zone) { return text_of(zone.shown(t)); }

Result<When> read_when(std::string_view text, Instant now, const outlet::LocalTime& zone,
                       Sense sense) {
  if (const auto exact = parse_rfc3339(text))
    return When{.at = *exact, .exact = true, .said = say_moment(*exact, zone)};
  const auto typed = read_typed_time(text);
  if (!typed) return typed.error();
  if (typed->now) return When{.at = now, .said = say_moment(now, zone)};
  if (typed->from_now) {
    const bool past = sense == Sense::past;
    const Instant at = now + *typed->from_now;
    if (*typed->from_now > kYear || *typed->from_now < -kYear)
      return Error{fmt::format("{} is more than a year away", quoted(text)), "",
                   "give a nearer time"};
    if (past ? at > now : at <= now)
      return Error{fmt::format("{} {}", quoted(text), past ? "has not come yet" : "is over"), "",
                   past ? "write \"ago\" behind it" : "give a later time"};
    return When{.at = at, .said = say_moment(at, zone)};
  }
  return Reading(text, *typed, now, zone, sense).when();
}

}  // namespace plainwater::asking
