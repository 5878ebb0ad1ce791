// Nights in a row of which nothing believable is known, and how far that limits the feed: first to
// the weakest, then to plain water, and after too long a time to the weakest again, because never
// feeding is harmful too.
#pragma once

#include "feeding/night_facts.h"
#include "feeding/questions.h"

namespace plainwater::feeding {

class Blindness {
 public:
  int nights() const { return nights_; }
  bool weakens(const FeedingRules& rules) const { return nights_ >= rules.blind_reduced_nights; }
  bool stops(const FeedingRules& rules) const;
  /// So many that plain water does more harm than not knowing; of a bench that was heard once.
  bool too_long(const FeedingRules& rules) const;

  /// While not `releasing`, what would raise the feed waits.
  void take_night(const NightFacts& night, bool releasing, SeasonFeeding& season,
                  Questions& questions, const Teller& to);

  template <class A>
  void fields(A& a) {
    a(nights_);
  }

 private:
  std::int32_t nights_ = 0;
};

}  // namespace plainwater::feeding
