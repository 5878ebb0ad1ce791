// Topics against each other, and what a scale makes of readings: warnings, since the service runs.
#include <catch2/catch.hpp>

#include "loading.h"
#include "settings/topic_filter.h"

using namespace plainwater;
using namespace plainwater::test;
using Catch::Matchers::Contains;
using Catch::Matchers::EndsWith;

namespace {

/// The warnings of sensors and what follows them, from line 10 on, one a line.
std::string warnings(const std::string& sensors) {
  const std::string text = house(
      "  west: {sensors: [west-air]}\nbroker: {url: \"mqtt://127.0.0.1\"}\nsensors:\n" + sensors);
  const Loaded loaded = load(text);
  CAPTURE(problems(text));
  REQUIRE(loaded.settings);
  std::string all;
  for (const std::string& warning : loaded.warnings) all += warning + "\n";
  return all;
}

const std::string kEast = "  east-air: {topic: a, form: json, temperature: /t}\n";

std::string scaled(const std::string& keys) {
  return warnings("  west-air: {topic: b}\n  east-air: {topic: a, " + keys + "}\n");
}

}  // namespace

TEST_CASE("One topic read as two forms") {
  CHECK(warnings(kEast + "  west-air: {topic: a}\n") ==
        "house.yaml:12: sensors.west-air.topic: read as number here, and as json by "
        "sensors.east-air (line 11): one of them refuses whatever is sent; say form: as the sender "
        "writes it in both\n");
  CHECK(warnings(kEast + "  west-air: {topic: a, form: json, temperature: /t2}\n").empty());
  CHECK(warnings(kEast + "  west-air: {topic: b}\n").empty());
  CHECK_THAT(
      warnings(kEast + "  west-air: {topic: b}\npumps: {p: {benches: [east]}}\npump_reports: "
                       "{m: {pump: p, topic: b, litres: /l}}\n"),
      Contains("pump_reports.m.topic: read as json here, and as number by sensors.west-air"));
}

TEST_CASE("A family and an entry of its own on one topic") {
  const std::string family = "  \"{1}-air\": {topic: house/+, form: senml, temperature: t}\n";
  // The family would give west-air, which the bench names, from the other's topic.
  CHECK_THAT(
      warnings("  east-air: {topic: house/west}\n" + family),
      Contains("sensors.{1}-air.topic: read as senml here, and as number by sensors.east-air"));
  // It passes over a sensor with an entry of its own, and nobody uses roof-air.
  CHECK(warnings("  east-air: {topic: house/east}\n" + family).empty());
  CHECK(warnings("  east-air: {topic: house/roof}\n" + family).empty());
}

TEST_CASE("Two families on one topic") {
  CHECK_THAT(warnings("  \"{1}-air\": {topic: house/+}\n"
                      "  \"{1}\": {topic: \"+/#\", form: senml, temperature: t}\n"),
             Contains("sensors.{1}.topic: read as senml here, and as number by sensors.{1}-air"));
  CHECK(warnings("  \"{1}-air\": {topic: house/+}\n"
                 "  \"{1}\": {topic: roof/+, form: senml, temperature: t}\n")
            .empty());
}

TEST_CASE("Topics that are seldom meant are taken as they are") {
  CHECK_THAT(warnings("  east-air: {topic: /a}\n  west-air: {topic: b}\n"),
             Contains("\"/a\" begins with /, which makes an empty level there"));
  CHECK_THAT(warnings("  east-air: {topic: a/}\n  west-air: {topic: b}\n"),
             Contains("\"a/\" ends with /"));
  CHECK_THAT(warnings("  east-air: {topic: the house/a}\n  west-air: {topic: b}\n"),
             Contains("\"the house/a\" holds a blank"));
}

TEST_CASE("Filters meet where some topic matches both") {
  for (const auto& [a, b] : {std::pair{"a/+", "a/b"},
                             {"+/b", "a/+"},
                             {"a/#", "a"},
                             {"#", "a/b"},
                             {"a/b", "a/b"},
                             {"a/#", "+/b/c"}})
    CHECK((filters_meet(a, b) && filters_meet(b, a)));
  for (const auto& [a, b] : {std::pair{"a/+", "b/+"}, {"a", "a/b"}, {"a/+", "a"}, {"a/b/#", "a/c"}})
    CHECK_FALSE((filters_meet(a, b) || filters_meet(b, a)));
}

TEST_CASE("A scale that counts in another unit than the sensor's") {
  CHECK_THAT(scaled("unit: fahrenheit, scale: 0.5556"),
             Contains("20 °C, sent as 68 °F, would be read as 11.1 °C; leave it out: unit: "
                      "fahrenheit converts already"));
  CHECK_THAT(scaled("unit: fahrenheit, scale: 0.1"),
             Contains("20 °C, sent as 680 °F, would be read as 36.0 °C"));
  CHECK_THAT(scaled("unit: kelvin, scale: 0.1"), Contains("sent as 2931.5 K, would be read as"));
  CHECK_THAT(scaled("scale: 0.5556"), Contains("say unit: fahrenheit"));
  CHECK_THAT(scaled("scale: 10"),
             Contains("20 would be read as 200 °C; for a sender of parts write 0.1"));
  CHECK_THAT(scaled("scale: 1.8"), Contains("20 would be read as 36 °C"));
  for (const char* fine :
       {"scale: 0.1", "scale: 0.01", "scale: 0.98", "unit: fahrenheit, scale: 1.02",
        "scale: 0.5556, offset: -17.78", "unit: fahrenheit"})
    CHECK(scaled(fine).empty());
}

TEST_CASE("A scale without a temperature") {
  CHECK_THAT(
      warnings("  west-air: {topic: b}\n  east-air: {topic: a}\n"
               "  east-moist: {topic: c, quantity: humidity, scale: 0.1}\n"),
      Contains("sensors.east-moist.scale: it scales the temperature, and this entry reads none"));
}
