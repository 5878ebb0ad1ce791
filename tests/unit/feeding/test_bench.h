// One bench's feeding, night by night, without an engine around it.
#pragma once

#include <algorithm>
#include <catch2/catch.hpp>
#include <limits>
#include <memory>
#include <string>
#include <vector>

#include "feeding/bench_feeding.h"

namespace plainwater::feeding {

/// A bench of the intermediate group in its cooling half-year: nights of 18 °C, days of 13 h.
struct TestBench {
  std::unique_ptr<Settings> settings = std::make_unique<Settings>();
  season::BenchSeason season;
  std::unique_ptr<BenchFeeding> feeding;
  std::vector<Decision> out;
  std::int64_t night = 20'000;
  bool days_shorten = true, long_days = false, tropical = false;
  double light_h = 13;
  double day_over_night_c = 6;  ///< how much warmer days are than the nights after them
  std::optional<double> day_c;  ///< days of this mean instead

  explicit TestBench(DropRules rules = {}, Group group = Group::intermediate) {
    settings->drops = rules;
    Bench bench;
    bench.name = "long";
    bench.group = group;
    bench.moves = Moves::watched;
    settings->benches.push_back(bench);
    feeding = std::make_unique<BenchFeeding>(&settings->benches[0], settings.get());
    feeding->begin(facts(), now(), out);
  }
  Bench& bench() { return settings->benches[0]; }
  /// Seven in the morning after the last night.
  Instant now() const { return Instant(kDay * night) + hours(7); }

  SeasonFacts facts() const {
    SeasonFacts f;
    f.known_nights = season.acclimation.counted();
    f.heard =
        f.known_nights > 0 && night - season.acclimation.nights().back().night <= kHeardNights;
    f.learning = f.known_nights < kLearningNights;
    f.light_h = light_h;
    f.tropical = tropical;
    f.n14_c = season.acclimation.recent_c(14);
    f.group_night_c = group_night_c(settings->benches[0]);
    f.growing_night_c = season.acclimation.growing_night_c(15.5);
    return f;
  }
  void due_until(Instant t) {
    for (Instant due = feeding->next_due(); due <= t; due = feeding->next_due())
      feeding->take_due(due, season, out);
  }
  void one_night(double mean_c, bool counted = true) {
    ++night;
    due_until(now());
    NightFacts n;
    n.time = now();
    n.night = night;
    n.counted = counted;
    n.air.temperature.mean = mean_c;
    n.air.temperature.coverage = counted ? 1 : 0.2;
    if (counted) n.deficit_c = season.acclimation.take(night, mean_c, settings->drops);
    const double unknown = std::numeric_limits<double>::quiet_NaN();
    const season::Cycle cycle{now() - hours(25), now() - hours(13), now() - hours(1),
                              counted ? day_c.value_or(mean_c + day_over_night_c) : unknown,
                              counted ? mean_c : unknown};
    if (season.moves.close(cycle, true, settings->moves)) feeding->shuttling_ended(season);
    n.days_shorten = days_shorten;
    n.long_days = long_days;
    n.season = facts();
    n.season.counted = counted;
    feeding->take_night(n, season, out);
  }
  void nights(int count, double mean_c) {
    for (int i = 0; i < count; ++i) one_night(mean_c + 0.1 * static_cast<double>(night % 3));
  }
  void blind(int count) {
    for (int i = 0; i < count; ++i) one_night(0, false);
  }
  /// The bench is carried so many hours after the last night's close, and seen there an hour later.
  season::Carried carry(Position to, double hours_after = 3) {
    const Instant since = now() + from_days(hours_after / 24), seen = since + hours(1);
    due_until(seen);
    const season::Carried carried = season.moves.take(to, since, settings->moves);
    feeding->take_move(carried, to, since, seen, season, out);
    return carried;
  }
  /// The air is so cold for some hours up to `t`, or to now.
  void cold(double air_c, double hours_long = 4, Position place = Position::unknown,
            std::optional<Instant> until = {}) {
    const Instant t = until.value_or(now());
    feeding->take_cold({t - from_days(hours_long / 24), t, air_c, air_c}, place, t, out);
  }
  Reply ask(RequestKind kind, std::optional<Instant> until = {}, std::optional<Instant> from = {},
            bool full = false) {
    Request r;
    r.id = "r" + std::to_string(out.size());
    r.who = "Ada";
    r.kind = kind;
    r.bench = "long";
    r.from = from;
    r.until = until;
    r.full = full;
    return feeding->take_request(r, now(), season, out);
  }
  BenchFeeding::Share share() const { return feeding->effective(now()); }
  int percent() const { return share().percent; }
  int count(DecisionKind kind) const {
    return static_cast<int>(
        std::count_if(out.begin(), out.end(), [=](const Decision& d) { return d.kind == kind; }));
  }
  /// The last decision of this kind.
  const Decision& last(DecisionKind kind) const {
    const auto found =
        std::find_if(out.rbegin(), out.rend(), [=](const Decision& d) { return d.kind == kind; });
    REQUIRE(found != out.rend());
    return *found;
  }
};

}  // namespace plainwater::feeding
