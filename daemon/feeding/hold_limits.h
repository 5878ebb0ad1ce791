// What keeps detection from placing a hold: an exemption, or the rest after the longest plain
// water. Also counts the plain water of detected holds in a year.
#pragma once

#include <algorithm>
#include <vector>

#include "feeding/hold_keeper.h"

namespace plainwater::feeding {

/// A time of plain water from a detected hold, for the yearly count.
struct PlainSpell {
  Instant from{}, to{};
  template <class A>
  void fields(A& a) {
    a(from);
    a(to);
  }
};

class HoldLimits {
 public:
  bool exempt(const Bench& bench, Instant t) const { return bench.exempt || t < exempt_until_; }
  /// Whether a detected hold may be placed at `t` for nights that fell by `fall_c`, °C.
  bool may_hold(const Bench& bench, Instant t, double fall_c, const DropRules& rules) const;

  /// The grower wants no detected hold before `t`.
  void exempt_until(Instant t) { exempt_until_ = t; }
  Instant exempt_until() const { return exempt_until_; }
  /// When the grower's exemption ends; kForever when there is none.
  Instant exemption_due() const { return exempt_until_ == kNever ? kForever : exempt_until_; }
  void end_exemption() { exempt_until_ = kNever; }
  /// No new detected hold before `t`, unless the nights fall severely.
  void rest_until(Instant t) { rest_until_ = t; }

  /// A detected hold gave plain water during this time.
  void add_spell(Instant from, Instant to) { spells_.push_back({from, to}); }
  /// Drops spells that ended more than 365 days before `t`.
  void forget_spells(Instant t);
  /// Days of plain water from detected holds in the 365 days before `t`, including the hold in
  /// force.
  double plain_days_in_year(Instant t, const HoldKeeper& holds) const;

  /// For a bench that goes on for both: exempt, or at rest, only as long as both were.
  void join(const HoldLimits& other) {
    exempt_until_ = std::min(exempt_until_, other.exempt_until_);
    rest_until_ = std::min(rest_until_, other.rest_until_);
  }

  template <class A>
  void fields(A& a) {
    a(exempt_until_);
    a(rest_until_);
    a(spells_);
  }

 private:
  Instant exempt_until_{kNever};
  Instant rest_until_{kNever};
  std::vector<PlainSpell> spells_;
};

}  // namespace plainwater::feeding
