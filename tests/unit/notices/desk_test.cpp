// Who hears of what, how often, and when: the right thing once.
#include "told_house.h"

using namespace plainwater;
using namespace plainwater::notices;
using Catch::Contains;

TEST_CASE("what lasts is told when it begins, again after longer and longer, and when it is over") {
  Watch watch(house_with());
  watch.lasting = {lasting_matter("sensor-silent", "long", "long-air")};
  watch.look();
  CHECK(watch.news() == Told{"begun sensor-silent"});
  watch.pass(hours(23));
  CHECK(watch.news().empty());
  watch.pass(hours(2));
  CHECK(watch.news() == Told{"lasting sensor-silent"});
  watch.pass(hours(46));
  CHECK(watch.news().empty());
  watch.pass(hours(2));
  CHECK(watch.news() == Told{"lasting sensor-silent"});
  CHECK_THAT(watch.heard.back().message.line, Contains("Still: Something is wrong."));
  watch.lasting.clear();
  watch.pass(minutes(9));
  CHECK(watch.news().empty());
  watch.pass(minutes(3));
  CHECK(watch.news() == Told{"over sensor-silent"});
  CHECK(watch.heard.back().message.line == "Over: Something is wrong. You need not do anything.");
  watch.pass(2 * kDay);
  CHECK(watch.news().empty());
  CHECK(watch.desk.items().empty());
}

TEST_CASE("the time between two tellings grows to the longest and no further") {
  Watch watch(house_with("{quiet: \"\", digest: \"\", urgent_again: 1 h, longest_again: 1 d}"));
  watch.lasting = {lasting_matter("chill", "mist")};
  watch.look();
  watch.pass(10 * kDay);
  std::vector<int> gaps;
  for (std::size_t i = 1; i < watch.heard.size(); ++i)
    gaps.push_back(static_cast<int>(hours_of(watch.heard[i].time - watch.heard[i - 1].time)));
  REQUIRE(gaps.size() > 7);
  CHECK(std::vector<int>(gaps.begin(), gaps.begin() + 7) ==
        std::vector<int>{1, 2, 4, 8, 16, 24, 24});
}

TEST_CASE(
    "what somebody acknowledged is not told again while it lasts, and still told when it is over") {
  Watch watch(house_with());
  watch.lasting = {lasting_matter("blind", "long")};
  watch.look();
  CHECK_FALSE(watch.desk.acknowledge("blind/mist", "Ines", at(watch.now)).done);
  CHECK(watch.desk.acknowledge("blind/mist", "Ines", at(watch.now)).problem == "unknown-notice");
  CHECK(watch.desk.acknowledge("blind/long", "Ines", at(watch.now)).done);
  CHECK_THAT(watch.desk.acknowledge("blind/long", "Tom", at(watch.now)).text(),
             Contains("Ines acknowledged it already"));
  watch.pass(8 * kDay);
  CHECK(watch.news() == Told{"begun blind"});
  watch.lasting.clear();
  watch.pass(minutes(15));
  CHECK(watch.news() == Told{"over blind"});
  watch.lasting = {lasting_matter("blind", "long")};
  watch.pass(2 * kDay);
  CHECK(watch.news() == Told{"lasting blind"});  // another time, and nobody has acknowledged that
}

TEST_CASE("what comes and goes is told as if it had lasted") {
  Watch watch(house_with());
  for (int day = 0; day < 3 * 24; ++day) {
    watch.lasting = {lasting_matter("sensor-silent", "long", "long-air")};
    watch.pass(minutes(30));
    watch.lasting.clear();
    watch.pass(minutes(30));
  }
  // Told at its first beginning, then in its turns, not 72 times; never twice "over" without a
  // telling in between.
  const Told told = watch.news();
  CHECK(told.size() <= 8);
  CHECK(told.front() == "begun sensor-silent");
  for (std::size_t i = 1; i < told.size(); ++i)
    CHECK_FALSE((told[i] == "over sensor-silent" && told[i - 1] == told[i]));
}

TEST_CASE("a minute's gap is none") {
  Watch watch(house_with());
  watch.lasting = {lasting_matter("pump-silent")};
  watch.look();
  for (int i = 0; i < 20; ++i) {
    watch.lasting.clear();
    watch.pass(minutes(5));
    watch.lasting = {lasting_matter("pump-silent")};
    watch.pass(minutes(5));
  }
  CHECK(watch.news() == Told{"begun pump-silent"});
}

TEST_CASE("what is gone at its turn is not told as lasting") {
  Watch watch(house_with());
  watch.lasting = {lasting_matter("sensor-silent", "long", "long-air")};
  watch.look();
  watch.pass(hours(23) + minutes(55));
  watch.lasting.clear();
  watch.pass(hours(1));
  CHECK(watch.news() == Told{"begun sensor-silent", "over sensor-silent"});
}

TEST_CASE("an end that waits for the morning is told though it came back for an hour meanwhile") {
  Watch watch(house_with("{quiet: \"22:00-07:00\", digest: \"\"}"), "2026-11-26T20:00:00Z");
  watch.lasting = {lasting_matter("sensor-silent", "long", "long-air")};
  watch.look();
  watch.pass(hours(3));
  watch.lasting.clear();
  watch.pass(hours(2));
  watch.lasting = {lasting_matter("sensor-silent", "long", "long-air")};
  watch.pass(hours(1));
  watch.lasting.clear();
  watch.pass(hours(6));
  CHECK(watch.news() == Told{"begun sensor-silent", "over sensor-silent"});
}

TEST_CASE("what is urgent and is decided again is told though the first was acknowledged") {
  Watch watch(house_with());
  const auto chill = lasting_matter("chill", "mist");
  watch.lasting = {chill};
  watch.look();
  CHECK(watch.desk.acknowledge("chill/mist", "Ines", at(watch.now)).done);
  watch.pass(7 * kDay);
  watch.desk.take({chill}, at(watch.now));
  watch.look();
  CHECK(watch.news() == Told{"begun chill", "lasting chill"});
}

TEST_CASE("a digest that is not wanted any more leaves nothing behind") {
  Watch watch(house_with("{quiet: \"\", digest: \"07:30\"}"));
  watch.desk.take({happened_matter("hold-confirmed", "long", watch.now)}, at(watch.now));
  watch.look();
  std::vector<Item> items;
  for (const auto& [key, item] : watch.desk.items()) items.push_back(item);
  CHECK(items.size() == 2);
  watch.desk = Desk(*house_with());
  watch.desk.restore(std::move(items));
  watch.look();
  CHECK(watch.news() == Told{"happened hold-confirmed"});
  CHECK(watch.desk.items().empty());
  CHECK(watch.desk.next_due() == kForever);
}

TEST_CASE("in quiet hours only what is urgent is told") {
  Watch watch(house_with("{quiet: \"22:00-07:00\", digest: \"\"}"), "2026-11-26T23:00:00Z");
  watch.lasting = {lasting_matter("sensor-silent", "long", "long-air"),
                   lasting_matter("chill", "mist")};
  watch.desk.take({happened_matter("hold-placed", "long", watch.now)}, at(watch.now));
  watch.look();
  CHECK(watch.news() == Told{"begun chill"});
  watch.lasting = {lasting_matter("sensor-silent", "long", "long-air")};
  watch.pass(hours(7) + minutes(59));
  CHECK(watch.news().empty());  // that the chill is over wakes nobody
  watch.pass(minutes(2));
  Told morning = watch.news();
  std::ranges::sort(morning);
  CHECK(morning == Told{"begun sensor-silent", "happened hold-placed", "over chill"});
}

TEST_CASE("what was over before anybody heard of it is not told") {
  Watch watch(house_with("{quiet: \"22:00-07:00\", digest: \"\"}"), "2026-11-26T23:00:00Z");
  watch.lasting = {lasting_matter("sensor-silent", "long", "long-air")};
  watch.pass(hours(2));
  watch.lasting.clear();
  watch.pass(kDay);
  CHECK(watch.news().empty());
}

TEST_CASE(
    "the digest tells once a day how the benches stand, what is open and what else happened") {
  Watch watch(house_with("{quiet: \"22:00-07:00\", digest: \"07:30\"}"), "2026-11-26T12:00:00Z");
  engine::BenchNow bench;
  bench.name = "long";
  bench.feeding = feeding::Feeding::plain_water;
  watch.benches = {bench};
  bench.name = "mist";
  bench.feeding = feeding::Feeding::reduced;
  bench.strength_percent = 40;
  watch.benches.push_back(bench);
  watch.lasting = {lasting_matter("sensor-silent", "long", "long-air")};
  watch.desk.take({happened_matter("hold-confirmed", "long", watch.now)}, at(watch.now));
  watch.look();
  CHECK(watch.news() == Told{"begun sensor-silent"});  // the other is only good to know
  watch.pass(hours(19) + minutes(29));
  CHECK(watch.news().empty());
  watch.pass(minutes(2));
  CHECK(watch.news() == Told{"happened digest"});
  const Message& told = watch.heard.back().message;
  CHECK(told.urgency == Urgency::info);
  CHECK(told.line ==
        "tern-bank: plain water on long; weak feed at 40 % on mist. One thing is open: "
        "sensor-silent/long-air. One thing happened: hold-confirmed/long.");
  const auto json = boost::json::parse(told.json).as_object();
  CHECK(json.at("with").as_array().size() == 2);
  watch.lasting.clear();
  watch.pass(kDay);
  const Told next = watch.news();
  REQUIRE(next.size() == 2);
  CHECK(next.front() == "over sensor-silent");
  CHECK(next.back() == "happened digest");
  CHECK_THAT(watch.heard.back().message.line,
             Contains("Nothing is open.") && !Contains("happened"));
}

TEST_CASE("the digest keeps to the site's clocks, over the change of summer time too") {
  Watch watch(house_with("{quiet: \"\", digest: \"07:30\"}"),
              "2026-10-23T12:00:00Z");  // the clocks go back on 25 October
  watch.look();
  watch.pass(3 * kDay);
  REQUIRE(watch.heard.size() == 3);
  CHECK(format_rfc3339(watch.heard[0].time) == "2026-10-24T06:30:00Z");
  CHECK(format_rfc3339(watch.heard[1].time) == "2026-10-25T07:30:00Z");
  CHECK(format_rfc3339(watch.heard[2].time) == "2026-10-26T07:30:00Z");
}

TEST_CASE("many of a kind are one message") {
  Watch watch(house_with());
  for (int i = 0; i < 40; ++i)
    watch.lasting.push_back(lasting_matter("blind", "bench-" + std::to_string(i)));
  watch.look();
  REQUIRE(watch.heard.size() == 1);
  CHECK_THAT(watch.heard[0].message.line,
             Contains("40 times nights without believable readings: bench-0, bench-1, bench-10 and "
                      "37 more. The first: bench-0: Something is wrong."));
  const auto json = boost::json::parse(watch.heard[0].message.json).as_object();
  CHECK(json.at("with").as_array().size() == 39);
  // Up to three go by themselves.
  Watch few(house_with());
  for (int i = 0; i < 3; ++i)
    few.lasting.push_back(lasting_matter("blind", "bench-" + std::to_string(i)));
  few.look();
  CHECK(few.heard.size() == 3);
}

TEST_CASE("however many there are and however long their words, a message is bounded") {
  Watch watch(house_with());
  for (int i = 0; i < 5000; ++i) {
    watch.lasting.push_back(lasting_matter("blind", "bench-" + std::to_string(i)));
    Matter& matter = watch.lasting.back();
    for (int word = 0; word < 700; ++word) matter.said += words::as_it_is("grüße \"");
    matter.evidence = "{\"why\":\"" + std::string(20'000, 'x') + "\"}";
    matter.decision = matter.evidence;
  }
  watch.look();
  REQUIRE(watch.heard.size() == 1);
  const Message& told = watch.heard[0].message;
  CHECK(told.line.size() <= kLongestLine);
  CHECK(told.json.size() <= kLongestJson);
  const auto json = boost::json::parse(told.json).as_object();  // whole characters: it can be read
  CHECK(json.at("text").as_string() == told.line);
  CHECK(json.at("evidence").as_object().empty());
  CHECK(json.at("decision").is_null());
  const auto with = json.at("with").as_array().size();
  CHECK(with > 3);
  CHECK(json.at("more").to_number<std::size_t>() == 4999 - with);
}

TEST_CASE("a digest of a large house is bounded") {
  std::vector<engine::BenchNow> benches;
  for (int i = 0; i < 5000; ++i) {
    benches.emplace_back();
    benches.back().name = "bench-" + std::to_string(i);
    benches.back().feeding = feeding::Feeding::reduced;
    benches.back().strength_percent = i % 100;
  }
  std::vector<Item> items(2000);
  std::vector<const Item*> open;
  for (auto& item : items) {
    item.matter = lasting_matter("blind", "bench-" + std::to_string(open.size()));
    item.state = State::open;
    open.push_back(&item);
  }
  Item own;
  own.key = own.matter.kind = "digest";
  own.told = 1;
  const auto told =
      digest(benches, {}, house_with()->site, open, open, own, at_time("2026-10-01T06:30:00Z"), {});
  CHECK(told.line.size() <= kLongestLine);
  CHECK(told.json.size() <= kLongestJson);
  CHECK_THAT(told.line, Contains("2000 things are open") && Contains("and 1995 more") &&
                            Contains("; and 4600 more."));
  const auto json = boost::json::parse(told.json).as_object();
  CHECK(json.at("with").as_array().size() + json.at("more").to_number<std::size_t>() == 4000);
}

TEST_CASE("a later message takes the place of one that may not have gone out") {
  Watch watch(house_with());
  watch.lasting = {lasting_matter("chill", "mist")};
  watch.look();
  CHECK(watch.replaced.empty());
  watch.pass(hours(1) + minutes(1));
  CHECK(watch.replaced == std::vector<std::int64_t>{1, 2});
  watch.lasting.clear();
  watch.pass(minutes(15));
  CHECK(watch.replaced == std::vector<std::int64_t>{3, 4});
}

TEST_CASE("a desk that is read back goes on as it was") {
  const auto settings = house_with("{quiet: \"22:00-07:00\", digest: \"07:30\"}");
  Watch whole(settings), stopped(settings);
  for (Watch* watch : {&whole, &stopped}) {
    watch->lasting = {lasting_matter("chill", "mist"),
                      lasting_matter("sensor-silent", "long", "long-air")};
    watch->desk.take({happened_matter("strength-changed", "long", watch->now)}, at(watch->now));
    watch->look();
  }
  std::map<std::string, Item> stored;
  const auto store = [&] {
    auto changes = stopped.desk.changes();
    for (auto& item : changes.items) stored[item.key] = std::move(item);
    for (const auto& key : changes.dropped) stored.erase(key);
  };
  for (int hour = 0; hour < 60; ++hour) {
    if (hour == 20)
      for (Watch* watch : {&whole, &stopped}) watch->lasting.pop_back();
    if (hour == 7)
      for (Watch* watch : {&whole, &stopped})
        CHECK(watch->desk.acknowledge("chill/mist", "Ines", at(watch->now)).done);
    for (Watch* watch : {&whole, &stopped}) watch->pass(hours(1));
    store();
    std::vector<Item> items;
    for (const auto& [key, item] : stored) items.push_back(item);
    stopped.desk = Desk(*settings);
    stopped.desk.restore(std::move(items));
  }
  CHECK(whole.news() == stopped.news());
  CHECK(whole.heard.size() > 4);
}

TEST_CASE("without a clock that can be believed nothing is quiet and no digest is due") {
  Desk desk(*house_with("{quiet: \"00:00-23:59\", digest: \"07:30\"}"));
  const When when{Instant(minutes(5)), kNever};
  desk.look({lasting_matter("store-slow")}, when);
  const auto messages = desk.due(when, [] { return std::vector<engine::BenchNow>(); });
  REQUIRE(messages.size() == 1);
  CHECK(boost::json::parse(messages[0].json).as_object().at("time").is_null());
}

TEST_CASE("when time is set back what is open is told again after as long as before") {
  Watch watch(house_with());
  watch.lasting = {lasting_matter("sensor-silent", "long", "long-air")};
  watch.look();
  CHECK(watch.news() == Told{"begun sensor-silent"});
  watch.pass(hours(20));
  watch.desk.set_back(4 * 365 * kDay);
  watch.now -= 4 * 365 * kDay;
  CHECK(watch.desk.changed());
  watch.pass(hours(3));
  CHECK(watch.news().empty());
  watch.pass(hours(2));
  CHECK(watch.news() == Told{"lasting sensor-silent"});
}
