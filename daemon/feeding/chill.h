// Plain water after air under the chill floor, for some days after the last of it.
#pragma once

#include "feeding/teller.h"

namespace plainwater::feeding {

class Chill {
 public:
  /// A chill does not run out by a clock that is not believed, that is while not `releasing`.
  bool active(Instant t, bool releasing) const {
    return t < until_ || (!releasing && until_ != kNever);
  }
  Instant until() const { return until_; }
  /// When it runs out; kForever when there is none.
  Instant due() const { return until_ == kNever ? kForever : until_; }

  /// The air fell under the floor, to `air_c`; tells of it when it is new, else once a week.
  void take(double air_c, bool releasing, const Teller& to);
  void end() { until_ = kNever; }

  template <class A>
  void fields(A& a) {
    a(until_);
    a(told_);
  }

 private:
  Instant until_{kNever};
  Instant told_{kNever};  ///< the last word of the ledger about it
};

}  // namespace plainwater::feeding
