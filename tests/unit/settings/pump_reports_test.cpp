// Where pump reports come from: each fault of an entry.
#include <catch2/catch.hpp>

#include "loading.h"

using namespace plainwater;
using namespace plainwater::test;
using Catch::Matchers::Contains;
using Catch::Matchers::StartsWith;

namespace {

std::string entries(const std::string& text) {
  return problems(house(
      "  west: {sensors: [west-air]}\npumps:\n  line: {benches: [east]}\npump_reports:\n" + text));
}
std::string entry(const std::string& keys) { return entries("  meter: {" + keys + "}\n"); }

}  // namespace

TEST_CASE("A pump report names its pump and one of its benches") {
  const std::string rest = ", topic: a/b, litres: /l";
  CHECK(entry("pump: line" + rest).empty());
  CHECK(entry("pump: line, bench: east" + rest).empty());
  CHECK(entry("topic: a/b, litres: /l") ==
        "house.yaml:12: pump_reports.meter.pump: expected the pump that it reports on; name one of "
        "pumps\n");
  CHECK(entry("pump: lien" + rest) ==
        "house.yaml:12: pump_reports.meter.pump: there is no pump \"lien\"; did you mean line?\n");
  CHECK(entry("pump: line, bench: eats" + rest) ==
        "house.yaml:12: pump_reports.meter.bench: pump line has no bench \"eats\"; did you mean "
        "east?\n");
  CHECK_THAT(entry("pump: line, bench: roof" + rest),
             Contains("name one of its benches, or leave it blank for all"));
  CHECK_THAT(entries("  \"a b\": {pump: line, topic: a, litres: /l}\n"),
             Contains("pump_reports.\"a b\": expected a name"));
}

TEST_CASE("A pump report has a topic without wildcards") {
  CHECK_THAT(entry("pump: line, litres: /l"),
             Contains("house.yaml:12: pump_reports.meter.topic: expected the MQTT topic"));
  for (const char* bad : {"a/+", "#", "a+", "a/#"})
    CHECK_THAT(entry("pump: line, litres: /l, topic: \"" + std::string(bad) + "\""),
               Contains("pump_reports.meter.topic: expected a topic without"));
}

TEST_CASE("A plain number needs a meaning") {
  const std::string number = "pump: line, topic: a, form: number";
  for (const char* value : {"litres", "litres-total", "feed", "feed-total", "strength", "ec"})
    CHECK(entry(number + ", value: " + value).empty());
  CHECK(entry(number) ==
        "house.yaml:12: pump_reports.meter.value: expected what the number is; say it, as in "
        "value: litres-total\n");
  CHECK_THAT(entry(number + ", value: water"),
             Contains("expected one of litres, litres-total, feed, feed-total, strength, ec"));
  CHECK_THAT(entry(number + ", value: ec, ec: /ec"),
             Contains("pump_reports.meter.ec: a plain number has no fields"));
  CHECK_THAT(entry(number + ", value: ec, time: /t"),
             Contains("pump_reports.meter.time: a plain number has no fields"));
  CHECK_THAT(entry(number + ", value: ec, ec_compensated: false"),
             Contains("pump_reports.meter.ec_compensated: a plain number has no"));
  CHECK(entry(number + ", value: litres, ec_compensated: false").empty());
}

TEST_CASE("Objects and packs name their fields") {
  const std::string json = "pump: line, topic: a", senml = json + ", form: senml";
  for (const char* field :
       {"litres", "litres_total", "feed", "feed_total", "strength", "ec", "runoff_ec"}) {
    CHECK(entry(json + ", " + field + ": /x").empty());
    CHECK(entry(senml + ", " + field + ": x").empty());
    CHECK_THAT(entry(json + ", " + field + ": x"),
               Contains(std::string("pump_reports.meter.") + field + ": expected a JSON Pointer"));
  }
  for (const std::string& form : {json, senml})
    CHECK_THAT(entry(form + ", water_temperature: /t"),
               StartsWith("house.yaml:12: pump_reports.meter: expected a field of the payload"));
  CHECK_THAT(entry(json + ", time: t, ec: /e"),
             Contains("pump_reports.meter.time: expected a JSON Pointer"));
  CHECK_THAT(entry(senml + ", time: t, ec: e"),
             Contains("pump_reports.meter.time: a SenML record carries its own time"));
  CHECK_THAT(entry(json + ", ec: /e, value: feed"),
             Contains("pump_reports.meter.value: only a plain number needs it"));
  CHECK_THAT(entry(json + ", ec: /e, ec_compensated: false"),
             Contains("pump_reports.meter.water_temperature: an EC that is not compensated"));
  CHECK(entry(json + ", ec: /e, ec_compensated: false, water_temperature: /t").empty());
  CHECK_THAT(entry(json + ", ec: /e, ec_unit: S"), Contains("expected one of mS/cm, uS/cm"));
  for (const char* scale : {"litres_scale: 0", "feed_scale: 0", "litres_scale: -1"})
    CHECK_THAT(entry(json + ", ec: /e, " + scale),
               Contains("_scale: expected a number from 0.000001"));
}

TEST_CASE("One field of one topic is one amount") {
  CHECK_THAT(entries("  a: {pump: line, topic: t, litres: /l}\n  b: {pump: line, topic: t, "
                     "litres_total: /l}\n"),
             Contains("house.yaml:13: pump_reports.b.litres_total: the same topic and field as "
                      "pump_reports.a.litres"));
  CHECK(entries("  a: {pump: line, topic: t, litres: /l}\n  b: {pump: line, topic: t, feed: /f}\n")
            .empty());
  CHECK_THAT(entries("  a: {pump: line, topic: t, form: number, value: ec}\n  b: {pump: line, "
                     "topic: t, form: number, value: feed}\n"),
             Contains("pump_reports.b.value: the same topic and field as pump_reports.a.value"));
}
