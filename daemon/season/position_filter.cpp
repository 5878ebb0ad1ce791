#include "season/position_filter.h"

#include <algorithm>
#include <cmath>

#include "common/json_text.h"

namespace plainwater::season {
namespace {

constexpr Span kLeastStep = minutes(5);
constexpr double kLoose_c = 0.04;  // error of the lag model
constexpr double kHandling =
    0.4;  // share of the difference left uncertain, as the minute of a move is unknown
constexpr double kMostOdds = 9;  // about one in ten thousand: no place is ever beyond doubt
constexpr double kLearn_h = 45;
constexpr double kSettled = 0.95;  // as sure as this, differences are learnt

// The indoor reference stands in another room with its own sun, stove and draughts. The bench
// shares its ups and downs around its mean of hours only in part, warmth the least.
constexpr double kSmooth_h = 10, kSharedWarmth = 0.4, kSharedCold = 0.6;
// Each degree that it moves makes the difference between the rooms less certain, °C² per degree:
// per degree and not per look, since one sunny afternoon is one event however often it is read.
constexpr double kOwnWays_c = 0.25;
// Uncooled rooms follow the running mean outdoors: by 0.33 above 10 °C in free-running buildings
// (EN 16798-1:2019, adaptive comfort), by less where some are heated or cooled.
constexpr double kFollows = 0.2, kFollowsFrom_c = 10, kWeather_h = 72;

// Sine of the sun's elevation from which daylight is full: 9° above the horizon.
constexpr double kFullSun = 0.15;
constexpr double kMostSun_c = 6.5;  // how much warmer than usual sun can make a room

/// How a place's air behaves, with or without a reference.
struct Course {
  double spread_c,
      hours;        ///< standard deviation around what is usual, and how long a deviation lasts
  double night;     ///< share of the deviation left at night, without sun and with less wind
  double unsure_c;  ///< how uncertain `usual` is at first
  double bound_c;   ///< how far learning may move `usual` from its start
  double sun_var;   ///< by day, while the air warms: variance added per hour, °C²
  double sun_ch;    ///< how much the sun may warm the air per hour, °C
};
constexpr Course kCourses[2][2] = {
    // indoors: without, with a reference
    {{0.9, 10, 1, 4, 5, 0.5, 2}, {0.6, 6, 1, 1, 2.5, 0.5, 2}},
    // outdoors: the reference shares most of the sun's warmth
    {{3.6, 8, 0.5, 6, 15, 0.4, 5.5}, {2, 3.2, 0.4, 1.5, 2, 0.2, 1}},
};

constexpr double kStay_h = 65;  // usual time between moves
// Where the two places differ by about this or less, a look says little; °C.
constexpr double kBlur_c = 0.3;

/// A vague belief that fits is hardly worse than a sharp one: sharpness alone is weak evidence, and
/// weaker still where references wander on their own.
double scale_share(bool referenced) { return referenced ? 0.22 : 0.3; }

/// Error of the lag model if the bench was carried within the step.
double loosened_c(double apart_c, double keeps_half) {
  return std::hypot(kLoose_c, kHandling * apart_c * std::sqrt(keeps_half));
}

/// The log-likelihood of a look that may also be a glitch. A glitch fits no place, and must not
/// count for the place that it misses by less. The first look after a move may look like one; the
/// next decides.
double or_wild(double fits) {
  constexpr double kWild = -14;
  return std::max(fits, kWild) + std::log1p(std::exp(-std::abs(fits - kWild)));
}

}  // namespace

double PositionFilter::outdoors() const { return 1 / (1 + std::exp(-log_odds_)); }

PlaceModel PositionFilter::model(Position place, double hours, double daylight, bool first) const {
  const bool referenced = place == Position::outdoors ? has_outdoor_ : has_indoor_;
  const Course& course = kCourses[at(place)][referenced];
  PlaceModel m;
  m.usual_c = usual_[at(place)][referenced];
  m.spread_c = first ? std::hypot(course.spread_c, course.unsure_c)
                     : course.spread_c * (course.night + (1 - course.night) * daylight);
  m.keeps = std::exp(-hours / course.hours);
  return m;
}

void PositionFilter::start(const Sighting& s, const MoveRules& rules) {
  if (!known_) usual_ = {{{rules.indoor_level_c, 0}, {rules.outdoor_level_c, 0}}};
  known_ = 1;
  has_outdoor_ = !std::isnan(s.outdoor_c);
  has_indoor_ = !std::isnan(s.indoor_c);
  indoor_smooth_c_ = has_indoor_ ? rounded(s.indoor_c) : 0;
  indoor_last_c_ = s.indoor_c;
  const PlaceModel out = model(Position::outdoors, 0, 1, true),
                   in = model(Position::indoors, 0, 1, true);
  beliefs_[0] = PlaceBelief::first(Position::indoors, indoor_smooth_c_, out, in);
  beliefs_[1] = PlaceBelief::first(Position::outdoors, has_outdoor_ ? s.outdoor_c : 0, out, in);
}

bool PositionFilter::take(const Sighting& s, Position told, const MoveRules& rules) {
  if (last_ != kNever && s.time < last_ + kLeastStep) return false;
  // When a reference comes or goes, the differences mean something else, but where the bench stands
  // is still known.
  const bool other =
      has_outdoor_ == std::isnan(s.outdoor_c) || has_indoor_ == std::isnan(s.indoor_c);
  if (last_ == kNever || other) start(s, rules);
  if (last_ == kNever) last_ = s.time - kLeastStep;
  const Step step = step_to(s, rules);
  weigh(step, told);
  last_ = s.time;
  learn(step.hours, rules);
  return true;
}

PositionFilter::Step PositionFilter::step_to(const Sighting& s, const MoveRules& rules) {
  const double passed_h = hours_of(s.time - last_);
  const double daylight = std::clamp(s.sun / kFullSun, 0.0, 1.0);
  const double keeps = std::exp(-passed_h * 60 / rules.lag_min);
  Step step{s,
            passed_h,
            daylight,
            model(Position::outdoors, passed_h, daylight, false),
            model(Position::indoors, passed_h, daylight, false),
            {},
            0,
            keeps,
            std::sqrt(keeps),  // a move happens somewhere within the step
            vapour_.take(s.bench_c, s.humidity_rh, s.time, passed_h)};
  noise_.take(s.bench_c, passed_h);
  refer(step);
  return step;
}

void PositionFilter::refer(Step& step) {
  const Sighting& s = step.seen;
  course_.take(s.sun, step.hours);
  step.reference_c[1] = has_outdoor_ ? s.outdoor_c : course_.departure_c();
  if (has_outdoor_) weather_.take(s.outdoor_c, step.hours, kWeather_h);
  if (!has_indoor_) {
    // Without an indoor reference the level itself has to follow the weather.
    step.reference_c[0] =
        has_outdoor_ ? kFollows * std::max(0.0, weather_.mean - kFollowsFrom_c) : 0;
    return;
  }
  indoor_smooth_c_ = rounded(indoor_smooth_c_ + (s.indoor_c - indoor_smooth_c_) *
                                                    (1 - std::exp(-step.hours / kSmooth_h)));
  const double swing_c = s.indoor_c - indoor_smooth_c_;
  step.reference_c[0] = indoor_smooth_c_ + (swing_c > 0 ? kSharedWarmth : kSharedCold) * swing_c;
  if (!std::isnan(indoor_last_c_)) step.reference_moved_c = std::abs(s.indoor_c - indoor_last_c_);
  indoor_last_c_ = s.indoor_c;
}

/// Updates the belief by the look, assuming that the bench stands at `where` now. Returns the
/// look's log-likelihood.
double PositionFilter::explain(PlaceBelief& belief, Position where, bool stayed,
                               const Step& step) const {
  const bool out = where == Position::outdoors, referenced = out ? has_outdoor_ : has_indoor_;
  const Course& course = kCourses[at(where)][referenced];
  const double reference_c = step.reference_c[at(where)], bench_c = step.seen.bench_c;
  const double keeps = stayed ? step.keeps : step.keeps_half, share = 1 - keeps;
  const double sunny_h = step.daylight * step.hours;
  // In daylight the sun may warm any place; it never cools one.
  if (bench_c > belief.foretold_c(where, reference_c, keeps))
    belief.widen(where, course.sun_var * sunny_h);
  const double air_c = reference_c + (out ? belief.outdoor_c : belief.indoor_c);
  const double loose_c = stayed ? kLoose_c : loosened_c(air_c - belief.bench_c, step.keeps_half);
  const double scale = scale_share(has_outdoor_ || has_indoor_), noise_c = noise_.noise_c();
  PlaceBelief sunless = belief;
  sunless.follow(where, reference_c, keeps, loose_c);
  const double miss_c = bench_c - sunless.bench_c, expected = sunless.bench_var + noise_c * noise_c,
               sun_c = course.sun_ch * sunny_h * share;
  const double beyond = std::min(miss_c * miss_c - expected, sun_c * sun_c);
  const double fits = sunless.take(bench_c, noise_c, scale);
  if (miss_c <= 0 || beyond <= 0) {
    belief = sunless;
    return fits;
  }
  // A rise that the sun can cause counts against the place only once: the belief then takes it
  // over, so that later looks do not count the same rise again.
  belief.widen(where, beyond / (share * share));
  belief.follow(where, reference_c, keeps, loose_c);
  belief.take(bench_c, noise_c, scale);
  return fits;
}

void PositionFilter::weigh(const Step& step, Position told) {
  const double moved = 1 - std::exp(-step.hours / kStay_h);
  const double apart_c =
      step.reference_c[1] + step.outdoors.usual_c - step.reference_c[0] - step.indoors.usual_c;
  const bool referenced = has_outdoor_ || has_indoor_;
  const double tells = referenced ? apart_c * apart_c / (apart_c * apart_c + kBlur_c * kBlur_c) : 1;
  const double before[2] = {1 - outdoors(), outdoors()};
  std::array<std::array<PlaceBelief, 2>, 2> after;  // from, to
  std::array<std::array<double, 2>, 2> weight;
  for (std::size_t from = 0; from < 2; ++from) {
    PlaceBelief relaxed = beliefs_[from];
    relaxed.relax(step.outdoors, step.indoors);
    relaxed.widen(Position::indoors, kOwnWays_c * step.reference_moved_c);
    for (std::size_t to = 0; to < 2; ++to) {
      const bool stayed = from == to;
      const Position where = to == 1 ? Position::outdoors : Position::indoors;
      after[from][to] = relaxed;
      const double fits = or_wild(explain(after[from][to], where, stayed, step));
      weight[from][to] = std::log(std::max(before[from] * (stayed ? 1 - moved : moved), 1e-12)) +
                         tells * fits + (stayed ? 0 : step.carried);
      if (told != Position::unknown && to != at(told)) weight[from][to] = -1e9;
    }
  }
  settle(after, weight, last_ + (step.seen.time - last_) / 2);
}

void PositionFilter::settle(const std::array<std::array<PlaceBelief, 2>, 2>& after,
                            std::array<std::array<double, 2>, 2>& weight, Instant middle) {
  double sum[2] = {0, 0};
  const double most = std::max({weight[0][0], weight[0][1], weight[1][0], weight[1][1]});
  for (auto& from : weight)
    for (std::size_t to = 0; to < 2; ++to) sum[to] += from[to] = std::exp(from[to] - most);
  for (std::size_t to = 0; to < 2; ++to) {
    const double stayed = sum[to] > 0 ? weight[to][to] / sum[to] : 1;
    beliefs_[to] = PlaceBelief::mixed(after[to][to], stayed, after[1 - to][to], 1 - stayed);
    // Where only the floor of kMostOdds keeps a place possible, the bench would have been carried
    // there just now.
    const double here = sum[to] / (sum[0] + sum[1]),
                 since_before = stayed * std::min(1.0, here * (1 + std::exp(kMostOdds)));
    enter(to, since_before, middle);
  }
  const double most_indoors_c = usual_[at(Position::indoors)][has_indoor_] + kMostSun_c;
  beliefs_[0].indoor_c = std::min(beliefs_[0].indoor_c, most_indoors_c);
  for (PlaceBelief& belief : beliefs_) belief.round();
  log_odds_ =
      rounded(std::clamp(std::log(std::max(sum[1], 1e-12)) - std::log(std::max(sum[0], 1e-12)),
                         -kMostOdds, kMostOdds));
}

void PositionFilter::enter(std::size_t to, double since_before, Instant middle) {
  if (entered_[to] == kNever && since_before < 0.5) entered_[to] = middle;
  if (entered_[to] != kNever)
    entered_[to] += Span(
        std::llround((1 - since_before) * static_cast<double>((middle - entered_[to]).count())));
}

void PositionFilter::learn(double hours, const MoveRules& rules) {
  const double share = 1 - std::exp(-hours / kLearn_h);
  const auto draw = [&](Position place, double seen_c, bool referenced, double began_c) {
    if (probability(place) < kSettled) return;
    double& usual = usual_[at(place)][referenced];
    const double bound = kCourses[at(place)][referenced].bound_c;
    usual = rounded(std::clamp(usual + share * (seen_c - usual), began_c - bound, began_c + bound));
  };
  draw(Position::outdoors, beliefs_[1].outdoor_c, has_outdoor_,
       has_outdoor_ ? 0 : rules.outdoor_level_c);
  draw(Position::indoors, beliefs_[0].indoor_c, has_indoor_,
       has_indoor_ ? 0 : rules.indoor_level_c);
}

void PositionFilter::believe(Position place, Instant moved) {
  log_odds_ = place == Position::outdoors ? kMostOdds : -kMostOdds;
  entered_[at(place)] = moved;
}

}  // namespace plainwater::season
