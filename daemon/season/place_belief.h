// What is believed about a bench if it stands in one given place: a small Kalman filter of three
// temperatures.
#pragma once

#include "common/position.h"

namespace plainwater::season {

/// How a place's air stands to its reference: an Ornstein-Uhlenbeck course around what is usual.
struct PlaceModel {
  double usual_c =
      0;  ///< usual difference to the reference; without one, the usual level of the air itself
  double spread_c = 1;  ///< standard deviation around it
  double keeps = 0;     ///< share of a deviation that is left after the step, 0..1
};

/// Means and covariances of: what sensor and pots are at, how outdoors at the bench differs from
/// the outdoor reference, and likewise indoors; °C and °C².
struct PlaceBelief {
  double bench_c = 0, outdoor_c = 0, indoor_c = 0;
  double bench_var = 0, bench_outdoor = 0, bench_indoor = 0, outdoor_var = 0, outdoor_indoor = 0,
         indoor_var = 0;

  /// Before any step: the bench stands in `where`, whose reference reads `reference_c`.
  static PlaceBelief first(Position where, double reference_c, const PlaceModel& outdoors,
                           const PlaceModel& indoors);
  /// The two mixed by their weights, which sum to 1: mean and covariance of the mixture.
  static PlaceBelief mixed(const PlaceBelief& a, double weight_a, const PlaceBelief& b,
                           double weight_b);

  /// Time passes: both differences draw near what is usual.
  void relax(const PlaceModel& outdoors, const PlaceModel& indoors);
  /// The difference of `where` becomes less certain: `variance`, °C², is added.
  void widen(Position where, double variance);
  /// What the bench would be at, if it followed the air of `where` and `keeps` of its old
  /// temperature were left, °C.
  double foretold_c(Position where, double reference_c, double keeps) const;
  /// Sensor and pots draw near the air of `where`, of which `keeps` of the old temperature is left;
  /// `loose_c` is added as the standard deviation of what this leaves out.
  void follow(Position where, double reference_c, double keeps, double loose_c);
  /// Takes the bench's temperature, with noise of `noise_c`; its log-likelihood by a Student-t
  /// distribution, of which the scale counts by `scale_share` where it would be a half. A value far
  /// off moves the belief less than in proportion.
  double take(double bench_now_c, double noise_c, double scale_share);
  /// To a millionth, so that the last bits of a mathematics library do not live on.
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
