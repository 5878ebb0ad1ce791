// What is believed about a bench on the assumption that it stands in a given place: a small Kalman
// filter of three temperatures.
#pragma once

#include "common/position.h"

namespace plainwater::season {

/// How a place's air differs from its reference: an Ornstein-Uhlenbeck process around the usual
/// difference.
struct PlaceModel {
  double usual_c = 0;   ///< usual difference from the reference; without one, the air's usual level
  double spread_c = 1;  ///< standard deviation around it
  double keeps = 0;     ///< share of a deviation left after the step, 0..1
};

/// Means and covariances of three temperatures: of sensor and pots, the difference of the bench's
/// outdoor place from the outdoor reference, and the same indoors; °C and °C².
struct PlaceBelief {
  double bench_c = 0, outdoor_c = 0, indoor_c = 0;
  double bench_var = 0, bench_outdoor = 0, bench_indoor = 0, outdoor_var = 0, outdoor_indoor = 0,
         indoor_var = 0;

  /// The belief before any step: the bench stands at `where`, whose reference reads `reference_c`.
  static PlaceBelief first(Position where, double reference_c, const PlaceModel& outdoors,
                           const PlaceModel& indoors);
  /// Mean and covariance of the two mixed by their weights, which sum to 1.
  static PlaceBelief mixed(const PlaceBelief& a, double weight_a, const PlaceBelief& b,
                           double weight_b);

  /// Time passes: both differences return towards the usual.
  void relax(const PlaceModel& outdoors, const PlaceModel& indoors);
  /// Makes the difference at `where` less certain by `variance`, °C².
  void widen(Position where, double variance);
  /// The temperature that the bench would have after following the air of `where`, keeping the
  /// share `keeps` of its old temperature, °C.
  double foretold_c(Position where, double reference_c, double keeps) const;
  /// Sensor and pots follow the air of `where`, keeping the share `keeps` of the old temperature;
  /// `loose_c` is the standard deviation of what this model leaves out.
  void follow(Position where, double reference_c, double keeps, double loose_c);
  /// Takes the bench's temperature, measured with noise `noise_c`. Returns its log-likelihood by a
  /// Student-t distribution in which the logarithm of the scale counts by `scale_share` instead of
  /// a half. Outliers move the belief less than in proportion.
  double take(double bench_now_c, double noise_c, double scale_share);
  /// Rounds to a millionth, so that the last bits of different maths libraries do not matter.
  void round();

  template <class A>
  void fields(A& a) {
    a(bench_c);
    a(outdoor_c);
    a(indoor_c);
    a(bench_var);
    a(bench_outdoor);
    a(bench_indoor);
    a(outdoor_var);
    a(outdoor_indoor);
    a(indoor_var);
  }
};

}  // namespace plainwater::season
