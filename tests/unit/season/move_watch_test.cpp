// Single moves, shuttling, and what a move did to the climate.
#include "season/move_watch.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "positions.h"

using namespace plainwater;
using namespace plainwater::season;

namespace {

constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();

struct Days {
  MoveWatch watch;
  MoveRules rules;
  Instant midnight = *parse_rfc3339("2026-05-01T00:00:00Z");
  bool ended = false;

  Instant at(int day, double hour) const { return midnight + kDay * day + from_days(hour / 24); }
  Carried take(Position to, int day, double hour) { return watch.take(to, at(day, hour), rules); }
  /// The day and the night after it; sunrise at 5, sunset at 20.
  bool close(int day, double day_c, double night_c) {
    return watch.close({at(day, 5), at(day, 20), at(day + 1, 5), day_c, night_c}, true, rules);
  }
  ClimateChange change(int day, double hour) const {
    return watch.climate_change(at(day, hour), at(day, hour));
  }
};

}  // namespace

TEST_CASE("A single move is one, and the way back of a short stay is told as that") {
  Days d;
  CHECK(d.watch.last_move() == kNever);
  CHECK(d.watch.episode() == kNever);
  CHECK(d.watch.last_to() == Position::unknown);
  CHECK(d.take(kOut, 0, 10) == Carried::once);
  CHECK(d.watch.last_to() == kOut);
  CHECK(d.watch.episode() == d.at(0, 10));
  CHECK(d.take(kIn, 0, 18) == Carried::back);
  CHECK(d.watch.pattern() == Pattern::settled);
  CHECK(d.take(kOut, 5, 10) == Carried::once);
  CHECK(d.take(kIn, 12, 10) == Carried::once);
}

TEST_CASE("The second out-and-back day in four makes it shuttling, from the first excursion on") {
  Days d;
  CHECK(d.take(kOut, 0, 10) == Carried::once);
  CHECK(d.take(kIn, 0, 18) == Carried::back);
  CHECK(d.take(kOut, 1, 10) == Carried::back);
  CHECK(d.watch.pattern() == Pattern::settled);  // the second day is not complete yet
  CHECK(d.take(kIn, 1, 18) == Carried::to_and_fro);
  CHECK(d.watch.pattern() == Pattern::shuttling);
  CHECK(d.watch.episode() == d.at(0, 10));
  CHECK(d.take(kOut, 2, 10) == Carried::again);
  CHECK(d.take(kIn, 2, 18) == Carried::again);
}

TEST_CASE("A day between does not matter; out and back two times within one day does") {
  Days apart, once;
  apart.take(kOut, 0, 10);
  apart.take(kIn, 0, 18);
  CHECK(apart.take(kOut, 3, 9) == Carried::once);
  CHECK(apart.take(kIn, 3, 17) == Carried::to_and_fro);
  once.take(kOut, 0, 8);
  once.take(kIn, 0, 11);
  once.take(kOut, 0, 13);
  CHECK(once.take(kIn, 0, 17) == Carried::back);
  CHECK(once.watch.pattern() == Pattern::settled);
}

TEST_CASE("Two out-and-back days that are not within four days are no pattern") {
  Days d;
  d.take(kOut, 0, 10);
  d.take(kIn, 0, 18);
  d.take(kOut, 4, 9);
  CHECK(d.take(kIn, 4, 17) == Carried::back);
  CHECK(d.watch.pattern() == Pattern::settled);
}

TEST_CASE(
    "What a day is does not hang on the meridian: back at 16:10 and at 15:50 the next day are two "
    "days at any longitude") {
  for (int zone = 0; zone < 24; ++zone) {
    Days d;
    d.midnight += hours(zone);
    d.take(kOut, 0, 9);
    d.take(kIn, 0, 16.2);
    d.take(kOut, 1, 9);
    INFO("zone " << zone);
    CHECK(d.take(kIn, 1, 15.8) == Carried::to_and_fro);
    Days twice;
    twice.midnight += hours(zone);
    twice.take(kOut, 0, 8);
    twice.take(kIn, 0, 11);
    twice.take(kOut, 0, 13);
    CHECK(twice.take(kIn, 0, 17) == Carried::back);
  }
}

TEST_CASE("A bench that comes in by night only shuttles too") {
  Days d;
  CHECK(d.take(kIn, 0, 20) == Carried::once);
  CHECK(d.take(kOut, 1, 8) == Carried::back);
  CHECK(d.take(kIn, 1, 20) == Carried::back);
  CHECK(d.take(kOut, 2, 8) == Carried::to_and_fro);
  CHECK(d.watch.episode() == d.at(0, 20));
}

TEST_CASE("The settings say how many days in how many make a pattern") {
  Days d;
  d.rules.shuttle_days = 3;
  d.rules.shuttle_within_days = 5;
  for (int day = 0; day < 2; ++day) {
    d.take(kOut, day, 10);
    CHECK(d.take(kIn, day, 18) != Carried::to_and_fro);
  }
  d.take(kOut, 3, 10);
  CHECK(d.take(kIn, 3, 18) == Carried::to_and_fro);
  Days many;  // the most that the settings allow
  many.rules.shuttle_days = 30;
  many.rules.shuttle_within_days = 60;
  Carried last = Carried::once;
  for (int day = 0; day < 30; ++day) {
    many.take(kOut, day, 10);
    last = many.take(kIn, day, 18);
  }
  CHECK(last == Carried::to_and_fro);
}

TEST_CASE("Shuttling ends at the close of the night after four days in one place, once") {
  Days d;
  int day = 0;
  for (; day < 6; ++day) {
    d.take(kOut, day, 10);
    d.take(kIn, day, 18);
    CHECK_FALSE(d.close(day, 12, 16));
  }
  REQUIRE(d.watch.pattern() == Pattern::shuttling);
  int ended = 0, closes = 0;
  for (; day < 20; ++day) {
    ++closes;
    if (!d.close(day, 20, 16)) continue;
    ++ended;
    CHECK(d.at(day + 1, 5) - d.watch.last_move() >= 4 * kDay);
    CHECK(closes <= 5);
  }
  CHECK(ended == 1);
  CHECK(d.watch.pattern() == Pattern::settled);
  CHECK(d.watch.episode() == d.at(5, 18));
  // And it may begin again.
  d.take(kOut, 30, 10);
  d.take(kIn, 30, 18);
  d.take(kOut, 31, 10);
  CHECK(d.take(kIn, 31, 18) == Carried::to_and_fro);
  CHECK(d.watch.episode() == d.at(30, 10));
}

TEST_CASE("A bench that goes on being carried does not settle") {
  Days d;
  for (int day = 0; day < 40; ++day) {
    if (day % 3 != 2) {
      d.take(kOut, day, 10);
      d.take(kIn, day, 18);
    }
    CHECK_FALSE(d.close(day, 12, 16));
  }
  CHECK(d.watch.pattern() == Pattern::shuttling);
}

TEST_CASE("The climate of a move: medians of the week before and of what came after") {
  Days d;
  for (int day = 0; day < 10; ++day) d.close(day, 20 + 0.1 * (day % 3), 15);
  d.take(kOut, 10, 12);
  for (int day = 10; day < 13; ++day) d.close(day, 16, 9);
  const ClimateChange c = d.change(10, 12);
  CHECK(c.known());
  CHECK(c.nights_after == 3);
  CHECK(c.night_before_c == 15);
  CHECK(c.night_after_c == 9);
  CHECK(c.day_before_c == Approx(20.1));
  CHECK(c.day_after_c == 16);
  CHECK(c.fall_c() == Approx(6));
  CHECK(c.rise_c() == 0);
}

TEST_CASE(
    "Only seven nights before count, and the day of the move itself counts for neither side") {
  Days d;
  for (int day = 0; day < 5; ++day) d.close(day, 30, 25);  // long gone
  for (int day = 5; day < 12; ++day) d.close(day, 20, 15);
  d.close(12, 99, 12);  // carried at noon
  d.close(13, 18, 12);
  const ClimateChange c = d.change(12, 12);
  CHECK(c.night_before_c == 15);
  CHECK(c.day_before_c == 20);
  CHECK(c.day_after_c == 18);
  CHECK(c.nights_after == 2);
  // Carried in the middle of a night: that night is neither.
  const ClimateChange by_night = d.change(12, 24);
  CHECK(by_night.night_before_c == 15);
  CHECK(by_night.nights_after == 1);
}

TEST_CASE(
    "The minute of a move is an estimate: a night that began shortly before it is one after it") {
  Days d;
  for (int day = 0; day < 10; ++day) d.close(day, 20, 15);
  d.close(10, 20, 8);
  CHECK(d.change(10, 21).nights_after == 1);
  CHECK(d.change(10, 21).day_before_c == 20);
  CHECK(d.change(10, 23.5).nights_after == 0);
}

TEST_CASE("Nights and days that were not covered do not count") {
  Days d;
  for (int day = 0; day < 10; ++day) d.close(day, 20, day % 2 == 0 ? 15 : kNothing);
  for (int day = 10; day < 14; ++day) d.close(day, kNothing, day % 2 == 0 ? 11 : kNothing);
  const ClimateChange c = d.change(10, 6);
  CHECK(c.night_before_c == 15);
  CHECK(c.nights_after == 2);
  CHECK(c.night_after_c == 11);
  CHECK(std::isnan(c.day_after_c));
  CHECK(c.fall_c() == 4);
  CHECK(c.rise_c() == 0);
  CHECK(c.known());
}

TEST_CASE("With nothing before or nothing after there is nothing to compare") {
  Days fresh;
  for (int day = 1; day < 4; ++day) fresh.close(day, 20, 15);
  CHECK_FALSE(fresh.change(0, 23).known());
  CHECK(fresh.change(0, 23).fall_c() == 0);
  CHECK(fresh.change(0, 23).rise_c() == 0);
  CHECK(fresh.change(0, 23).nights_after == 3);
  Days dark;
  for (int day = 0; day < 5; ++day) dark.close(day, 20, 15);
  for (int day = 5; day < 9; ++day) dark.close(day, kNothing, kNothing);
  CHECK_FALSE(dark.change(5, 4).known());
  CHECK(dark.change(5, 4).nights_after == 0);
}

TEST_CASE("Nights may fall while days rise: both are told") {
  Days d;
  for (int day = 0; day < 8; ++day) d.close(day, 18, 16);
  for (int day = 8; day < 11; ++day) d.close(day, 24, 11);
  const ClimateChange c = d.change(8, 5);
  CHECK(c.fall_c() == 5);
  CHECK(c.rise_c() == 6);
}

TEST_CASE("The week before is kept as long as the settings wait for the nights after") {
  Days slow;
  slow.rules.judged_nights = 14;
  for (int day = 0; day < 10; ++day) slow.close(day, 20, 15);
  for (int day = 10; day < 24; ++day) slow.close(day, 16, day < 17 ? 99 : 9);
  CHECK(slow.change(10, 5).nights_after == 14);
  CHECK(slow.change(10, 5).night_before_c == 15);
  Days rest;
  rest.rules.settled_days = 60;
  for (int day = 0; day < 10; ++day) {
    rest.take(kOut, day, 10);
    rest.take(kIn, day, 18);
    rest.close(day, 12, 16);
  }
  bool ended = false;
  for (int day = 10; day < 80 && !ended; ++day) ended = rest.close(day, 20, 16);
  REQUIRE(ended);
  CHECK(rest.watch.climate_change(rest.watch.last_move(), rest.watch.last_move()).day_before_c ==
        12);
}

TEST_CASE("A move that is told with an earlier time than the last one does not begin a pattern") {
  Days d;
  d.take(kOut, 5, 10);
  d.take(kIn, 2, 10);  // as a person remembers it
  d.take(kOut, 6, 10);
  CHECK(d.take(kIn, 3, 10) == Carried::undone);
  CHECK(d.watch.pattern() == Pattern::settled);
  CHECK(d.watch.last_move() == kNever);
}

TEST_CASE("Back within the hour is no move, and no shuttling in the end") {
  Days d;
  for (int day = 2; day < 8; ++day) {
    CHECK(d.take(kOut, day, 10) == Carried::once);
    CHECK(d.take(kIn, day, 10.2) == Carried::undone);
  }
  CHECK(d.watch.pattern() == Pattern::settled);
  CHECK(d.take(kOut, 9, 10) == Carried::once);
  CHECK(d.take(kIn, 9, 12) == Carried::back);
}

TEST_CASE("Shuttling does not end while nobody knows where the bench stands") {
  Days d;
  for (int day = 2; day < 5; ++day) {
    d.take(kOut, day, 10);
    d.take(kIn, day, 18);
  }
  REQUIRE(d.watch.pattern() == Pattern::shuttling);
  for (int day = 5; day < 12; ++day)
    CHECK_FALSE(
        d.watch.close({d.at(day, 5), d.at(day, 20), d.at(day + 1, 5), 20, 15}, false, d.rules));
  CHECK(d.close(12, 20, 15));
}
