// How often a shuttling bench was carried, for one line a week in the ledger.
#pragma once

#include <cstdint>
#include <optional>

#include "common/instant.h"

namespace plainwater::engine {

class ShuttleWeek {
 public:
  static constexpr std::uint32_t kVersion = 9;  ///< of snapshots

  struct Sum {
    std::int32_t days = 0, times = 0;
  };
  void note_carried() {
    ++sum_.times;
    today_ = true;
  }
  /// Called at a night's close. Returns the sum when a week of shuttling is over.
  std::optional<Sum> close(Instant t, bool shuttling) {
    if (!shuttling) {
      *this = {};
      return std::nullopt;
    }
    if (today_) ++sum_.days;
    today_ = false;
    if (begun_ == kNever) begun_ = t - kDay;
    // Nights close by the sunrise, which shifts.
    if (t - begun_ < 7 * kDay - hours(1)) return std::nullopt;
    const Sum week = sum_;
    begun_ = t;
    sum_ = {};
    if (week.days == 0) return std::nullopt;  // the bench was not moved, or its place not known
    return week;
  }

  template <class A>
  void fields(A& a) {
    if (a.version() < kVersion) return;
    a(begun_);
    a(sum_.days);
    a(sum_.times);
    a(today_);
  }

 private:
  Instant begun_{kNever};
  Sum sum_;
  bool today_ = false;
};

}  // namespace plainwater::engine
