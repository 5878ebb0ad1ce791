#include "season/position_filter.h"

#include <algorithm>
#include <cmath>

#include "common/json_text.h"

namespace plainwater::season {
namespace {

constexpr Span kLeastStep = minutes(5);
constexpr double kNoise_c = 0.4;   // of a sensor among leaves
constexpr double kLoose_c = 0.04;  // what the lag leaves out
constexpr double kHandling =
    0.4;                         // share of the difference that a move's unknown minute leaves open
constexpr double kMostOdds = 9;  // a few in ten thousand: no place is ever beyond doubt
constexpr double kSmooth_h =
    2.5;                         // the reference's own ups and downs are the bench's only in part:
constexpr double kShared = 0.5;  // this share of them is taken over,
constexpr double kUnshared = 0.5;  // and this share is added to the doubt
constexpr double kLearn_h = 40;
constexpr double kSettled = 0.95;  // so sure: differences are learnt

/// How a place's air goes, with and without a reference.
struct Course {
  double spread_c,
      hours;        ///< standard deviation around what is usual, and how long a deviation lasts
  double unsure_c;  ///< how well `usual` is known at first
  double bound_c;   ///< how far it may be learnt away from where it began
};
constexpr Course kCourses[2][2] = {
    {{1.1, 9, 4, 1.25}, {1.0, 12, 1, 1.5}},   // indoors: without, with a reference
    {{3.6, 7.5, 6, 15}, {2.1, 4.5, 1.5, 3}},  // outdoors
};

/// What the references there are allow.
struct Means {
  double stay_h;       ///< usual time between moves
  double blur_c;       ///< differences of the two places near and under this say little
  double scale_share;  ///< a vague belief that fits is hardly worse than a sharp one: sharpness
                       ///< alone is weak evidence
};

const Means& means_of(bool outdoor, bool indoor) {
  static constexpr Means kNone{140, 0, 0.45}, kOne{60, 0.5, 0.4}, kBoth{90, 1.0, 0.4};
  return outdoor && indoor ? kBoth : outdoor || indoor ? kOne : kNone;
}

/// What the lag leaves out where the bench was carried within the step.
double loosened_c(double apart_c, double keeps_half) {
  return std::hypot(kLoose_c, kHandling * apart_c * std::sqrt(keeps_half));
}

/// The log-likelihood of a look, if it may also be a wild one that says nothing: a glitch fits no
/// place, and must not be taken for the place that it misses by less. The first look after a move
/// could be one too; the next tells.
double or_wild(double fits) {
  constexpr double kWild = -8.75;
  return std::max(fits, kWild) + std::log1p(std::exp(-std::abs(fits - kWild)));
}

}  // namespace

double PositionFilter::outdoors() const { return 1 / (1 + std::exp(-log_odds_)); }

PlaceModel PositionFilter::model(Position place, Span step, bool first) const {
  const bool referenced = place == Position::outdoors ? has_outdoor_ : has_indoor_;
  const Course& course = kCourses[at(place)][referenced];
  PlaceModel m;
  m.usual_c = usual_[at(place)][referenced];
  m.spread_c = first ? std::hypot(course.spread_c, course.unsure_c) : course.spread_c;
  m.keeps = std::exp(-hours_of(step) / course.hours);
  return m;
}

void PositionFilter::start(const Sighting& s, const MoveRules& rules) {
  if (!known_) usual_ = {{{rules.indoor_level_c, 0}, {rules.outdoor_level_c, 0}}};
  known_ = 1;
  has_outdoor_ = !std::isnan(s.outdoor_c);
  has_indoor_ = !std::isnan(s.indoor_c);
  indoor_smooth_c_ = has_indoor_ ? rounded(s.indoor_c) : 0;
  const PlaceModel out = model(Position::outdoors, Span(0), true),
                   in = model(Position::indoors, Span(0), true);
  beliefs_[0] = PlaceBelief::first(Position::indoors, indoor_smooth_c_, out, in);
  beliefs_[1] = PlaceBelief::first(Position::outdoors, has_outdoor_ ? s.outdoor_c : 0, out, in);
}

bool PositionFilter::take(const Sighting& s, Position told, const MoveRules& rules) {
  if (last_ != kNever && s.time < last_ + kLeastStep) return false;
  // A reference that came or went changes what the differences mean; where the bench stands is
  // still known.
  const bool other =
      has_outdoor_ == std::isnan(s.outdoor_c) || has_indoor_ == std::isnan(s.indoor_c);
  if (last_ == kNever || other) start(s, rules);
  if (last_ == kNever) last_ = s.time - kLeastStep;
  weigh(s, told, rules);
  return true;
}

void PositionFilter::weigh(const Sighting& s, Position told, const MoveRules& rules) {
  const Span step = s.time - last_;
  const PlaceModel out = model(Position::outdoors, step, false),
                   in = model(Position::indoors, step, false);
  if (has_indoor_)
    indoor_smooth_c_ = rounded(indoor_smooth_c_ + (s.indoor_c - indoor_smooth_c_) *
                                                      (1 - std::exp(-hours_of(step) / kSmooth_h)));
  const double swing_c = has_indoor_ ? s.indoor_c - indoor_smooth_c_ : 0;
  const double reference_c[2] = {indoor_smooth_c_ + kShared * swing_c,
                                 has_outdoor_ ? s.outdoor_c : 0};
  const double doubt_c[2] = {kUnshared * std::abs(swing_c), 0};
  const Means& means = means_of(has_outdoor_, has_indoor_);
  const double moved = 1 - std::exp(-hours_of(step) / means.stay_h);
  const double apart_c = reference_c[1] + out.usual_c - reference_c[0] - in.usual_c;
  const double tells =
      means.blur_c == 0 ? 1 : apart_c * apart_c / (apart_c * apart_c + means.blur_c * means.blur_c);
  const double lag_ms = rules.lag_min * 60'000;
  const double keeps = std::exp(-static_cast<double>(step.count()) / lag_ms);
  const double keeps_half = std::sqrt(keeps);  // a move lies somewhere in the step
  const double before[2] = {1 - outdoors(), outdoors()};

  PlaceBelief after[2][2];  // from, to
  double weight[2][2], most = -1e300;
  for (std::size_t from = 0; from < 2; ++from) {
    PlaceBelief relaxed = beliefs_[from];
    relaxed.relax(out, in);
    for (std::size_t to = 0; to < 2; ++to) {
      PlaceBelief& belief = after[from][to] = relaxed;
      const Position where = to == 1 ? Position::outdoors : Position::indoors;
      const double air_c = reference_c[to] + (to == 1 ? relaxed.outdoor_c : relaxed.indoor_c);
      const double loose_c =
          from == to ? kLoose_c : loosened_c(air_c - relaxed.bench_c, keeps_half);
      belief.follow(where, reference_c[to], from == to ? keeps : keeps_half, loose_c);
      const double fits = or_wild(belief.take(s.bench_c, kNoise_c, doubt_c[to], means.scale_share));
      weight[from][to] =
          std::log(std::max(before[from] * (from == to ? 1 - moved : moved), 1e-12)) + tells * fits;
      if (told != Position::unknown && to != at(told)) weight[from][to] = -1e9;
      most = std::max(most, weight[from][to]);
    }
  }
  double sum[2] = {0, 0};
  for (auto& from : weight)
    for (std::size_t to = 0; to < 2; ++to) sum[to] += from[to] = std::exp(from[to] - most);
  const Instant middle = last_ + step / 2;
  for (std::size_t to = 0; to < 2; ++to) {
    const double stayed = sum[to] > 0 ? weight[to][to] / sum[to] : 1;
    beliefs_[to] = PlaceBelief::mixed(after[to][to], stayed, after[1 - to][to], 1 - stayed);
    beliefs_[to].round();
    // Doubt that is kept up only because nothing is ever beyond it is of the bench having been
    // carried just now.
    const double here = sum[to] / (sum[0] + sum[1]),
                 since_before = stayed * std::min(1.0, here * (1 + std::exp(kMostOdds)));
    enter(to, since_before, middle);
  }
  log_odds_ =
      rounded(std::clamp(std::log(std::max(sum[1], 1e-12)) - std::log(std::max(sum[0], 1e-12)),
                         -kMostOdds, kMostOdds));
  last_ = s.time;
  learn(step, rules);
}

void PositionFilter::enter(std::size_t to, double since_before, Instant middle) {
  if (entered_[to] == kNever && since_before < 0.5) entered_[to] = middle;
  if (entered_[to] != kNever)
    entered_[to] += Span(
        std::llround((1 - since_before) * static_cast<double>((middle - entered_[to]).count())));
}

void PositionFilter::learn(Span step, const MoveRules& rules) {
  const double share = 1 - std::exp(-hours_of(step) / kLearn_h);
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
