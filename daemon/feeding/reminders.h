// Questions for the grower at a night's close: whether so much plain water in a year is right, and
// whether growth has started although the nights stay cool.
#pragma once

#include "feeding/bench_moment.h"

namespace plainwater::feeding {

class Reminders {
 public:
  void take_night(const NightFacts& night, BenchMoment& m);

  template <class A>
  void fields(A& a) {
    a(budget_asked_);
    a(spring_asked_);
    a.day(long_days_since_);
  }

 private:
  void ask_of_plain_water(BenchMoment& m);
  void ask_of_growth(const NightFacts& night, BenchMoment& m);

  Instant budget_asked_{kNever};
  bool spring_asked_ = false;
  std::int64_t long_days_since_ = -1;  ///< solar day; -1: days are short
};

}  // namespace plainwater::feeding
