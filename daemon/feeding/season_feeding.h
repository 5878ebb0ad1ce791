// What the season alone allows a bench: full feed in growth, weak feed in the dull months and after
// a hold, with gentle increases.
#pragma once

#include "feeding/hold.h"

namespace plainwater::feeding {

/// So many counted nights must be known before a bench's nights can be judged.
inline constexpr std::int64_t kLearningNights = 15;
/// Nights older than this say nothing of what a bench has now.
inline constexpr std::int64_t kHeardNights = 14;

/// What a night's close tells the season's share.
struct SeasonFacts {
  bool counted = false;                         ///< the night counted
  bool heard = true;                            ///< a night of the last fortnight is known
  std::int64_t known_nights = kLearningNights;  ///< counted ones, ever
  bool learning = false;                        ///< too few nights known to judge
  bool learning_gently =
      false;  ///< while learning: the cooling half-year, or the grower said that nights have fallen
  bool tropical = false;       ///< day length says nothing here
  double light_h = 12;         ///< day length, or the lamps' hours
  double n14_c = 0;            ///< median of the last 14 counted nights
  double group_night_c = 0;    ///< the group's number
  double growing_night_c = 0;  ///< N_grow
};

/// Reduced strength in percent, not yet in steps: R(N14)/R(N_grow) × min(1, light/12 h),
/// within 25..50.
double reduced_percent(const SeasonFacts& facts, const FeedingRules& rules);

class SeasonFeeding {
 public:
  static constexpr std::uint32_t kNotHeardVersion = 9;  ///< of snapshots; before, all were heard
  void take_night(const SeasonFacts& facts, Instant t, const FeedingRules& rules);
  /// Moves the strength towards its target: down at once, up by the ramp where it may rise.
  void proceed(Instant t, const FeedingRules& rules, bool may_rise = true);
  /// When the strength may next rise; kForever when it has arrived.
  Instant next_rise(const FeedingRules& rules) const;

  /// A hold has ended: weak feed, the first week at the weakest.
  void after_hold(Instant t, const FeedingRules& rules);
  /// A move to a warmer place: weak feed at most until `until`, whatever the season allows.
  void after_move(Instant until) { feed_.moved_until = until; }
  /// Plain water for another reason has ended: back up by the ramp.
  void after_pause(Instant t, const FeedingRules& rules);
  /// The bench had plain water between: the ramp goes on from where it stood.
  void wait_since(Instant begun, Instant t);
  /// The grower says so: full feed by the ramp; `at_once` when chosen at a release.
  void growth_started(Instant t, bool at_once);
  void restore(const SeasonFeed& before) { feed_ = before; }

  const SeasonFeed& feed() const { return feed_; }
  int percent() const { return feed_.percent; }
  bool learning() const { return learning_; }
  /// A night of the last fortnight is known.
  bool heard() const { return !unheard_; }
  std::int64_t known_nights() const { return known_nights_; }
  /// Median of the last nights, up to 14, °C.
  double nights_c() const { return nights_c_; }
  /// While learning: the season asks for the weakest feed.
  bool careful() const { return careful_; }
  Cause cause(Instant t) const;

  template <class A>
  void fields(A& a) {
    a(feed_);
    a(target_);
    a(learning_);
    a(warm_nights_);
    a(cool_nights_);
    a(growth_until_);
    if (a.version() < kNotHeardVersion) return;
    a(unheard_);
    a(careful_);
    a(known_nights_);
    a(nights_c_);
  }

 private:
  void learn(const SeasonFacts& facts, bool dull, Instant t, const FeedingRules& rules);
  int wanted(Instant t, const FeedingRules& rules) const;

  SeasonFeed feed_;
  int target_ = 100;
  bool learning_ = true, unheard_ = false, careful_ = true;
  std::int64_t known_nights_ = 0;
  double nights_c_ = 0;
  int warm_nights_ = 0,
      cool_nights_ = 0;  ///< counted nights in a row with N14 at or above, under the group's number
  Instant growth_until_{kNever};  ///< the grower's word that growth has started stands so long
};

}  // namespace plainwater::feeding
