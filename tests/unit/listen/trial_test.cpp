// What sensors of given settings become: the same as live.
#include "listen/trial.h"

#include <fmt/format.h>

#include <catch2/catch.hpp>

#include "house.h"
#include "listen/trial_text.h"
#include "service/router.h"
#include "settings/load.h"

namespace plainwater::listen {
namespace {

using Catch::Matchers::Contains;

std::shared_ptr<const Settings> settings() {
  const Loaded loaded = load_settings_text(R"(
site: {name: tern-bank, latitude: 52.2, longitude: -2.1}
broker: {url: "mqtt://127.0.0.1:1883"}
sensors:
  east-air: {topic: house/east/air, form: json, temperature: /t, humidity: /rh, time: /time, unit: fahrenheit}
  door: {topic: house/east/door, quantity: place}
  "{1}-pack": {topic: pack/+/up, form: senml, temperature: t}
benches:
  east: {sensors: [east-air, west-pack], moves: declared, contact: door}
)",
                                           "my.yaml");
  for (const Problem& problem : loaded.problems) FAIL(message(problem, "my.yaml"));
  return loaded.settings;
}

broker::Message message_of(std::string_view topic, std::string_view payload,
                           bool retained = false) {
  broker::Message message;
  message.topic = topic;
  message.payload = payload;
  message.retained = retained;
  message.after_fence = !retained;
  return message;
}

const std::pair<const char*, const char*> kMessages[] = {
    {"house/east/air", R"({"t":68,"rh":55,"time":"2026-09-14T05:30:00Z"})"},
    {"house/east/air", R"({"t":68,"rh":102})"},
    {"house/east/air", R"({"t":680})"},
    {"house/east/air", R"({"t":"warm"})"},
    {"house/east/air", R"({"t":68,"time":"2026-09-14T06:30:00Z"})"},
    {"house/east/air", R"({"rh":55,"time":"yesterday"})"},
    {"house/east/air", "{"},
    {"house/east/door", "outdoors"},
    {"house/east/door", "ajar"},
    {"pack/west/up", R"([{"n":"t","u":"Cel","v":21.5,"t":-60}])"},
    {"pack/west/up", R"([{"n":"t","u":"F","v":70}])"},
    {"pack/north/up", R"([{"n":"t","v":21.5}])"},
};

}  // namespace

TEST_CASE("A trial gives the readings and refusals that the service would") {
  const auto house = settings();
  for (const auto& [topic, payload] : kMessages)
    for (const bool retained : {false, true}) {
      CAPTURE(topic, payload, retained);
      Trial trial(house);
      trial.take(message_of(topic, payload, retained), kStart);
      service::Router router(house);
      std::vector<LogLine> log;
      const auto routed =
          router.route(message_of(topic, payload, retained), {kStart, kNever, true}, log);
      const auto* live = std::get_if<service::Measurements>(&routed);
      REQUIRE(live != nullptr);
      std::vector<Reading> tried;
      std::uint64_t refused = 0;
      for (std::size_t i = 0; i < trial.sensors().size(); ++i) {
        for (const Became& one : trial.sensors()[i].became)
          tried.push_back({static_cast<SensorId>(i), one.quantity, one.time, one.value});
        for (const auto& [reason, times] : trial.sensors()[i].refused) {
          CHECK(router.refusals().total(reason) == times);
          refused += times;
        }
      }
      CHECK(tried == live->readings);
      CHECK(router.refusals().total() ==
            refused + router.refusals().total(intake::Refusal::unmapped_topic));
    }
}

TEST_CASE("A trial shows what came and what it became") {
  Trial trial(settings());
  trial.take(message_of("house/east/air", kMessages[0].second), kStart);
  trial.take(message_of("house/east/door", "ajar"), kStart);
  trial.take(message_of("house/east/dor", "outdoors"), kStart);
  trial.take(message_of("pack/wset/up", "x"), kStart);
  trial.take(message_of("else/where/entirely", "x"), kStart);
  const std::string text = trial_text(trial, "1min");
  CHECK_THAT(text, Contains("-> 20.0 °C, 55 %RH at 2026-09-14T05:30:00Z (its own time)"));
  CHECK_THAT(text, Contains("refused 1 time: unknown-word: compare the mapping's outdoors_word"));
  CHECK_THAT(text, Contains("such as ajar"));
  CHECK_THAT(text, Contains("west-pack  nobody published on pack/west/up within 1min\n"
                            "  did you mean pack/wset/up?"));
  CHECK(sensors_refused(trial) == 1);
  CHECK(trial_verdict(trial) ==
        "1 of 3 sensors gave readings; of 1 every message was refused; of 1 nothing came");
}

TEST_CASE("What the broker had kept shows its value, and is no failure") {
  Trial trial(settings());
  trial.take(message_of("house/east/air", R"({"t":68})", true), kStart);
  trial.take(message_of("house/east/door", "ajar", true), kStart);
  const std::string text = trial_text(trial, "1min");
  CHECK_THAT(text, Contains("-> 20.0 °C (not used: untimed-retained)\n"
                            "  nobody published it within 1min: listen longer\n"
                            "  refused 1 time: untimed-retained"));
  CHECK(sensors_refused(trial) == 1);
  CHECK(trial_verdict(trial) ==
        "0 of 3 sensors gave readings; of 1 every message was refused; of 1 only what the broker "
        "had kept; of 1 nothing came");
}

TEST_CASE("Near topics differ in a letter or a level") {
  CHECK(distance_of("house/east/air", "house/east/air") == 0);
  CHECK(distance_of("house/east/air", "house/esat/air") == 1);
  CHECK(distance_of("house/east/air", "house/East/air") == 1);
  CHECK(distance_of("house/east/air", "house/east/air/state") == 2);
  CHECK(distance_of("house/east/air", "east/air") == 2);
  CHECK(distance_of("house/+/air", "house/anything/air") == 0);
  CHECK_FALSE(distance_of("house/east/air", "garden/pump/state"));
  CHECK_FALSE(distance_of("house/east/air", "house"));
  CHECK_FALSE(distance_of("", "house"));
}

TEST_CASE("What is remembered of other topics is bounded") {
  Trial trial(settings());
  for (std::size_t i = 0; i < Trial::kMostTopics + 10; ++i)
    trial.take(message_of(fmt::format("pack/weest/{}", i), "x"), kStart);
  CHECK(trial.messages() == Trial::kMostTopics + 10);
  CHECK(trial.near(*trial.settings().sensor("west-pack")).size() <= 3);
}

}  // namespace plainwater::listen
