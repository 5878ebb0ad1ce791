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
// `share` mirrors this table line by line. An exemption never overrides a chill.
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

/// The limits on the feed. Each has its own rules; this struct only ranks them.
struct Allowance {
  bool begun = false;      ///< a bench new to the settings gets plain water until it has begun
  bool releasing = true;   ///< false while the clock is not believed: then nothing is released
  bool forbidden = false;  ///< its pump is not trusted
  bool timeless = false;   ///< nobody knows what time it is; set and stored by the engine
  SeasonFeeding season;
  HoldKeeper holds;
  Chill chill;
  Blindness blindness;

  Share share(Instant t, const FeedingRules& rules) const;
  /// Moves the season's strength on. It may fall at any time, but does not rise while the bench is
  /// chilled or while nothing is released.
  void proceed(Instant t, const FeedingRules& rules) {
    season.proceed(t, rules, releasing && !chill.active());
  }
  /// Restores the strength from before the chill. It did not rise meanwhile, and the ramp's weeks
  /// do not include the chill's days.
  void end_chill(Instant t);

  /// For a bench that goes on for both: whatever limits one of them limits it.
  void join(const Allowance& other);

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
