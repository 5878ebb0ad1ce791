// What a bench may get now, in this precedence:
//
//   1. a pump that is not trusted        plain water
//   2. a clock that nobody can believe   plain water
//   3. chill, then a bench that was not  plain water
//      heard yet, then seven blind nights
//   4. the grower's word                 hold, release, exempt, growth started
//   5. a detected hold                   plain water
//   6. two blind nights                  at most the weakest feed
//   7. the season                        full, reduced, ramps
//
// `share` mirrors this table line by line. An exemption never beats chill.
#pragma once

#include "feeding/blindness.h"
#include "feeding/chill.h"
#include "feeding/hold_keeper.h"
#include "feeding/season_feeding.h"

namespace plainwater::feeding {

struct Share {
  Feeding feeding = Feeding::full;
  int percent = 100;
  Cause cause = Cause::none;
  bool operator==(const Share&) const = default;
};

/// What limits the feed, each with its own rules; this one only ranks them.
struct Allowance {
  bool begun = false;      ///< a bench that is new to the settings gets plain water until then
  bool releasing = true;   ///< while the clock is not believed nothing is released
  bool forbidden = false;  ///< its pump is not trusted
  bool timeless = false;   ///< nobody knows what time it is; the engine keeps this
  SeasonFeeding season;
  HoldKeeper holds;
  Chill chill;
  Blindness blindness;

  Share share(Instant t, const FeedingRules& rules) const;
  bool chilled(Instant t) const { return chill.active(t, releasing); }
  /// The season's strength moves on: it falls at any time, but rises neither while the bench is
  /// chilled nor while nothing is released.
  void proceed(Instant t, const FeedingRules& rules) {
    season.proceed(t, rules, releasing && !chilled(t));
  }
  /// The strength of before the chill comes back. It did not rise meanwhile, and the ramp's weeks
  /// do not count the chill's days.
  void end_chill(Instant t);

  template <class A>
  void fields(A& a) {
    a(begun);
    a(releasing);
    a(forbidden);
    a(season);
    a(holds);
    a(chill);
    a(blindness);
  }
};

}  // namespace plainwater::feeding
