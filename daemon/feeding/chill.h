// Cold air under the chill floor, counted in degree-hours: a dip is noted, deep or long cold is
// answered with plain water at once.
#pragma once

#include <algorithm>

#include "common/position.h"
#include "feeding/teller.h"

namespace plainwater::feeding {

/// Two readings in a row under the floor, and the time between them that they speak for. °C.
struct ColdStretch {
  Instant from{}, to{};
  double before_c = 0, air_c = 0;  ///< at its beginning and at its end
};

class Chill {
 public:
  static constexpr std::uint32_t kDegreeHoursVersion = 9;  ///< of snapshots

  /// A chill does not run out by a clock that is not believed, that is while not `releasing`.
  bool active(Instant t, bool releasing) const {
    return t < until_ || (!releasing && until_ != kNever);
  }
  Instant until() const { return until_; }
  /// When it runs out; kForever when there is none.
  Instant due() const { return until_ == kNever ? kForever : until_; }
  /// When the chill that runs began; kNever when there is none.
  Instant begun() const { return until_ == kNever ? kNever : begun_; }
  void end() { until_ = kNever; }

  /// Counts the stretch and answers what has become deep or long; tells of it when it is new, else
  /// once a week. Outdoors it is told in other words.
  void take(const ColdStretch& cold, Position place, bool releasing, const Teller& to);
  /// When the air has been warm for so long that the spell of cold is over; kForever: none runs.
  Instant spell_due() const;
  /// It is over: a dip is told of, once a week at most.
  void end_spell(const Teller& to);

  /// The grower lets cold air pass until then, unless it is deep. What runs ends by `end`.
  void let_pass(Instant until) {
    passed_until_ = until;
    spell_ = {};
  }
  /// So far under the floor nobody's word lets it pass, °C.
  static double passed_c(const DropRules& rules) { return std::min(3.0, rules.chill_deep_c); }
  /// The newest cold air of the running spell, °C; NaN when the air is warm.
  double cold_now_c() const;

  template <class A>
  void fields(A& a) {
    a(until_);
    a(told_);
    if (a.version() < kDegreeHoursVersion) return;
    a(begun_);
    a(passed_until_);
    a(dip_told_);
    a(spell_);
  }

 private:
  /// Cold air without hours of warmth between.
  struct Spell {
    Instant begun{kNever}, last{kNever};
    double last_c = 0;
    double lowest_c = 0;      ///< to which two readings in a row bear witness
    double degree_hours = 0;  ///< under the floor
    bool answered = false;    ///< or let pass by the grower's word

    template <class A>
    void fields(A& a) {
      a(begun);
      a(last);
      a(last_c);
      a(lowest_c);
      a(degree_hours);
      a(answered);
    }
  };
  void count(const ColdStretch& cold, double floor_c);
  void answer(double air_c, Position place, bool releasing, const Teller& to);

  Instant until_{kNever};
  Instant begun_{kNever};
  Instant told_{kNever};  ///< the last word of the ledger about it
  Instant passed_until_{kNever};
  Instant dip_told_{kNever};
  Spell spell_;
};

}  // namespace plainwater::feeding
