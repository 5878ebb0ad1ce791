#include "outlet/placard.h"

#include <catch2/catch.hpp>

using namespace plainwater;
using namespace plainwater::outlet;
using feeding::Cause;
using feeding::Feeding;

namespace {

Instant board_time(const char* text) { return parse_rfc3339(text).value(); }

engine::BenchNow courtyard(Feeding feeding, int percent, Cause cause) {
  engine::BenchNow now{};
  now.name = "courtyard";
  now.feeding = feeding;
  now.strength_percent = percent;
  now.cause = cause;
  now.night = "2026-10-03";
  now.air_time = board_time("2026-10-04T08:00:00Z");
  return now;
}

engine::BenchNow courtyard_held(Cause cause, bool provisional) {
  auto now = courtyard(Feeding::plain_water, 0, cause);
  feeding::HoldView hold;
  hold.cause = cause;
  hold.provisional = provisional;
  hold.placed = board_time("2026-10-04T06:00:00Z");
  hold.planned_end = board_time("2026-11-20T06:00:00Z");
  hold.judged_from = hold.placed;
  now.hold = hold;
  return now;
}

std::string placard_of(const engine::BenchNow& now) {
  return placard(now, Settings(), LocalTime::of("Europe/London").value(), now.air_time);
}

}  // namespace

TEST_CASE("a provisional hold says when it is decided") {
  auto now = courtyard_held(Cause::sharp_drop, true);
  CHECK(placard_of(now) == "PLAIN WATER ONLY\ndecides 14 Oct");
  now.air_time = board_time("2026-10-15T06:00:00Z");
  CHECK(placard_of(now) == "PLAIN WATER ONLY\ndecides 20 Oct");
}

TEST_CASE("a provisional hold by a move is decided by the first nights") {
  CHECK(placard_of(courtyard_held(Cause::moved_outdoors, true)) ==
        "PLAIN WATER ONLY\ndecides 7 Oct");
  CHECK(placard_of(courtyard(Feeding::reduced, 50, Cause::after_move)) ==
        "FEED 50 %\nin a new place");
}

TEST_CASE("a confirmed hold says until when, about") {
  CHECK(placard_of(courtyard_held(Cause::sharp_drop, false)) ==
        "PLAIN WATER ONLY\nuntil about 20 Nov");
}

TEST_CASE("an end that a person set is a date, and one far away has its year") {
  auto now = courtyard_held(Cause::grower, false);
  CHECK(placard_of(now) == "PLAIN WATER ONLY\nuntil 20 Nov");
  now.hold->cause = Cause::announced;
  CHECK(placard_of(now) == "PLAIN WATER ONLY\nuntil 20 Nov");
  now.hold->planned_end = board_time("2027-11-20T06:00:00Z");
  CHECK(placard_of(now) == "PLAIN WATER ONLY\nuntil 20 Nov 2027");
  now.hold->cause = Cause::sharp_drop;
  CHECK(placard_of(now) == "PLAIN WATER ONLY\ntill 20 Nov 2027");
}

TEST_CASE("full feed of last year says so") {
  auto now = courtyard(Feeding::full, 100, Cause::bright_season);
  now.since = board_time("2025-11-20T06:00:00Z");
  CHECK(placard_of(now) == "FULL FEED\nsince 20 Nov 2025");
}

TEST_CASE("a chill is told as one") {
  auto now = courtyard(Feeding::plain_water, 0, Cause::chill);
  now.chilled_until = board_time("2026-10-06T06:00:00Z");
  CHECK(placard_of(now) == "PLAIN WATER ONLY\nchill, to 6 Oct");
}

TEST_CASE("a chill within a hold gives the board no other date") {
  auto now = courtyard_held(Cause::sharp_drop, false);
  const std::string before = placard_of(now);
  now.cause = Cause::chill;
  now.chilled_until = board_time("2026-10-06T06:00:00Z");
  CHECK(placard_of(now) == before);
}

TEST_CASE("a bench that was not heard yet says so") {
  CHECK(placard_of(courtyard(Feeding::plain_water, 0, Cause::not_heard)) ==
        "PLAIN WATER ONLY\nnot heard yet");
}

TEST_CASE("a blind bench on plain water says what is missing") {
  CHECK(placard_of(courtyard(Feeding::plain_water, 0, Cause::blind)) ==
        "PLAIN WATER ONLY\nno readings");
}

TEST_CASE("weak feed says its strength and why") {
  CHECK(placard_of(courtyard(Feeding::reduced, 25, Cause::after_hold)) ==
        "FEED 25 %\nafter a hold");
  CHECK(placard_of(courtyard(Feeding::reduced, 40, Cause::dull_season)) == "FEED 40 %\nshort days");
}

TEST_CASE("full feed says since when, by the date at the site") {
  auto now = courtyard(Feeding::full, 100, Cause::bright_season);
  now.since = board_time("2026-06-30T23:30:00Z");
  CHECK(placard_of(now) == "FULL FEED\nsince 1 Jul");
  now.since = kNever;
  CHECK(placard_of(now) == "FULL FEED\nas usual");
  now.learning = true;
  CHECK(placard_of(now) == "FULL FEED\nstill learning");
}

TEST_CASE("every placard is two filled lines of plain ASCII that fit") {
  for (const auto feeding : {Feeding::plain_water, Feeding::reduced, Feeding::full})
    for (int cause = 0; cause <= static_cast<int>(Cause::ramp); ++cause)
      for (const bool with_hold : {false, true}) {
        auto now = with_hold ? courtyard_held(static_cast<Cause>(cause), cause % 2 == 0)
                             : courtyard(feeding, 100, static_cast<Cause>(cause));
        now.feeding = feeding;
        const std::string text = placard_of(now);
        const auto end = text.find('\n');
        CAPTURE(text);
        REQUIRE(end != std::string::npos);
        const auto first = text.substr(0, end), second = text.substr(end + 1);
        CHECK((!first.empty() && first.size() <= 20));
        CHECK((!second.empty() && second.size() <= 20 && second.find('\n') == std::string::npos));
        CHECK(std::all_of(text.begin(), text.end(),
                          [](char c) { return c == '\n' || (c >= 0x20 && c < 0x7f); }));
      }
}

TEST_CASE("a zone that does not exist is told") {
  const auto local = LocalTime::of("Europe/Nowhere");
  REQUIRE_FALSE(local);
  CHECK(local.error().message().find("Europe/Nowhere") != std::string::npos);
}

TEST_CASE("a date begins at the site's midnight") {
  const auto local = LocalTime::of("Europe/London").value();
  CHECK(local.midnight("2026-07-01") == board_time("2026-06-30T23:00:00Z"));
  CHECK(local.midnight("2026-12-01") == board_time("2026-12-01T00:00:00Z"));
  CHECK_FALSE(local.midnight("2026-02-30"));
  CHECK_FALSE(local.midnight("2026-12-01T00"));
  CHECK(local.date_time(board_time("2026-09-14T05:41:00Z")) == "2026-09-14 06:41");
}
