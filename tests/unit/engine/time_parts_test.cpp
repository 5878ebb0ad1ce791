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

namespace {
feeding::Request asking(const std::string& id) {
  feeding::Request request;
  request.id = id;
  request.who = "Ada";
  request.bench = "long";
  return request;
}
}  // namespace

TEST_CASE("A request gets its first answer again for 400 days") {
  Answers answers;
  CHECK_FALSE(answers.find(asking("r1")));
  answers.keep(asking("r1"), {true, "", words::as_it_is("done")}, kNoon);
  answers.keep(asking("r2"), {false, "no", words::as_it_is("not done")}, kNoon + 400 * kDay);
  REQUIRE(answers.find(asking("r1")));
  CHECK(answers.find(asking("r1"))->text() == "done");
  CHECK(answers.forgotten() == kNever);
  answers.keep(asking("r3"), {}, kNoon + 400 * kDay + seconds(1));
  CHECK_FALSE(answers.find(asking("r1")));
  CHECK(answers.find(asking("r2"))->problem == "no");
  CHECK(answers.forgotten() == kNoon);
}

TEST_CASE("Of too many answers the oldest goes, and it is known until when they are gone") {
  Answers answers;
  for (int i = 0; i < 10'000; ++i) answers.keep(asking(std::to_string(i)), {}, kNoon + seconds(i));
  CHECK(answers.find(asking("0")));
  CHECK(answers.forgotten() == kNever);
  answers.keep(asking("one more"), {}, kNoon + hours(3));
  CHECK_FALSE(answers.find(asking("0")));
  CHECK(answers.find(asking("1")));
  CHECK(answers.forgotten() == kNoon);
}

TEST_CASE("Whatever differs in a request but its times makes its id a used one") {
  Answers answers;
  const auto first = asking("r");
  answers.keep(first, {true, "", words::as_it_is("done")}, kNoon);
  using Change = void (*)(feeding::Request&);
  for (const Change change : std::initializer_list<Change>{
           [](auto& r) { r.kind = feeding::RequestKind::hold; }, [](auto& r) { r.who = "Ines"; },
           [](auto& r) { r.bench = "mist"; }, [](auto& r) { r.pump = "long"; },
           [](auto& r) { r.notice = "chill/long"; }, [](auto& r) { r.note = "n"; },
           [](auto& r) { r.from = kNoon; }, [](auto& r) { r.until = kNoon; },
           [](auto& r) { r.to = Position::indoors; }, [](auto& r) { r.hold = true; },
           [](auto& r) { r.full = true; }, [](auto& r) { r.litres = 1; },
           [](auto& r) { r.strength_percent = 1; }, [](auto& r) { r.ec = 1; }}) {
    auto other = first;
    change(other);
    CHECK(answers.find(other)->problem == "id-reused");
  }
  auto again = first;
  again.sent = again.expires = kNoon;
  CHECK(answers.find(again)->done);
}

TEST_CASE("Answers kept before they had digests are read, and answer their id as they did") {
  Answers answers;
  answers.keep(asking("r"), {true, "", words::as_it_is("done")}, kNoon);
  ByteWriter bytes;
  Saver save(bytes);
  Answers(answers).fields(save, false);
  const std::string former = bytes.take();
  ByteReader in(former);
  Loader load(in);
  Answers read;
  read.fields(load, false);
  CHECK((in.ok() && in.at_end()));
  auto other = asking("r");
  other.bench = "mist";
  CHECK(read.find(other)->text() == "done");
  CHECK(read.forgotten() == kNever);
}

TEST_CASE("A digest is the same for ever: what was kept under it must be known again") {
  auto request = asking("r");
  CHECK(feeding::digest_of(request) == 3712317998483516895u);
  request.until = kNoon;
  CHECK(feeding::digest_of(request) == 11288809538818329409u);
}
