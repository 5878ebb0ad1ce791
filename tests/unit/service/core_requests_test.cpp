// Requests that arrive again, late, with impossible times, or while the clock is in doubt; and
// where they are answered.
#include <fmt/format.h>

#include <catch2/catch.hpp>

#include "core_house.h"
#include "feeding/request_times.h"
#include "store/connection.h"

using namespace plainwater;
using namespace plainwater::service;
using namespace plainwater::testing;
using Catch::Matchers::Contains;

namespace {

constexpr const char* kDisarm = R"({"id":"d-1","who":"Ines","request":"disarm","pump":"long"})";

std::string text(const std::string& reply) {
  return std::string(parsed(reply).at("text").as_string());
}

struct AskingHouse : CoreHouse {
  explicit AskingHouse(const std::string& more = "") : CoreHouse(more) {
    connect();
    air(18, clock.wall);
    tick();
  }
  std::string ask(const std::string& json) {
    const auto reply = CoreHouse::ask(json);
    acknowledge_all();
    return reply;
  }
  /// A hold of that id with further fields: ,"until":…
  std::string hold(const std::string& id, const std::string& fields = "") {
    return ask(
        fmt::format(R"({{"id":"{}","who":"Ines","request":"hold","bench":"long"{}}})", id, fields));
  }
  static std::string times(std::optional<Instant> sent, std::optional<Instant> expires = {}) {
    return (sent ? fmt::format(R"(,"sent":"{}")", format_rfc3339(*sent)) : "") +
           (expires ? fmt::format(R"(,"expires":"{}")", format_rfc3339(*expires)) : "");
  }
  bool held() const { return core->report()->benches[1].hold.has_value(); }
  std::uint64_t refused(const std::string& word) const {
    const auto report = core->report();
    const auto& all = report->service.refused_requests;
    const auto found = all.find(word);
    return found == all.end() ? 0 : found->second;
  }
  void refuses(const std::string& reply, const std::string& word) {
    CHECK_FALSE(done(reply));
    CHECK(problem(reply) == word);
    CHECK_FALSE(held());
    CHECK(refused(word) == 1);
  }
};

}  // namespace

TEST_CASE("an id that comes again with something else is refused, and not answered for another") {
  AskingHouse house;
  CHECK(problem(
            house.ask(R"({"id":"h-1","who":"Ada","request":"acknowledge","bench":"cold-end"})")) ==
        "nothing-to-acknowledge");
  const auto reply = house.ask(kHold);
  house.refuses(reply, "id-reused");
  CHECK_THAT(text(reply), Contains("\"h-1\"") && Contains("an id of its own"));
  SECTION("and the first is remembered still") {
    CHECK(problem(house.ask(
              R"({"id":"h-1","who":"Ada","request":"acknowledge","bench":"cold-end"})")) ==
          "nothing-to-acknowledge");
  }
  SECTION("over a restart too") {
    house.restart();
    house.connect();
    CHECK(problem(house.ask(kHold)) == "id-reused");
    CHECK_FALSE(house.held());
  }
}

TEST_CASE("the same request again gets its first answer, sent anew or in vain by now") {
  AskingHouse house;
  const Instant sent = house.clock.wall;
  const auto first = house.hold("h", house.times(sent, sent + seconds(10)));
  CHECK(done(first));
  CHECK(done(house.ask(R"({"id":"r","who":"Ines","request":"release","bench":"long"})")));
  CHECK(house.hold("h", house.times(house.clock.wall)) == first);
  house.tick(hours(1));
  CHECK(house.hold("h", house.times(sent, sent + seconds(10))) == first);
  CHECK_FALSE(house.held());
}

TEST_CASE("a request that comes after its time is refused, and journaled nowhere") {
  AskingHouse house;
  const Instant now = house.clock.wall;
  const int rows = house.journal_rows(store::JournalKind::request);
  const auto reply = house.hold("h", house.times(now - minutes(2), now - seconds(1)));
  house.refuses(reply, "expired");
  CHECK_THAT(text(reply), Contains("expires is 2026-09-01T12:00:00Z") &&
                              Contains("ask again if it is still wanted"));
  CHECK(house.journal_rows(store::JournalKind::request) == rows);
  CHECK(done(house.hold("h", house.times(now, now + seconds(1)))));  // asked again, under its id
  CHECK(house.held());
}

TEST_CASE("a release that waited too long does not happen") {
  AskingHouse house;
  CHECK(done(house.ask(kHold)));
  const std::string late =
      R"({"id":"r","who":"Ines","request":"release","bench":"long")" +
      house.times(house.clock.wall - minutes(10), house.clock.wall - minutes(9)) + "}";
  CHECK(problem(house.ask(late)) == "expired");
  CHECK(house.held());
}

TEST_CASE("a request is late by the time of its taking, however long the store failed") {
  AskingHouse house;
  house.break_store();
  const Instant now = house.clock.wall;
  house.hold("h", house.times(now, now + seconds(30)));
  for (int i = 0; i < 40; ++i) house.tick();
  house.mend_store();
  house.acknowledge_all();
  house.forget();
  for (int i = 0; i < 10; ++i) {
    house.tick();
    if (house.last.more) house.bring(GoOn{});
  }
  CHECK(problem(house.said("replies/test")) == "expired");
  CHECK_FALSE(house.held());
}

TEST_CASE("a command is obeyed while its computer's clock is at most five minutes off") {
  // As the command line says it: good for a minute, and as long again as clocks may differ.
  const auto asked = [](const AskingHouse& house, Span off) {
    const Instant sent = house.clock.wall + off;
    return AskingHouse::times(sent, sent + seconds(60) + feeding::kAskerAhead);
  };
  for (const Span off : {-Span(minutes(6)), -Span(minutes(5)), Span(0), Span(minutes(5))}) {
    AskingHouse house;
    CHECK(done(house.hold("h", asked(house, off))));
    CHECK(house.held());
  }
  AskingHouse behind;
  behind.refuses(behind.hold("h", asked(behind, -Span(minutes(6)) - seconds(1))), "expired");
  AskingHouse ahead;
  ahead.refuses(ahead.hold("h", asked(ahead, Span(minutes(5)) + seconds(1))), "sent-in-the-future");
}

TEST_CASE("a request from the future, or from long ago, is refused") {
  AskingHouse house;
  const Instant now = house.clock.wall;
  CHECK(done(house.hold("near", house.times(now + minutes(5)))));
  CHECK(done(house.ask(R"({"id":"r","who":"Ines","request":"release","bench":"long"})")));
  SECTION("ahead") {
    const auto reply = house.hold("h", house.times(now + minutes(5) + seconds(1)));
    house.refuses(reply, "sent-in-the-future");
    CHECK_THAT(text(reply), Contains("set the clock of the device that asks"));
  }
  SECTION("behind") {
    const auto reply = house.hold("h", house.times(now - 7 * kDay - seconds(1)));
    house.refuses(reply, "sent-too-long-ago");
    CHECK_THAT(text(reply), Contains("more than 7 days ago"));
  }
  SECTION("at the bound") { CHECK(done(house.hold("h", house.times(now - 7 * kDay)))); }
  SECTION("an acknowledged notice too") {
    CHECK(problem(house.ask(R"({"id":"n","who":"Ines","request":"acknowledge","notice":"x/y")" +
                            house.times(now - 8 * kDay) + "}")) == "sent-too-long-ago");
  }
}

TEST_CASE("when the time comes from the readings nobody's clock can be late") {
  AskingHouse house("clock: {time: readings}\n");
  const Instant now = house.clock.wall;
  CHECK(done(house.hold("h", house.times(now + 300 * kDay, now + 301 * kDay))));
  CHECK(done(house.hold("i", house.times(now - 300 * kDay, now - 299 * kDay))));
}

TEST_CASE("what leads to plain water is obeyed while the clock is not believed") {
  AskingHouse house;
  CHECK(done(house.ask(R"({"id":"a","who":"Ines","request":"arm","pump":"long"})")));
  house.forget();
  house.clock.wall += 500 * kDay;
  house.tick();
  REQUIRE_FALSE(house.core->report()->service.clock_settled);
  const Instant wall = house.clock.wall, engine = house.core->report()->service.now;

  SECTION("a hold, whatever its times are by that clock") {
    // As the command line writes it, by the clock that jumped.
    CHECK(done(house.hold("h", house.times(wall, wall + seconds(70)))));
    CHECK(house.held());
    CHECK(parsed(house.said("benches/long/order")).at("feeding").as_string() == "plain-water");
  }
  SECTION("a hold until a day that is past by engine time, or far ahead of it") {
    const auto until = GENERATE(-3, 900);
    CHECK(done(
        house.hold("h", fmt::format(R"(,"until":"{}")", format_rfc3339(engine + until * kDay)))));
    REQUIRE(house.held());
    CHECK(house.core->report()->benches[1].hold->planned_end == engine + 28 * kDay);
  }
  SECTION("a longer hold") {
    CHECK(done(house.hold("h")));
    CHECK(done(house.ask(
        fmt::format(R"({{"id":"e","who":"Ines","request":"extend","bench":"long","until":"{}"}})",
                    format_rfc3339(engine + 900 * kDay)))));
    CHECK(house.core->report()->benches[1].hold->planned_end == engine + 56 * kDay);
  }
  SECTION("a pump's disarming") {
    CHECK(done(house.ask(kDisarm)));
    CHECK_FALSE(house.core->report()->pumps[0].armed);
  }
  SECTION("and nothing else") {
    CHECK(done(house.hold("h")));
    for (const char* json : {R"({"id":"r","who":"Ines","request":"release","bench":"long"})",
                             R"({"id":"t","who":"Ines","request":"trust","pump":"long"})",
                             R"({"id":"g","who":"Ines","request":"growth-started","bench":"long"})",
                             R"({"id":"b","who":"Ines","request":"arm","pump":"long"})"})
      CHECK(problem(house.ask(json)) == "clock-unsettled");
    CHECK(house.held());
  }
}

TEST_CASE("by a clock in 1970 only what leads to plain water is obeyed, at the last engine time") {
  AskingHouse house;
  CHECK(done(house.ask(R"({"id":"a","who":"Ines","request":"arm","pump":"long"})")));
  const Instant before = house.core->report()->service.now;
  house.clock.wall = from_seconds(100);  // and no tick yet: we still listen
  CHECK(problem(house.ask(R"({"id":"g","who":"I","request":"growth-started","bench":"long"})")) ==
        "clock-unsettled");
  CHECK(done(house.hold("h", house.times(from_seconds(100), from_seconds(170)))));
  CHECK(done(house.ask(kDisarm)));
  CHECK(house.held());
  CHECK(house.core->report()->service.now >= before);
  CHECK(house.core->report()->service.now <= before + seconds(1));
  CoreHouse fresh;
  fresh.clock.wall = from_seconds(100);
  fresh.restart();
  fresh.bring(PublisherChanged{true, 5});
  CHECK(problem(fresh.ask(kHold)) == "clock-unsettled");  // there is no engine time at all
  CHECK(fresh.journal_rows(store::JournalKind::request) == 0);
}

TEST_CASE("replies go only where replies belong") {
  AskingHouse house;
  const auto hold = [&](const std::string& id, const std::string& answer_to) {
    broker::Message message;
    const std::string topic = "plainwater/testing/requests";
    const std::string json =
        fmt::format(R"({{"id":"{}","who":"Ines","request":"hold","bench":"long"}})", id);
    message.topic = topic;
    message.payload = json;
    message.after_fence = true;
    message.response_topic = answer_to;
    house.forget();
    house.bring(message);
    return house.to(answer_to).size();
  };
  int n = 0;
  for (const std::string topic :
       {"plainwater/testing/notices/urgent", "plainwater/testing/benches/long/placard",
        "plainwater/testing/service/main/fence", "plainwater/testing/requests",
        "plainwater/testing/replies", "plainwater/testing/replies/", "air/long", "phone/answers",
        "plainwater/testing/replies/\n"}) {
    INFO(topic);
    house.acknowledge_all();
    house.ask(fmt::format(R"({{"id":"r-{}","who":"Ines","request":"release","bench":"long"}})", n));
    const std::string id = fmt::format("h-{}", n++);
    house.forget();
    hold(id, topic);
    CHECK(house.held());  // obeyed all the same
    for (const auto& sent : house.published)
      CHECK(sent.payload.find("\"done\":") == std::string::npos);
  }
  const auto report = house.core->report();
  CHECK(report->counts.reply_topics_refused == static_cast<std::uint64_t>(n));
  CHECK(report->counts.replies_not_sent == 0);
  CHECK(house.logged("replies may not go to the topic \"plainwater/testing/notices/urgent\""));
  house.acknowledge_all();
  CHECK(hold("fine", "plainwater/testing/replies/phone-7") == 1);
}

TEST_CASE("A request that is answered before the publisher is connected gets its reply then") {
  CoreHouse house;
  house.bring(ListeningChanged{true});
  house.bring(LinkChanged{true});
  house.bring(BacklogDrained{});
  house.air(18, house.clock.wall);
  const auto ask = [&](int n) {
    house.ask(
        fmt::format(R"({{"id":"early-{}","who":"Ines","request":"hold","bench":"long"}})", n));
  };
  for (int n = 0; n < 1001; ++n) ask(n);
  CHECK(house.to("replies/test").empty());
  CHECK(house.core->report()->counts.replies_not_sent == 1);  // room for a thousand
  house.forget();
  house.bring(PublisherChanged{true, 5});
  house.acknowledge_all();
  const auto replies = house.to("replies/test");
  REQUIRE(replies.size() == 1000);
  CHECK(done(replies.front().payload));
  house.forget();
  house.bring(PublisherChanged{false, 0});
  house.bring(PublisherChanged{true, 5});
  house.acknowledge_all();
  CHECK(house.to("replies/test").empty());  // once
}

TEST_CASE("the settings may name further topics for replies, none of them among our own") {
  const std::string url =
      R"(broker: {url: "mqtt://127.0.0.1:1", reply_topics: [phones/+/answers, plainwater/#]})";
  const auto loaded = load_settings_text(
      "site: {name: testing, latitude: 52.2, longitude: -2.1, time_zone: Europe/London}\n"
      "sensors:\n  long-air: {topic: air/long, form: number, quantity: temperature}\n"
      "benches:\n  long: {group: cool, sensors: [long-air]}\n" +
          url,
      "replies.yaml");
  REQUIRE(loaded.settings);
  const outlet::Topics topics(*loaded.settings);
  CHECK(topics.may_reply_to("phones/7/answers"));
  CHECK(topics.may_reply_to("plainwater/elsewhere"));
  CHECK(topics.may_reply_to("plainwater/testing/replies/1"));
  CHECK_FALSE(topics.may_reply_to("phones/7/questions"));
  CHECK_FALSE(topics.may_reply_to("plainwater/testing/notices/urgent"));
  CHECK_FALSE(topics.may_reply_to("plainwater/testing/requests"));
}

TEST_CASE("what came from outside keeps to one line, in every place it goes to") {
  AskingHouse house;
  for (const char* json :
       {R"({"id":"a\nb","who":"Ines","request":"hold","bench":"long"})",
        R"({"id":"a","who":"Ines\u001b[2J","request":"hold","bench":"long"})",
        R"({"id":"a","who":"Ines","request":"hold\n","bench":"long"})",
        R"({"id":"a","who":"Ines","request":"hold","bench":"long\r\n"})",
        R"({"id":"a","who":"Ines\u2028","request":"hold","bench":"long"})",
        R"({"id":"a","who":"Ines\u0085","request":"hold","bench":"long"})",
        R"({"id":"a","who":"Ines","request":"hold","bench":"long","note":"bell\u0007"})"}) {
    INFO(json);
    const auto reply = house.ask(json);
    CHECK(problem(reply) == "bad-value");
    CHECK_THAT(text(reply), Contains("must be one line without control characters"));
  }
  CHECK(problem(house.ask(R"({"id":"a","who":"Ines","request":"hold","bench":"long","x\ny":1})")) ==
        "unknown-field");
  CHECK_FALSE(house.held());
  CHECK(done(house.CoreHouse::ask(
      R"({"id":"a","who":"Ines","request":"hold","bench":"long","note":"one\r\ntwo\n\tthree"})")));
  bool found = false;
  for (const auto& decision : house.last.decisions) {
    const std::string evidence = decision.evidence.json();
    found = found || evidence.find("\"note\":\"one two  three\"") != std::string::npos;
  }
  CHECK(found);
  house.message("air/\nwarning: all is well", "x");
  house.message("plainwater/testing/benches/long/dosed", R"({"litres":1,"pump":"a\nb"})");
  for (const std::string& line : house.log) CHECK(line.find_first_of("\n\r\x1b") == line.npos);
}

TEST_CASE("texts are as long as they may be, and no longer") {
  AskingHouse house;
  const std::string umlauts = [] {
    std::string all;
    for (int i = 0; i < 100; ++i) all += "ü";
    return all;
  }();
  const auto ask = [&](const std::string& id, const std::string& who, const std::string& note) {
    return house.ask(fmt::format(
        R"({{"id":"{}","who":"{}","request":"hold","bench":"long","note":"{}"}})", id, who, note));
  };
  CHECK(done(ask(umlauts, umlauts, std::string(500, 'n'))));
  CHECK(text(ask(std::string(101, 'i'), "Ines", "")) == "id is longer than 100 characters");
  CHECK(text(ask("1", umlauts + "!", "")) == "who is longer than 100 characters");
  CHECK(text(ask("1", "Ines", std::string(501, 'n'))) == "note is longer than 500 characters");
}

TEST_CASE("a dozen holds wait for their day on a bench, however many are announced") {
  AskingHouse house;
  const Instant now = house.clock.wall;
  const auto announce = [&](int n) {
    return house.hold(std::to_string(n),
                      fmt::format(R"(,"from":"{}")", format_rfc3339(now + (1 + n) * kDay)));
  };
  for (int n = 0; n < 12; ++n) CHECK(done(announce(n)));
  const auto reply = announce(12);
  CHECK(problem(reply) == "too-many-announced");
  CHECK_THAT(text(reply), Contains("12 holds are announced for this bench already"));
  CHECK(done(house.hold("now")));  // what begins at once is no announcement
}
