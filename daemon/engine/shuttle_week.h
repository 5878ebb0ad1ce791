// How often a bench that shuttles was carried, for one word a week in the ledger.
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
  /// At a night's close; the sum when a week of shuttling is over.
  std::optional<Sum> close(Instant t, bool shuttling) {
    if (!shuttling) {
      *this = {};
      return std::nullopt;
    }
    if (today_) ++sum_.days;
    today_ = false;
    if (begun_ == kNever) begun_ = t - kDay;
    // Nights close at sunrise, which wanders.
    if (t - begun_ < 7 * kDay - hours(1)) return std::nullopt;
    const Sum week = sum_;
    begun_ = t;
    sum_ = {};
    if (week.days == 0) return std::nullopt;  // it stood still, or its place was not known
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
