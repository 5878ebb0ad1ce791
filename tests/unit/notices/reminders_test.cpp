// While whoever keeps the house is away: a chill that nobody acknowledges goes to whoever looks
// after it once more, and the digest says what has come up.
#include "told_house.h"

using namespace plainwater;
using namespace plainwater::notices;
using Catch::Contains;

namespace {

engine::AbsenceNow away(bool person_known = true) {
  return {at_time("2026-11-20T12:00:00Z"),
          at_time("2026-12-10T12:00:00Z"),
          "tom",
          "Ines",
          true,
          person_known,
          1,
          words::as_it_is("One thing came up.")};
}

Matter chill(const std::string& bench) { return lasting_matter("chill", bench); }

/// What went to whoever looks after the house alone, with the minute.
std::vector<std::string> reminders(const Watch& watch) {
  std::vector<std::string> found;
  for (const auto& heard : watch.heard)
    if (heard.message.reminds) found.push_back(format_rfc3339(heard.time));
  return found;
}

}  // namespace

TEST_CASE("a chill that nobody acknowledges for half an hour is told once more, to one person") {
  Watch watch(house_with("{quiet: \"00:00-23:59\", digest: \"\"}"));
  watch.desk.take(away());
  watch.lasting = {chill("mist")};
  watch.look();
  watch.pass(minutes(29));
  CHECK(reminders(watch).empty());
  CHECK(watch.desk.next_due() == at_time("2026-11-26T12:30:00Z"));
  watch.pass(minutes(20));
  REQUIRE(reminders(watch) == Told{"2026-11-26T12:30:00Z"});
  const Message& told = watch.heard.back().message;
  CHECK(told.kind == "chill");
  CHECK(told.line ==
        "Nobody has acknowledged this for 30 minutes. Still: mist: Something is wrong.");
  CHECK(watch.heard.back().state() == "lasting");
  watch.pass(2 * kDay);
  CHECK(reminders(watch).size() == 1);
}

TEST_CASE("the reminder leaves the other messages, and the time between them, as they are") {
  const auto times = [](bool with_absence) {
    Watch watch(house_with());
    if (with_absence) watch.desk.take(away());
    watch.lasting = {chill("mist")};
    watch.look();
    watch.pass(kDay);
    std::vector<std::pair<Instant, std::string>> all;
    for (const auto& heard : watch.heard)
      if (!heard.message.reminds) all.emplace_back(heard.time, heard.message.json);
    return all;
  };
  CHECK(times(true) == times(false));
}

TEST_CASE(
    "nobody is reminded of what was acknowledged, is over, is not urgent, or without absence") {
  Watch watch(house_with());
  watch.lasting = {chill("mist")};
  SECTION("acknowledged") {
    watch.desk.take(away());
    watch.look();
    REQUIRE(watch.desk.acknowledge("chill/mist", "tom", at(watch.now)).done);
  }
  SECTION("over") {
    watch.desk.take(away());
    watch.look();
    watch.lasting.clear();
  }
  SECTION("outdoors") {
    watch.desk.take(away());
    watch.lasting[0].urgency = Urgency::soon;
    watch.look();
  }
  SECTION("another urgent matter") {
    watch.desk.take(away());
    watch.lasting = {lasting_matter("store-unhealthy")};
    watch.look();
  }
  SECTION("without absence") { watch.look(); }
  SECTION("only announced") {
    auto later = away();
    later.in_force = false;
    watch.desk.take(later);
    watch.look();
  }
  SECTION("of somebody who is not in the settings any more") {
    watch.desk.take(away(false));
    watch.look();
  }
  watch.pass(hours(20));
  CHECK(reminders(watch).empty());
}

TEST_CASE("a chill of before the absence counts from when it was told") {
  Watch watch(house_with());
  watch.lasting = {chill("mist")};
  watch.look();
  watch.pass(hours(2));
  CHECK(reminders(watch).empty());
  watch.desk.take(away());
  watch.pass(minutes(1));
  CHECK(reminders(watch) == Told{"2026-11-26T14:01:00Z"});
}

TEST_CASE("a chill that is decided again after it was acknowledged is waited for again") {
  Watch watch(house_with());
  watch.desk.take(away());
  watch.lasting = {chill("mist")};
  watch.look();
  REQUIRE(watch.desk.acknowledge("chill/mist", "tom", at(watch.now)).done);
  watch.pass(hours(3));
  watch.desk.take(std::vector{chill("mist")}, at(watch.now));
  watch.look();
  watch.pass(hours(1));
  CHECK(reminders(watch) == Told{"2026-11-26T15:30:00Z"});
}

TEST_CASE("a chill that is told late is waited for from then on") {
  Watch watch(house_with());
  watch.desk.take(away());
  watch.lasting = {chill("mist")};
  watch.desk.look(watch.lasting, at(watch.now));
  watch.now += hours(2);  // nothing could be told meanwhile
  watch.look();
  CHECK(reminders(watch).empty());
  watch.pass(minutes(31));
  CHECK(reminders(watch) == Told{"2026-11-26T14:30:00Z"});
}

TEST_CASE("many chills are one reminder, and a restart repeats none") {
  Watch watch(house_with());
  watch.desk.take(away());
  for (const char* bench : {"a", "b", "c", "d", "e"}) watch.lasting.push_back(chill(bench));
  watch.look();
  watch.pass(minutes(35));
  REQUIRE(reminders(watch).size() == 1);
  CHECK_THAT(watch.heard.back().message.line, Contains("5 times chilled below the floor"));
  std::vector<Item> stored;
  for (const auto& [key, item] : watch.desk.items()) stored.push_back(item);
  watch.desk.restore(stored);
  watch.pass(minutes(20));
  CHECK(reminders(watch).size() == 1);
}

TEST_CASE("a reminder strikes off no message that is still on its way, and is struck off with it") {
  Watch watch(house_with());
  watch.desk.take(away());
  watch.lasting = {chill("mist")};
  watch.look();  // rows 1 and 2
  watch.pass(minutes(31));
  REQUIRE(reminders(watch).size() == 1);
  CHECK(watch.replaced.empty());
  watch.pass(minutes(30));
  CHECK(watch.replaced == std::vector<std::int64_t>{1, 2, 3, 4});
}

TEST_CASE("the digest says who is away and what has come up so far") {
  Watch watch(house_with("{quiet: \"\", digest: \"12:30\"}"));
  watch.desk.take(away());
  watch.look();
  watch.pass(hours(1));
  REQUIRE(watch.news() == Told{"happened digest"});
  CHECK_THAT(watch.heard.back().message.line,
             Contains("Ines is away until 10 December; tom looks after the house. One thing came "
                      "up. Nothing is open."));
}

TEST_CASE("a chill that becomes urgent is told as urgent, and its reminder comes") {
  Watch watch(house_with("{quiet: \"\", digest: \"\"}"));
  watch.desk.take(away());
  watch.lasting = {chill("mist")};
  watch.lasting[0].urgency = Urgency::soon;
  watch.look();
  watch.pass(minutes(50));
  REQUIRE(watch.heard.size() == 1);
  watch.lasting[0].urgency = Urgency::urgent;
  watch.look();
  REQUIRE(watch.heard.size() == 2);
  CHECK(watch.heard.back().message.urgency == Urgency::urgent);
  SECTION("while it stays so") {
    watch.pass(minutes(31));
    CHECK(reminders(watch).size() == 1);
  }
  SECTION("not when it is urgent no more") {
    watch.lasting[0].urgency = Urgency::soon;
    watch.pass(minutes(45));
    CHECK(reminders(watch).empty());
  }
}
