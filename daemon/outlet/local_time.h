// Times as the people at the site read them. For display only: nothing is decided by them.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "common/instant.h"
#include "common/result.h"

namespace date {
class time_zone;
}

namespace plainwater::outlet {

class LocalTime {
 public:
  /// An IANA zone name, "Europe/London". Unknown names are an error that says so.
  static Result<LocalTime> of(std::string_view zone_name);

  std::chrono::year_month_day day(Instant t) const;
  std::string date(Instant t) const;       ///< "2026-10-14"
  std::string date_time(Instant t) const;  ///< "2026-10-14 06:41"
  /// The midnight that begins a date written as "2026-10-14"; none when it is not a date. A
  /// midnight that the clocks skip is the moment after the gap.
  std::optional<Instant> midnight(std::string_view text) const;

  /// Which moments a reading of the site's clocks means.
  struct Moments {
    int count = 1;  ///< 2: the clocks show it twice; 0: they skip it
    /// The same unless it comes twice. Where it is skipped, both are the moment of the change.
    Instant first{}, last{};
  };
  /// `shown`: what the clocks show, counted from 1970-01-01 00:00 on them.
  Moments moments(Span shown) const;
  /// What the clocks show at `t`, counted so.
  Span shown(Instant t) const;

 private:
  explicit LocalTime(const ::date::time_zone* zone) : zone_(zone) {}
  const ::date::time_zone* zone_;
};

}  // namespace plainwater::outlet
