// Topics, fields and families of sensors.
#include <catch2/catch.hpp>

#include "loading.h"
#include "settings/family.h"

using namespace plainwater;
using namespace plainwater::test;
using Catch::Matchers::Contains;

namespace {

const std::string kLive =
    "broker: {url: \"mqtt://127.0.0.1\"}\nsensors:\n";  // its entries begin at line 10

std::string live(std::string_view sensors) { return house(kLive + std::string(sensors)); }

std::vector<std::string> names(const Settings& settings) {
  std::vector<std::string> all;
  for (const Sensor& sensor : settings.sensors) all.push_back(sensor.name);
  return all;
}

SensorMapping family(std::string name, std::string topic) {
  SensorMapping mapping;
  mapping.name = std::move(name);
  mapping.topic = std::move(topic);
  return mapping;
}

}  // namespace

TEST_CASE("With a broker a sensor needs a topic, its own or a family's") {
  CHECK_THAT(problems(live("  other: {topic: a}\n")),
             Contains("house.yaml:7: benches.east.sensors: sensor \"east-air\" has no topic"));
  CHECK_THAT(problems(live("  east-ari: {topic: a}\n")), Contains("did you mean east-ari?"));
  CHECK_THAT(problems(live("  east-air: {form: number}\n")),
             Contains("house.yaml:10: sensors.east-air.topic: expected the MQTT topic"));
  CHECK(problems(live("  east-air: {topic: a/b}\n")).empty());
  CHECK(problems(live("  \"{1}-air\": {topic: house/+}\n")).empty());
  CHECK_THAT(problems(live("  \"{1}-soil\": {topic: house/+}\n")),
             Contains("no family reaches it"));
}

TEST_CASE("Unknown references") {
  const std::string text =
      "broker: {url: \"mqtt://h\"}\nsite: {latitude: 1, longitude: 2,\n  outdoor_reference: "
      "wether,\n  indoor_reference: parlour}\n"
      "benches: {b: {sensors: [weather]}}\nsensors: {weather: {topic: w}}\n";
  CHECK_THAT(problems(text),
             Contains("house.yaml:3: site.outdoor_reference: sensor \"wether\" has no topic") &&
                 Contains("did you mean weather?"));
  CHECK_THAT(problems(text),
             Contains("house.yaml:4: site.indoor_reference: sensor \"parlour\" has no topic"));
  CHECK_THAT(problems("site: {latitude: 1, longitude: 2, outdoor_reference: a, indoor_reference: "
                      "a}\nbenches: {b: {sensors: [c]}}\n"),
             Contains("the same sensor as outdoor_reference"));
}

TEST_CASE("Without a broker and sensors the names are enough") {
  const Loaded loaded = load(
      "site: {latitude: 1, longitude: 2, outdoor_reference: yard}\nbenches:\n  b: {sensors: [s2, "
      "s1]}\n  a: {sensors: [s3, s1]}\n");
  REQUIRE(loaded.settings);
  CHECK(loaded.warnings.empty());
  const Settings& settings = *loaded.settings;
  CHECK(names(settings) == std::vector<std::string>{"s1", "s2", "s3", "yard"});
  REQUIRE(settings.benches.size() == 2);
  CHECK(settings.benches[0].name == "a");
  CHECK(settings.benches[0].sensors == std::vector<SensorId>{SensorId{2}, SensorId{0}});
  CHECK(settings.benches[1].sensors == std::vector<SensorId>{SensorId{1}, SensorId{0}});
  CHECK(settings.sensor("yard") == SensorId{3});
  CHECK_FALSE(settings.sensor("yar"));
  CHECK(settings.bench("b") == 1);
  CHECK_FALSE(settings.bench("c"));
}

TEST_CASE("Without a broker a name missing from sensors is worth a warning") {
  const Loaded loaded = load(house("sensors:\n  east-ai: {topic: a}\n"));
  REQUIRE(loaded.settings);
  REQUIRE(loaded.warnings.size() == 1);  // that nothing uses east-ai follows from it
  CHECK_THAT(loaded.warnings[0],
             Contains("house.yaml:7: benches.east.sensors") && Contains("did you mean east-ai?"));
  CHECK(names(*loaded.settings) == std::vector<std::string>{"east-ai", "east-air"});
}

TEST_CASE("A family alone names no sensor, and passes on how its sensors report") {
  const Loaded loaded = load(live("  \"{1}-air\": {topic: house/+, reports: on-change}\n"));
  REQUIRE(loaded.settings);
  CHECK(names(*loaded.settings) == std::vector<std::string>{"east-air"});
  CHECK(loaded.settings->sensors[0].reports == Reports::on_change);
}

TEST_CASE("An own entry wins over a family") {
  const Loaded loaded =
      load(live("  \"{1}\": {topic: house/+, reports: on-change}\n  east-air: {topic: other}\n"));
  REQUIRE(loaded.settings);
  CHECK(loaded.settings->sensors[0].reports == Reports::regularly);
}

TEST_CASE("Topic filters") {
  for (const char* bad : {"a+/b", "a/+b", "#/a", "a#", "a/#/b"})
    CHECK_THAT(
        problems(live(std::string("  \"{1}\": {topic: \"") + bad + "\"}\n")),
        Contains("house.yaml:10: sensors.{1}.topic: ") && Contains("not an MQTT topic filter"));
  for (const char* good : {"+", "#", "a/+/b", "a/#", "/+"})
    CHECK(problems(live(std::string("  \"{1}\": {topic: \"") + good + "\"}\n")).empty());
}

TEST_CASE("Names of families") {
  CHECK_THAT(
      problems(live("  east-air: {topic: a/+}\n")),
      Contains(
          "house.yaml:10: sensors.east-air: the topic has a wildcard, so the name must hold {1}"));
  CHECK_THAT(problems(live("  \"{2}\": {topic: a/+}\n")),
             Contains("{2} stands for no wildcard: the topic has 1"));
  CHECK_THAT(problems(live("  \"{1}\": {topic: a}\n")),
             Contains("the topic has no wildcard for them"));
  for (const char* bad : {"{1", "1}", "{}", "{a}", "{0}", "{001}", "}{1}"})
    CHECK_THAT(problems(live(std::string("  \"") + bad + "\": {topic: a/+}\n")),
               Contains("expected braces only as {1}"));
  CHECK_THAT(problems(live("  \"a/{1}\": {topic: a/+}\n")), Contains("a name holds no spaces"));
}

TEST_CASE("The number of families is limited") {
  std::string families;
  for (int i = 0; i < 201; ++i)
    families += "  \"{1}-" + std::to_string(i) + "\": {topic: a/+/" + std::to_string(i) + "}\n";
  CHECK_THAT(problems(live("  east-air: {topic: a}\n" + families)),
             Contains("house.yaml:9: sensors: expected at most 200 families, found 201"));
}

TEST_CASE("What a family reaches") {
  CHECK(reaches(family("{1}-air", "h/+"), "east-air"));
  CHECK_FALSE(reaches(family("{1}-air", "h/+"), "-air"));
  CHECK_FALSE(reaches(family("{1}-air", "h/+"), "east-airs"));
  CHECK(reaches(family("{2}.{1}", "+/+"), "a.b.c"));
  CHECK(reaches(family("{1}-{1}", "+"), "ab-ab"));
  CHECK_FALSE(reaches(family("{1}-{1}", "+"), "ab-ac"));
}

TEST_CASE("One field of one topic belongs to one sensor") {
  CHECK_THAT(problems(live("  east-air: {topic: a, form: json, temperature: /t}\n  b: {topic: a, "
                           "form: json, temperature: /t}\n")),
             Contains("house.yaml:11: sensors.b.temperature: the same topic and field as "
                      "sensors.east-air.temperature"));
  CHECK_THAT(problems(live("  east-air: {topic: a, form: json, temperature: /t, humidity: /t}\n")),
             Contains("the same topic and field"));
  CHECK_THAT(problems(live("  east-air: {topic: a}\n  b: {topic: a, quantity: humidity}\n")),
             Contains("house.yaml:11: sensors.b.quantity: the same topic"));
  CHECK(problems(live("  east-air: {topic: a, form: json, temperature: /t/0}\n  b: {topic: a, "
                      "form: json, temperature: /t/1}\n"))
            .empty());
}

TEST_CASE("Fields that a form does and does not have") {
  CHECK_THAT(
      problems(live("  east-air: {topic: a, form: json, temperature: t}\n")),
      Contains(
          "house.yaml:10: sensors.east-air.temperature: expected a JSON Pointer, found \"t\""));
  CHECK_THAT(problems(live("  east-air: {topic: a, form: json, temperature: /t~2}\n")),
             Contains("expected a JSON Pointer"));
  CHECK_THAT(problems(live("  east-air: {topic: a, form: json}\n")),
             Contains("expected temperature, humidity or place to name a field"));
  CHECK_THAT(problems(live("  east-air: {topic: a, form: senml}\n")),
             Contains("expected temperature or humidity to name a field"));
  CHECK_THAT(problems(live("  east-air: {topic: a, temperature: /t}\n")),
             Contains("a plain number has no fields"));
  CHECK_THAT(problems(live("  east-air: {topic: a, form: senml, temperature: t, time: /t}\n")),
             Contains("a SenML record carries its own time"));
  CHECK_THAT(
      problems(live("  east-air: {topic: a, form: json, temperature: /t, quantity: humidity}\n")),
      Contains("only a plain number needs it"));
}

TEST_CASE("Readings without a time are useless to a clock that takes its time from readings") {
  const Loaded loaded = load(live("  east-air: {topic: a}\nclock: {time: readings}\n"));
  REQUIRE(loaded.warnings.size() == 1);
  CHECK_THAT(loaded.warnings[0], Contains("sensors.east-air.form: a plain number carries no time"));
}
