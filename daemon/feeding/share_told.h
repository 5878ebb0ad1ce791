// Remembers the share told last, so that every change is told once.
#pragma once

#include "feeding/allowance.h"

namespace plainwater::feeding {

class ShareTold {
 public:
  /// When feeding or strength last changed.
  Instant changed() const { return changed_; }

  /// Completes the bench's decisions from index `first` on with the share `now`, to which they led;
  /// adds a feeding-changed if none of them says so.
  void complete(const Share& now, std::size_t first, const Allowance& by, const Teller& to);

  template <class A>
  void fields(A& a) {
    a(feeding_);
    a(percent_);
    a(cause_);
    a(told_);
    a(changed_);
  }

 private:
  Feeding feeding_ = Feeding::full;
  std::int32_t percent_ = 100;
  Cause cause_ = Cause::none;
  bool told_ = false;
  Instant changed_{kNever};
};

}  // namespace plainwater::feeding
