// Counts nights in a row without believable readings, and limits the feed by them: first to the
// weakest feed, then to plain water, and after too long back to the weakest feed, because never
// feeding does harm too.
#pragma once

#include "feeding/night_facts.h"
#include "feeding/questions.h"

namespace plainwater::feeding {

class Blindness {
 public:
  int nights() const { return nights_; }
  bool weakens(const FeedingRules& rules) const { return nights_ >= rules.blind_reduced_nights; }
  bool stops(const FeedingRules& rules) const;
  /// So many nights that, for a bench that was once heard, plain water does more harm than not
  /// knowing.
  bool too_long(const FeedingRules& rules) const;

  /// While not `releasing`, anything that would raise the feed waits.
  void take_night(const NightFacts& night, bool releasing, SeasonFeeding& season,
                  Questions& questions, const Teller& to);

  /// For a bench that goes on for both.
  void join(const Blindness& other) { nights_ = std::max(nights_, other.nights_); }

  template <class A>
  void fields(A& a) {
    a(nights_);
  }

 private:
  std::int32_t nights_ = 0;
};

}  // namespace plainwater::feeding
