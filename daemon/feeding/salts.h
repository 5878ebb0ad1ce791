// The salts in a bench's pots, modelled as one well-mixed pot: salts come in with the water and
// leave with the runoff. Evaporation takes water and leaves the salts; at field capacity the pot
// holds `held_l` again.
//
//   one watering:     C' = (C·W + EC·V) / (W + D)      W held, V given, D drained, litres
//                     D = leaching · V, but at least V - W: no pot keeps more than it holds
//   in the long run:  C = EC / leaching                the leaching requirement of FAO paper 29
//   a flush, EC w:    V = W · ln((C - w) / (T - w)) / e
//                     T wanted in the pots, e the share of the pot that the flush reaches
//
// Uptake by plants is left out, so without runoff readings the balance errs on the salty side.
// Measured runoff corrects the balance and, by half, the share of the salts given that stays.
#pragma once

#include <optional>

#include "settings/settings.h"

namespace plainwater::feeding {

class SaltBalance {
 public:
  /// Water of `ec` mS/cm went over the pots. Without pots in the settings the balance stays
  /// unknown.
  void water(double litres, double ec, const Bench& bench);
  /// The runoff was measured, mS/cm at 25 °C. A measurement older than the last one changes
  /// nothing.
  void runoff(double ec, Instant t, const Bench& bench);

  bool known() const { return known_; }
  double ec() const { return ec_; }  ///< of the pots' water at field capacity, mS/cm at 25 °C
  double doubt_ec() const { return doubt_; }      ///< one standard deviation, mS/cm
  Instant measured() const { return measured_; }  ///< kNever: never

  template <class A>
  void fields(A& a) {
    a(known_);
    a(ec_);
    a(doubt_);
    a(stays_);
    a(measured_);
  }

 private:
  bool known_ = false;
  double ec_ = 0, doubt_ = 0;
  double stays_ = 1;  ///< learnt from runoff: share of the given salts that shows up in the pots
  Instant measured_{kNever};
};

/// Water that all pots of the bench together hold after draining, L; 0 without pots in the
/// settings.
double held_l(const Bench& bench);
/// EC of the pots above which a flush is advised, mS/cm: 1.6 × the bench's alarm EC (1.3, 1.9 or
/// 2.6 by salt tolerance, within the 1.0 to 2.6 that pour-through tests give for light feeders).
double flush_above_ec(const Bench& bench);

struct FlushAdvice {
  double litres = 0;             ///< for the whole bench in one go; at most 3 pot volumes
  double target_ec = 0;          ///< of the pots afterwards, mS/cm
  bool again = false;            ///< one go is not enough
  bool water_too_salty = false;  ///< this water leaves the pots above the alarm EC
};
/// The flush that brings the pots down to half the alarm EC, or as near as water of `water_ec`
/// mS/cm can. The balance must be known.
FlushAdvice flush_advice(const SaltBalance& salts, double water_ec, const Bench& bench);

}  // namespace plainwater::feeding
