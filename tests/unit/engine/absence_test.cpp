// Whoever keeps the house is away: no pump is armed or trusted, what asks a person waits, and the
// end says what came up.
#include "fed_site.h"

using namespace plainwater;
using namespace plainwater::engine;
using Catch::Matchers::Contains;
using feeding::Cause;
using feeding::RequestKind;

namespace {

struct AwaySite : FedSite {
  AwaySite() {
    settings->people = {{"ruth", "", Role::care}, {"tom", "", Role::care}};
    days(3);
    out = {};
  }
  feeding::Reply absent(Instant until, std::optional<Instant> from = {},
                        const char* person = "tom") {
    return ask(RequestKind::absence, [&](feeding::Request& r) {
      r.bench.clear();
      r.from = from;
      r.until = until;
      r.person = person;
    });
  }
  feeding::Reply back(const std::string& absence = "") {
    return ask(RequestKind::back, [&](feeding::Request& r) {
      r.bench.clear();
      r.hold_id = absence;
    });
  }
  std::string told(Cause cause) const {
    const auto all = notices(cause);
    return all.empty() ? "" : all.back().text();
  }
};

}  // namespace

TEST_CASE("An absence begins, is shown, and ends by itself at its time") {
  AwaySite site;
  const Instant until = site.now + 10 * kDay;
  const auto reply = site.absent(until);
  REQUIRE(reply.done);
  CHECK(reply.text() ==
        "Ines is away from now until 14 October; tom looks after the house. Meanwhile no pump is "
        "armed or trusted, and questions wait.");
  REQUIRE(site.notices(Cause::absence).size() == 1);
  CHECK(site.notices(Cause::absence)[0].evidence.text_of("person") == "tom");
  CHECK(site.notices(Cause::absence)[0].evidence.text_of("who") == "Ines");
  auto now = site.engine->absence();
  REQUIRE(now);
  CHECK((now->in_force && now->person_known && now->until == until && now->person == "tom"));

  site.later(20 * kDay);
  CHECK_FALSE(site.engine->absence());
  const auto over = site.notices(Cause::back);
  REQUIRE(over.size() == 1);
  CHECK(over[0].time == until);
  CHECK(over[0].evidence.text_of("away") == "Ines");
  CHECK_THAT(over[0].text(), Contains("The absence of Ines is over."));
}

TEST_CASE("An announced absence begins at its time, is withdrawn, or is replaced") {
  AwaySite site;
  const Instant from = site.now + 5 * kDay, until = from + 10 * kDay;
  REQUIRE(site.absent(until, from).done);
  CHECK_FALSE(site.engine->absence()->in_force);
  CHECK(site.ask_pump(RequestKind::arm).done);

  SECTION("it begins") {
    site.later(6 * kDay);
    REQUIRE(site.notices(Cause::absence).size() == 2);
    CHECK(site.notices(Cause::absence)[1].time == from);
    CHECK(site.engine->absence()->in_force);
    CHECK(site.ask_pump(RequestKind::arm).problem == "away");
  }
  SECTION("it is withdrawn") {
    const auto reply = site.back();
    REQUIRE(reply.done);
    CHECK_THAT(reply.text(), Contains("Ines withdrew the absence from"));
    CHECK_FALSE(site.engine->absence());
    site.later(6 * kDay);
    CHECK(site.notices(Cause::absence).size() == 1);
  }
  SECTION("another takes its place") {
    const auto reply = site.absent(site.now + 2 * kDay, {}, "ruth");
    REQUIRE(reply.done);
    CHECK_THAT(reply.text(), Contains("This replaces the absence from"));
    CHECK(site.engine->absence()->person == "ruth");
    site.later(6 * kDay);
    CHECK_FALSE(site.engine->absence());
  }
}

TEST_CASE("A longer absence in place of the one in force goes on with what came up") {
  AwaySite site;
  REQUIRE(site.absent(site.now + 5 * kDay).done);
  const Instant began = site.engine->absence()->from;
  CHECK(site.ask_pump(RequestKind::arm).problem == "away");
  site.later(kDay);
  REQUIRE(site.absent(site.now + 20 * kDay, {}, "ruth").done);
  CHECK(site.engine->absence()->from == began);
  CHECK(site.notices(Cause::back).empty());
  REQUIRE(site.back().done);
  CHECK_THAT(site.told(Cause::back), Contains("One request to arm or trust a pump was refused."));
}

TEST_CASE("One announced for later is refused while one is in force, which goes on") {
  AwaySite site;
  REQUIRE(site.absent(site.now + 5 * kDay).done);
  const auto reply = site.absent(site.now + 20 * kDay, site.now + 10 * kDay);
  CHECK(reply.problem == "away-already");
  CHECK(reply.text() ==
        "Ines is away until 9 October, and one announced for later would end that now; ask for "
        "`back` first");
  CHECK(site.engine->absence()->in_force);
  CHECK(site.ask_pump(RequestKind::arm).problem == "away");
}

TEST_CASE("An absence taken back by its id is that one, or none") {
  AwaySite site;
  REQUIRE(site.absent(site.now + 5 * kDay).done);
  const std::string first = site.engine->absence()->id;
  REQUIRE_FALSE(first.empty());
  REQUIRE(site.absent(site.now + 6 * kDay).done);
  CHECK(site.back(first).problem == "no-such-absence");
  CHECK(site.engine->absence());
  CHECK(site.back(site.engine->absence()->id).done);
  CHECK_FALSE(site.engine->absence());
}

TEST_CASE("Who is away, or may only look, does not look after the house") {
  AwaySite site;
  site.settings->people.push_back({"Ines", "", Role::keeper});
  site.settings->people.push_back({"guest", "", Role::look});
  CHECK(site.absent(site.now + kDay, {}, "Ines").problem == "is-away");
  CHECK(site.absent(site.now + kDay, {}, "guest").problem == "may-only-look");
  CHECK_FALSE(site.engine->absence());
}

TEST_CASE("What is no absence is refused, and changes nothing") {
  AwaySite site;
  const auto before = site.engine->snapshot();
  CHECK(site.absent(site.now).problem == "until-in-the-past");
  CHECK(site.absent(site.now + kDay, site.now + 2 * kDay).problem == "until-in-the-past");
  CHECK(site.absent(site.now + 93 * kDay).problem == "too-long");
  CHECK(site.absent(site.now + 500 * kDay, site.now + 450 * kDay).problem == "too-far-ahead");
  const auto unknown = site.absent(site.now + kDay, {}, "tm/#");
  CHECK(unknown.problem == "unknown-person");
  CHECK(unknown.text() == "there is no \"tm/#\" in `people` of the settings; there are ruth, tom");
  CHECK(site.back().problem == "not-away");
  site.settings->people.clear();
  CHECK_THAT(site.absent(site.now + kDay).text(), Contains("nobody is named in `people`"));
  CHECK(site.out.decisions.empty());
  CHECK_FALSE(site.engine->absence());
  CHECK(site.engine->snapshot() != before);  // but the answers are remembered
}

TEST_CASE(
    "While away no pump is armed or trusted, and the refusal says who looks after the house") {
  AwaySite site;
  site.arm();
  REQUIRE(site.absent(site.now + 10 * kDay).done);
  CHECK(site.pump().armed);  // what is armed goes on
  site.later(hours(1));
  site.disobey();
  for (const auto kind : {RequestKind::arm, RequestKind::trust}) {
    const auto refused = site.ask_pump(kind);
    CHECK(refused.problem == "away");
    CHECK(refused.text() ==
          "Ines is away until 14 October, and tom looks after the house: no pump is armed or "
          "trusted before that is over; `back` ends it");
  }
  CHECK_FALSE(site.pump().trusted);
  REQUIRE(site.ask_pump(RequestKind::disarm).done);
  REQUIRE(site.back().done);
  const auto told = site.told(Cause::back);
  CHECK(told ==
        "Ines says that the absence is over. While you were away one thing came up that needs a "
        "person. Nobody has decided yet, so this stays as it is: line, plain water until the pump "
        "is trusted. 2 requests to arm or trust a pump were refused.");
  CHECK(site.ask_pump(RequestKind::trust).done);
  CHECK(site.ask_pump(RequestKind::arm).done);
}

TEST_CASE("Questions wait, are told so far, and those that were seen to are no longer open") {
  AwaySite site;
  for (const char* bench : {"long", "mist"})
    REQUIRE(
        site.ask_bench(RequestKind::hold, bench, [&](auto& r) { r.until = site.now + 80 * kDay; })
            .done);
  REQUIRE(site.absent(site.now + 60 * kDay).done);
  CHECK_THAT(words::in_english(site.engine->absence()->so_far), Contains("nothing was asked"));
  site.days(35);
  CHECK(site.engine->absence()->waiting == 2);
  CHECK_THAT(words::in_english(site.engine->absence()->so_far),
             Contains("2 things came up") &&
                 Contains("long, a hold that somebody asked for goes on to its date; mist, "));
  REQUIRE(site.ask_bench(RequestKind::acknowledge, "mist").done);
  CHECK(site.engine->absence()->waiting == 1);
  REQUIRE(site.ask_bench(RequestKind::acknowledge, "long").done);
  REQUIRE(site.back().done);
  CHECK_THAT(site.told(Cause::back), Contains("2 things came up that need a person. All of it has "
                                              "been seen to."));
  CHECK(site.bench_of("long").hold);  // nobody's question was answered by itself
}

TEST_CASE("An absence survives a restart, also one that drops the person from the settings") {
  AwaySite site;
  REQUIRE(site.absent(site.now + 10 * kDay).done);
  CHECK(site.ask_pump(RequestKind::arm).problem == "away");
  const auto bytes = site.engine->snapshot();
  site.restart();
  CHECK(site.engine->snapshot() == bytes);
  CHECK(site.ask_pump(RequestKind::arm).problem == "away");
  const auto others = site.copy();
  others->people = {{"ruth", "", Role::care}};
  site.restart(others);
  REQUIRE(site.engine->absence());
  CHECK_FALSE(site.engine->absence()->person_known);
  site.later(11 * kDay);
  CHECK_THAT(site.told(Cause::back), Contains("2 requests to arm or trust a pump were refused."));
}

TEST_CASE("An absence does not end by a clock that is not believed, and goes back with the time") {
  AwaySite site;
  const Instant until = site.now + 2 * kDay;
  REQUIRE(site.absent(until).done);
  SECTION("not believed") {
    site.engine->settle_clock(ClockTrust::doubted, site.now, site.out);
    site.later(5 * kDay);
    CHECK(site.engine->absence()->in_force);
    site.engine->settle_clock(ClockTrust::settled, site.now, site.out);
    CHECK_FALSE(site.engine->absence());
  }
  SECTION("set back") {
    site.engine->set_back(hours(6), site.now - hours(6), site.out);
    CHECK(site.engine->absence()->until == until - hours(6));
  }
}
