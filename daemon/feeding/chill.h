// Cold air under the chill floor, counted in degree-hours: a dip is noted; deep or long cold is
// answered with plain water at once.
#pragma once

#include <algorithm>

#include "common/position.h"
#include "feeding/teller.h"

namespace plainwater::feeding {

/// Two readings in a row under the floor, and the time between them for which they count. °C.
struct ColdStretch {
  Instant from{}, to{};
  double before_c = 0, air_c = 0;  ///< at its beginning and at its end
};

class Chill {
 public:
  static constexpr std::uint32_t kDegreeHoursVersion = 9;  ///< of snapshots

  bool active() const { return until_ != kNever; }
  Instant until() const { return until_; }
  /// From when on the close of a night ends the chill; kForever when there is none. Feed that came
  /// back in between, in a night as cold as the last, would be in the pots when the cold comes.
  Instant due() const { return until_ == kNever ? kForever : until_; }
  /// When the running chill began; kNever when there is none.
  Instant begun() const { return until_ == kNever ? kNever : begun_; }
  /// Whether all the cold that it answers was outdoors. What met the bench under a roof is for its
  /// heating, wherever the bench has been carried since.
  bool was_outdoors() const { return outdoors_; }
  void end() { until_ = kNever; }

  /// Counts the stretch and answers cold that has become deep or long. Tells of it when it is new,
  /// when it has become much deeper or a frost, and else once a week; the words differ outdoors.
  /// `fed`: the bench gets feed, so that this stops it.
  void take(const ColdStretch& cold, Position place, bool fed, const Teller& to);
  /// When the spell of cold will be over if the air stays warm; kForever: no spell is running.
  Instant spell_due() const;
  /// The spell is over. Tells of it if it was only a dip and the bench is `fed`, at most once a
  /// week.
  void end_spell(bool fed, const Teller& to);

  /// For a bench that goes on for both.
  void join(const Chill& other);

  /// The grower lets cold air pass until then, unless it is deep. Does not end a running chill;
  /// `end` does.
  void let_pass(Instant until) {
    passed_until_ = until;
    spell_ = {};
  }
  Instant passes_until() const { return passed_until_; }
  /// Cold this far under the floor is never let pass, whoever asks; °C.
  static double passed_c(const DropRules& rules) { return std::min(3.0, rules.chill_deep_c); }
  /// The latest cold air of the running spell, °C; NaN when the air is warm.
  double cold_now_c() const;

  template <class A>
  void fields(A& a) {
    a(until_);
    a(told_);
    if (a.version() < kDegreeHoursVersion) return;
    a(begun_);
    a(outdoors_);
    a(told_c_);
    a(lowest_c_);
    a(passed_until_);
    a(dip_told_);
    a(spell_);
  }

 private:
  static constexpr double kWarmest_c = 100;  ///< no air is: nothing was told, or has been since

  /// Cold air without hours of warmth in between.
  struct Spell {
    Instant begun{kNever}, last{kNever};
    double last_c = 0;
    double lowest_c = 0;           ///< confirmed by two readings in a row
    double degree_hours = 0;       ///< under the floor
    double roof_degree_hours = 0;  ///< of degree_hours, those that were not outdoors
    bool answered = false;         ///< or the grower let it pass

    template <class A>
    void fields(A& a) {
      a(begun);
      a(last);
      a(last_c);
      a(lowest_c);
      a(degree_hours);
      a(roof_degree_hours);
      a(answered);
    }
  };
  void count(const ColdStretch& cold, Position place, double floor_c);
  void answer(double air_c, Position place, bool fed, const Teller& to);

  Instant until_{kNever};
  Instant begun_{kNever};
  bool outdoors_ = false;
  Instant told_{kNever};          ///< when the ledger last mentioned it
  double told_c_ = kWarmest_c;    ///< the lowest air that it mentioned then
  double lowest_c_ = kWarmest_c;  ///< of the air since
  Instant passed_until_{kNever};
  Instant dip_told_{kNever};
  Spell spell_;
};

}  // namespace plainwater::feeding
