// Which sensors that are heard the settings have already: by topic and by the field in it.
#include "listen/known.h"

#include <catch2/catch.hpp>

#include "house.h"

namespace plainwater::listen {
namespace {

SensorMapping entry(const std::string& topic, const std::string& temperature = {},
                    const std::string& humidity = {}) {
  SensorMapping made;
  made.topic = topic;
  made.form = temperature.empty() ? PayloadForm::number : PayloadForm::json;
  made.temperature = temperature;
  made.humidity = humidity;
  return made;
}

}  // namespace

TEST_CASE("Of several sensors in one topic only those that are there are known") {
  Air air;
  air.live("house/probe", {R"({"east":{"temperature":20.5},"west":{"temperature":21.5}})"});
  const Recognised found = air.recognised();
  REQUIRE(found.sources.size() == 2);
  const std::vector<SensorMapping> known{entry("house/probe", "/east/temperature")};
  for (const Source& source : found.sources)
    CHECK(is_known(source.entry, known) == (source.entry.temperature == "/east/temperature"));
}

TEST_CASE("A sensor of which one quantity is taken is known, and so is a whole topic") {
  const SensorMapping heard = entry("house/probe", "/t", "/rh");
  CHECK(is_known(heard, {entry("house/probe", "/t")}));
  CHECK(is_known(heard, {entry("house/+", "", "/rh")}));
  CHECK(is_known(heard, {entry("house/probe")}));
  CHECK(is_known(entry("house/probe"), {entry("house/probe")}));
  CHECK_FALSE(is_known(heard, {entry("house/probe", "/other/t")}));
  CHECK_FALSE(is_known(heard, {entry("house/other", "/t", "/rh")}));
  CHECK_FALSE(is_known(heard, {entry("")}));
  CHECK_FALSE(is_known(heard, {}));
}

TEST_CASE("A SenML record is known with its base name and without") {
  SensorMapping known = entry("house/pack", "urn:dev:a:temp");
  known.form = PayloadForm::senml;
  CHECK(is_known(entry("house/pack", "temp"), {known}));
  CHECK(is_known(entry("house/pack", "urn:dev:a:temp"), {known}));
  CHECK_FALSE(is_known(entry("house/pack", "urn:dev:b:temp"), {known}));
}

}  // namespace plainwater::listen
