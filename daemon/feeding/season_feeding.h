// What the season alone allows a bench: full feed in growth, weak feed in the dull months and after
// a hold, rising gently.
#pragma once

#include "feeding/hold.h"

namespace plainwater::feeding {

/// Counted nights that must be known before a bench's nights can be judged.
inline constexpr std::int64_t kLearningNights = 15;
/// Nights older than this say nothing about a bench's present climate.
inline constexpr std::int64_t kHeardNights = 14;

/// What the season's share needs to know at a night's close.
struct SeasonFacts {
  bool counted = false;                         ///< the night counted
  bool heard = true;                            ///< some night of the last fortnight is known
  std::int64_t known_nights = kLearningNights;  ///< counted ones, ever
  bool learning = false;                        ///< too few nights are known to judge
  bool learning_gently = false;  ///< while learning: it is the cooling half-year, or the grower
                                 ///< said that nights have fallen
  bool tropical = false;         ///< within the tropics, where day length says nothing
  double light_h = 12;           ///< day length, or the hours of the lamps
  double n14_c = 0;              ///< median of the last 14 counted nights
  double group_night_c = 0;      ///< the group's number
  double growing_night_c = 0;    ///< N_grow
};

/// Reduced strength in percent, before rounding to steps: R(N14)/R(N_grow) × min(1, light/12 h),
/// within the settings' weakest and strongest reduced percent (25..50 by default). In the tropics
/// light counts as 12 h.
double reduced_percent(const SeasonFacts& facts, const FeedingRules& rules);

class SeasonFeeding {
 public:
  static constexpr std::uint32_t kNotHeardVersion =
      9;  ///< of snapshots; in older ones all are heard
  void take_night(const SeasonFacts& facts, Instant t, const FeedingRules& rules);
  /// Moves the strength towards its target: down at once, up by the ramp and only if it may rise.
  void proceed(Instant t, const FeedingRules& rules, bool may_rise = true);
  /// When the strength may next rise; kForever when it has reached its target.
  Instant next_rise(const FeedingRules& rules) const;

  /// A hold has ended: weak feed, at first (`after_hold_days`) at most `after_hold_percent`.
  void after_hold(Instant t, const FeedingRules& rules);
  /// After a move to a warmer place: at most weak feed until `until`, whatever the season allows.
  void after_move(Instant until) { feed_.moved_until = until; }
  /// Plain water for a reason other than a hold has ended: the strength comes back by the ramp.
  void after_pause(Instant t, const FeedingRules& rules);
  /// The bench had plain water from `begun` to `t`: the ramp goes on from where it was.
  void wait_since(Instant begun, Instant t);
  /// The grower says that growth has started: full feed by the ramp, or `at_once` if chosen at a
  /// release.
  void growth_started(Instant t, bool at_once);
  void restore(const SeasonFeed& before) { feed_ = before; }

  /// For a bench that goes on for both: the more careful of each.
  void join(const SeasonFeeding& other);

  const SeasonFeed& feed() const { return feed_; }
  int percent() const { return feed_.percent; }
  bool learning() const { return learning_; }
  /// Whether some night of the last fortnight is known.
  bool heard() const { return !unheard_; }
  std::int64_t known_nights() const { return known_nights_; }
  /// Median of the last nights, up to 14, °C.
  double nights_c() const { return nights_c_; }
  /// While learning: whether the season asks for the weakest feed.
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
      cool_nights_ =
          0;  ///< counted nights in a row with N14 at or above the group's number, and under it
  Instant growth_until_{kNever};  ///< until then the grower's word that growth has started counts
};

}  // namespace plainwater::feeding
