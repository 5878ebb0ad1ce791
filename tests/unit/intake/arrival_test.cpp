#include "intake/arrival.h"

#include <catch2/catch.hpp>

namespace plainwater::intake {
namespace {

const Instant kNow = from_seconds(1'789'363'860);

Measured untimed(Span from_arrival = Span{0}) {
  return {Quantity::temperature, 20000, std::nullopt, from_arrival};
}
Measured timed(Instant t) { return {Quantity::temperature, 20000, t, Span{0}}; }
Arrival arrival(bool retained, bool duplicate, bool after_fence) {
  return {kNow, retained, duplicate, after_fence};
}

using Answer = std::variant<TimeToUse, Refusal>;

Answer reading_time(const Measured& reading, const Arrival& arrival) {
  return time_to_use(reading.time, reading.from_arrival, arrival);
}

}  // namespace

TEST_CASE("an own time always counts") {
  for (const bool retained : {false, true})
    for (const bool duplicate : {false, true})
      for (const bool after_fence : {false, true})
        CHECK(reading_time(timed(kNow - kDay), arrival(retained, duplicate, after_fence)) ==
              Answer(TimeToUse{kNow - kDay, false}));
}

TEST_CASE("without an own time only a first, live delivery has one") {
  CHECK(reading_time(untimed(), arrival(false, false, true)) == Answer(TimeToUse{kNow, false}));
  CHECK(reading_time(untimed(Span{-90'000}), arrival(false, false, true)) ==
        Answer(TimeToUse{kNow - seconds(90), false}));
  CHECK(reading_time(untimed(), arrival(true, false, true)) == Answer(Refusal::untimed_retained));
  CHECK(reading_time(untimed(), arrival(false, true, true)) == Answer(Refusal::untimed_duplicate));
  CHECK(reading_time(untimed(), arrival(false, false, false)) ==
        Answer(Refusal::untimed_before_fence));
}

TEST_CASE("more than 5 min ahead is in the future") {
  CHECK(reading_time(timed(kNow + minutes(5)), arrival(false, false, true)) ==
        Answer(TimeToUse{kNow + minutes(5), false}));
  const Instant later = kNow + minutes(5) + milliseconds(1);
  CHECK(reading_time(timed(later), arrival(true, true, false)) == Answer(TimeToUse{later, true}));
  CHECK(reading_time(untimed(hours(1)), arrival(false, false, true)) ==
        Answer(TimeToUse{kNow + hours(1), true}));
}

TEST_CASE("when time comes from the readings only an own time counts, and none far ahead") {
  const Instant engine = kNow - kDay;
  for (const bool after_fence : {false, true}) {
    const auto live = arrival(false, false, after_fence);
    CHECK(time_by_readings(std::nullopt, live, engine) == Answer(Refusal::untimed_before_fence));
    CHECK(time_by_readings(kNow + kDay, live, engine) == Answer(TimeToUse{kNow + kDay, false}));
    CHECK(time_by_readings(engine + kFarAhead, live, engine) ==
          Answer(TimeToUse{engine + kFarAhead, false}));
    CHECK(time_by_readings(engine + kFarAhead + seconds(1), live, engine) ==
          Answer(Refusal::future));
    // The first one may have any time.
    CHECK(time_by_readings(engine + 2 * kFarAhead, live, kNever) ==
          Answer(TimeToUse{engine + 2 * kFarAhead, false}));
  }
  CHECK(time_by_readings(std::nullopt, arrival(true, false, true), engine) ==
        Answer(Refusal::untimed_retained));
}

TEST_CASE("a pump's clock that was never set, or is ahead, is not used") {
  const auto live = arrival(false, false, true);
  const Instant unset = from_seconds(1'577'836'799);  // a second before 2020
  CHECK(pump_time(std::nullopt, live) == PumpTime{});
  CHECK(pump_time(unset, live) == PumpTime{});
  CHECK(pump_time(unset + seconds(1), live) == PumpTime{unset + seconds(1)});
  CHECK(pump_time(kNow + kFuture, live) == PumpTime{kNow + kFuture});
  CHECK(pump_time(kNow + kFuture + milliseconds(1), live) == PumpTime{std::nullopt, true});
  // Nobody knows when a retained message was sent: its own time is all there is.
  CHECK(pump_time(kNow + hours(1), arrival(true, false, true)) == PumpTime{kNow + hours(1)});
  CHECK(pump_time(kNow + hours(1), arrival(false, true, true)) == PumpTime{kNow + hours(1)});
  CHECK(pump_time(kNow + hours(1), arrival(false, false, false)) == PumpTime{kNow + hours(1)});
}

}  // namespace plainwater::intake
