#include "season/place_belief.h"

#include <algorithm>
#include <cmath>

#include "common/json_text.h"

namespace plainwater::season {

PlaceBelief PlaceBelief::first(Position where, double reference_c, const PlaceModel& outdoors,
                               const PlaceModel& indoors) {
  PlaceBelief b;
  b.outdoor_c = outdoors.usual_c;
  b.indoor_c = indoors.usual_c;
  b.outdoor_var = outdoors.spread_c * outdoors.spread_c;
  b.indoor_var = indoors.spread_c * indoors.spread_c;
  const bool out = where == Position::outdoors;
  b.bench_c = reference_c + (out ? b.outdoor_c : b.indoor_c);
  b.bench_var = out ? b.outdoor_var : b.indoor_var;
  (out ? b.bench_outdoor : b.bench_indoor) = b.bench_var;
  return b;
}

PlaceBelief PlaceBelief::mixed(const PlaceBelief& a, double weight_a, const PlaceBelief& b,
                               double weight_b) {
  const double bench = a.bench_c - b.bench_c, outdoor = a.outdoor_c - b.outdoor_c,
               indoor = a.indoor_c - b.indoor_c;
  const double apart = weight_a * weight_b;
  const auto mix = [&](double of_a, double of_b) { return weight_a * of_a + weight_b * of_b; };
  PlaceBelief m;
  m.bench_c = mix(a.bench_c, b.bench_c);
  m.outdoor_c = mix(a.outdoor_c, b.outdoor_c);
  m.indoor_c = mix(a.indoor_c, b.indoor_c);
  m.bench_var = mix(a.bench_var, b.bench_var) + apart * bench * bench;
  m.bench_outdoor = mix(a.bench_outdoor, b.bench_outdoor) + apart * bench * outdoor;
  m.bench_indoor = mix(a.bench_indoor, b.bench_indoor) + apart * bench * indoor;
  m.outdoor_var = mix(a.outdoor_var, b.outdoor_var) + apart * outdoor * outdoor;
  m.outdoor_indoor = mix(a.outdoor_indoor, b.outdoor_indoor) + apart * outdoor * indoor;
  m.indoor_var = mix(a.indoor_var, b.indoor_var) + apart * indoor * indoor;
  return m;
}

void PlaceBelief::relax(const PlaceModel& outdoors, const PlaceModel& indoors) {
  const double o = outdoors.keeps, i = indoors.keeps;
  outdoor_c = outdoors.usual_c + (outdoor_c - outdoors.usual_c) * o;
  indoor_c = indoors.usual_c + (indoor_c - indoors.usual_c) * i;
  bench_outdoor *= o;
  bench_indoor *= i;
  outdoor_indoor *= o * i;
  outdoor_var = outdoor_var * o * o + outdoors.spread_c * outdoors.spread_c * (1 - o * o);
  indoor_var = indoor_var * i * i + indoors.spread_c * indoors.spread_c * (1 - i * i);
}

void PlaceBelief::widen(Position where, double variance) {
  (where == Position::outdoors ? outdoor_var : indoor_var) += variance;
}

double PlaceBelief::foretold_c(Position where, double reference_c, double keeps) const {
  const double air_c = reference_c + (where == Position::outdoors ? outdoor_c : indoor_c);
  return keeps * bench_c + (1 - keeps) * air_c;
}

void PlaceBelief::follow(Position where, double reference_c, double keeps, double loose_c) {
  const bool out = where == Position::outdoors;
  const double share = 1 - keeps;
  const double air_c = reference_c + (out ? outdoor_c : indoor_c);
  const double with_air = out ? bench_outdoor : bench_indoor,
               air_var = out ? outdoor_var : indoor_var;
  bench_c = keeps * bench_c + share * air_c;
  bench_var = keeps * keeps * bench_var + 2 * keeps * share * with_air + share * share * air_var +
              loose_c * loose_c;
  bench_outdoor = keeps * bench_outdoor + share * (out ? outdoor_var : outdoor_indoor);
  bench_indoor = keeps * bench_indoor + share * (out ? outdoor_indoor : indoor_var);
}

double PlaceBelief::take(double bench_now_c, double noise_c, double scale_share) {
  constexpr double kAirFreedom =
      10;  // degrees of freedom of the Student-t: heavy tails from sun and draughts
  const double variance = bench_var + noise_c * noise_c;
  const double miss = bench_now_c - bench_c, squares = miss * miss / variance;
  const double weight = std::min(1.0, (kAirFreedom + 1) / (kAirFreedom + squares));
  const double gain = bench_var * weight / variance,
               gain_outdoor = bench_outdoor * weight / variance,
               gain_indoor = bench_indoor * weight / variance;
  bench_c += gain * miss;
  outdoor_c += gain_outdoor * miss;
  indoor_c += gain_indoor * miss;
  outdoor_var -= gain_outdoor * bench_outdoor;
  outdoor_indoor -= gain_outdoor * bench_indoor;
  indoor_var -= gain_indoor * bench_indoor;
  bench_var -= gain * bench_var;
  bench_outdoor -= gain * bench_outdoor;
  bench_indoor -= gain * bench_indoor;
  return -scale_share * std::log(variance) -
         (kAirFreedom + 1) / 2 * std::log1p(squares / kAirFreedom);
}

void PlaceBelief::round() {
  for (double* figure : {&bench_c, &outdoor_c, &indoor_c, &bench_var, &bench_outdoor, &bench_indoor,
                         &outdoor_var, &outdoor_indoor, &indoor_var})
    *figure = rounded(*figure);
}

}  // namespace plainwater::season
