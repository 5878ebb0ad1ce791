// Is a bench outdoors or indoors? A hidden two-state process, observed through the bench's air.
// Since the last look the bench has stayed in either place or moved to either: these four
// explanations of each look are weighed.
#pragma once

#include <array>
#include <limits>

#include "common/archive.h"
#include "common/instant.h"
#include "season/bench_vapour.h"
#include "season/place_belief.h"
#include "season/sensor_noise.h"
#include "season/sun_course.h"
#include "settings/settings.h"

namespace plainwater::season {

/// The bench's air and the references' at one time, °C; NaN: missing or not to be believed.
struct Sighting {
  Instant time{};
  double bench_c = 0;
  double humidity_rh = std::numeric_limits<double>::quiet_NaN();  ///< of the bench's air, %RH
  double sun = 0;  ///< sine of the sun's elevation, -1..1; at and below 0 it is dark
  double outdoor_c = std::numeric_limits<double>::quiet_NaN();
  double indoor_c = std::numeric_limits<double>::quiet_NaN();
};

class PositionFilter {
 public:
  static constexpr std::uint32_t kSunVersion = 9;  ///< of snapshots; older: without sun

  /// Takes the next look. Skips looks less than 5 minutes after the last one, since they say the
  /// same, and then returns false. `told`: the place that a person or a contact gave; the
  /// differences from the references are learnt for it.
  bool take(const Sighting& sighting, Position told, const MoveRules& rules);
  /// A person or a contact says that the bench stands there.
  void believe(Position place, Instant moved);

  /// The probability of standing outdoors, 0..1; 0.5 before the first look.
  double outdoors() const;
  double probability(Position place) const {
    return place == Position::outdoors ? outdoors() : 1 - outdoors();
  }
  /// When the bench probably came to that place, if it stands there; kNever: before the first look.
  Instant entered(Position place) const { return entered_[at(place)]; }
  Instant last_look() const { return last_; }
  /// Whether the last look had the reference.
  bool has_outdoor() const { return has_outdoor_; }
  bool has_indoor() const { return has_indoor_; }
  /// How the place's air usually differs from its reference, °C; without a reference its usual
  /// level.
  double usual_outdoor_c() const { return usual_[at(Position::outdoors)][has_outdoor_]; }
  double usual_indoor_c() const { return usual_[at(Position::indoors)][has_indoor_]; }

  template <class A>
  void fields(A& a) {
    a(last_);
    a(log_odds_);
    a(has_outdoor_);
    a(has_indoor_);
    a(indoor_smooth_c_);
    for (std::size_t i = 0; i < 2; ++i) {
      a(beliefs_[i]);
      a(entered_[i]);
      a(usual_[i][0]);
      a(usual_[i][1]);
    }
    a(known_);
    if (a.version() < kSunVersion) return;
    a(indoor_last_c_);
    a(weather_);
    a(course_);
    a(vapour_);
    a(noise_);
  }

 private:
  /// One look, and what may have happened since the last one.
  struct Step {
    const Sighting& seen;
    double hours;
    double daylight;  ///< share of the sun that counts, 0..1
    PlaceModel outdoors, indoors;
    std::array<double, 2> reference_c{};  ///< indoors, outdoors
    double reference_moved_c = 0;         ///< the indoor one, since the last look
    double keeps, keeps_half;  ///< share of the old temperature left after all and half of the step
    double carried;            ///< log-likelihood ratio of a move, by vapour
  };
  static std::size_t at(Position place) { return place == Position::outdoors ? 1 : 0; }
  PlaceModel model(Position place, double hours, double daylight, bool first) const;
  void start(const Sighting& sighting, const MoveRules& rules);
  Step step_to(const Sighting& sighting, const MoveRules& rules);
  void refer(Step& step);
  void weigh(const Step& step, Position told);
  double explain(PlaceBelief& belief, Position where, bool stayed, const Step& step) const;
  /// Updates the beliefs by the weights of the explanations, indexed by place before and after.
  void settle(const std::array<std::array<PlaceBelief, 2>, 2>& after,
              std::array<std::array<double, 2>, 2>& weight, Instant middle);
  /// Moves the time of entering a place towards `middle`, the more the likelier it was just now.
  void enter(std::size_t to, double since_before, Instant middle);
  void learn(double hours, const MoveRules& rules);

  Instant last_{kNever};
  double log_odds_ = 0;                            ///< of standing outdoors
  std::uint8_t has_outdoor_ = 0, has_indoor_ = 0;  ///< references at the last look
  std::uint8_t known_ = 0;  ///< whether the usual levels were taken from the settings
  double indoor_smooth_c_ = 0;
  double indoor_last_c_ = std::numeric_limits<double>::quiet_NaN();  ///< at the last look
  RunningMean weather_;                                              ///< of the outdoor reference
  SunCourse course_;
  BenchVapour vapour_;
  SensorNoise noise_;
  std::array<PlaceBelief, 2> beliefs_;  ///< if it stands indoors, outdoors
  std::array<Instant, 2> entered_{kNever, kNever};
  std::array<std::array<double, 2>, 2> usual_{};  ///< by place, then: without a reference, with one
};

}  // namespace plainwater::season
