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

TEST_CASE("more than 5 min ahead is the future") {
  CHECK(reading_time(timed(kNow + minutes(5)), arrival(false, false, true)) ==
        Answer(TimeToUse{kNow + minutes(5), false}));
  const Instant later = kNow + minutes(5) + milliseconds(1);
  CHECK(reading_time(timed(later), arrival(true, true, false)) == Answer(TimeToUse{later, true}));
  CHECK(reading_time(untimed(hours(1)), arrival(false, false, true)) ==
        Answer(TimeToUse{kNow + hours(1), true}));
}

}  // namespace plainwater::intake
