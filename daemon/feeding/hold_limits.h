// What keeps detection from placing a hold: an exemption, the rest after the longest plain water;
// and how much plain water its holds asked for within a year.
#pragma once

#include <vector>

#include "feeding/hold_keeper.h"

namespace plainwater::feeding {

/// Plain water of detected holds, for the yearly count.
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

  /// The grower's word: no detected hold before.
  void exempt_until(Instant t) { exempt_until_ = t; }
  /// When the grower's exemption ends; kForever when there is none.
  Instant exemption_due() const { return exempt_until_ == kNever ? kForever : exempt_until_; }
  void end_exemption() { exempt_until_ = kNever; }
  /// No new detected hold before, unless the nights fall severely.
  void rest_until(Instant t) { rest_until_ = t; }

  /// A detected hold gave plain water for so long.
  void add_spell(Instant from, Instant to) { spells_.push_back({from, to}); }
  /// Spells that ended more than 365 days before `t` count no more.
  void forget_spells(Instant t);
  /// Days of plain water by detected holds in the 365 days before `t`, with the hold in force.
  double plain_days_in_year(Instant t, const HoldKeeper& holds) const;

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
