// The running cycle, the stays of a bench, the answers to requests.
#include <catch2/catch.hpp>

#include "engine/answers.h"
#include "engine/running_cycle.h"
#include "engine/stays.h"

using namespace plainwater;
using namespace plainwater::engine;

namespace {

const Instant kNoon = *parse_rfc3339("2026-10-01T12:00:00Z");

Site site() {
  Site s;
  s.latitude_deg = 52.2;
  s.longitude_deg = -2.1;
  return s;
}

}  // namespace

TEST_CASE("A cycle goes from sunrise to sunrise and closes an hour later") {
  RunningCycle cycle(site());
  cycle.begin(kNoon);
  CHECK(climate::Sun::date_of(cycle.night()) == "2026-10-01");
  CHECK(cycle.from() < kNoon);
  CHECK(kNoon < cycle.sunset());
  CHECK(cycle.sunset() < cycle.sunrise());
  CHECK(cycle.close_due() == cycle.sunrise() + hours(1));
  CHECK(cycle.kept_from() == cycle.from());

  const Instant sunset = cycle.sunset(), sunrise = cycle.sunrise();
  cycle.go_on();
  CHECK(climate::Sun::date_of(cycle.night()) == "2026-10-02");
  CHECK(cycle.from() == sunrise);
  CHECK(cycle.kept_from() == sunset);
}

TEST_CASE("A cycle begins with the night that has not closed yet") {
  RunningCycle first(site());
  first.begin(kNoon);
  RunningCycle before(site()), at(site());
  before.begin(first.close_due() - seconds(1));
  at.begin(first.close_due());
  CHECK(before.night() == first.night());
  CHECK(at.night() == first.night() + 1);
}

TEST_CASE("Lamps outweigh the sun") {
  RunningCycle cycle(site());
  cycle.begin(kNoon);
  Bench bench;
  CHECK(cycle.light_h(bench) == Approx(11.6).margin(0.3));
  bench.lamps_h = 14;
  CHECK(cycle.light_h(bench) == 14);
}

TEST_CASE("A night is spent where most of it was") {
  Stays stays;
  const Instant sunset = kNoon + hours(6), sunrise = kNoon + hours(18);
  stays.stand(kNoon, Position::indoors);
  stays.stand(sunset + hours(5), Position::outdoors);
  CHECK(stays.take_night(sunset, sunrise) == Position::outdoors);
  CHECK(stays.take_night(sunset + kDay, sunrise + kDay) == Position::outdoors);
}

TEST_CASE("A later word about an earlier time takes back what was told in between") {
  Stays stays;
  CHECK(stays.empty());
  const Instant sunset = kNoon + hours(6), sunrise = kNoon + hours(18);
  stays.stand(kNoon, Position::indoors);
  stays.stand(sunset + hours(1), Position::outdoors);
  stays.stand(sunset - hours(1), Position::indoors);
  CHECK(stays.take_night(sunset, sunrise) == Position::indoors);
}

TEST_CASE("A request gets its first answer again for 400 days") {
  Answers answers;
  CHECK(answers.find("r1") == nullptr);
  answers.keep("r1", {true, "", "done"}, kNoon);
  answers.keep("r2", {false, "no", "not done"}, kNoon + 400 * kDay);
  REQUIRE(answers.find("r1") != nullptr);
  CHECK(answers.find("r1")->text == "done");
  answers.keep("r3", {}, kNoon + 400 * kDay + seconds(1));
  CHECK(answers.find("r1") == nullptr);
  CHECK(answers.find("r2")->problem == "no");
}

TEST_CASE("Of too many answers the oldest goes") {
  Answers answers;
  for (int i = 0; i < 10'000; ++i) answers.keep(std::to_string(i), {}, kNoon + seconds(i));
  CHECK(answers.find("0") != nullptr);
  answers.keep("one more", {}, kNoon + hours(3));
  CHECK(answers.find("0") == nullptr);
  CHECK(answers.find("1") != nullptr);
}
