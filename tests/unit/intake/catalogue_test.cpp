#include "intake/catalogue.h"

#include <catch2/catch.hpp>
#include <string>

namespace plainwater::intake {
namespace {

/// Settings with these sensors (in order of their names) and mappings of (name, topic).
std::shared_ptr<const Settings> settings(
    std::vector<std::string> sensors, std::vector<std::pair<std::string, std::string>> mappings) {
  auto made = std::make_shared<Settings>();
  for (auto& name : sensors) made->sensors.push_back({std::move(name), Reports::regularly});
  for (auto& [name, topic] : mappings) {
    SensorMapping mapping;
    mapping.name = std::move(name);
    mapping.topic = std::move(topic);
    made->mappings.push_back(std::move(mapping));
  }
  return made;
}

/// "sensor<topic filter, …" for what the topic feeds.
std::string fed(const Catalogue& catalogue, const Settings& settings, std::string_view topic) {
  std::string text;
  for (const Match& m : catalogue.match(topic))
    text += (text.empty() ? "" : ", ") + settings.sensors[index(m.sensor)].name + "<" +
            m.mapping->topic;
  return text;
}

}  // namespace

TEST_CASE("topic filters match as MQTT defines") {
  CHECK(filter_takes("a/b", "a/b"));
  CHECK_FALSE(filter_takes("a/b", "a/b/c"));
  CHECK_FALSE(filter_takes("a/b", "a"));
  CHECK(filter_takes("a/+", "a/b"));
  CHECK(filter_takes("a/+", "a/"));
  CHECK_FALSE(filter_takes("a/+", "a"));
  CHECK_FALSE(filter_takes("+", "a/b"));
  CHECK(filter_takes("+/+", "/b"));
  CHECK(filter_takes("a/#", "a"));
  CHECK(filter_takes("a/#", "a/b/c"));
  CHECK(filter_takes("#", "a/b"));
  CHECK_FALSE(filter_takes("#", "$SYS/load"));
  CHECK_FALSE(filter_takes("+/load", "$SYS/load"));
  CHECK(filter_takes("$SYS/#", "$SYS/load"));
  CHECK_FALSE(filter_takes("a/#", "ab"));
  CHECK_FALSE(filter_takes("#", ""));

  std::vector<std::string_view> levels;
  CHECK(filter_takes("site/+/x/+/#", "site/one/x/two/three/four", &levels));
  CHECK(levels == std::vector<std::string_view>{"one", "two", "three/four"});
}

TEST_CASE("a filter covers another when it matches all of its topics") {
  CHECK(filter_covers("a/#", "a/b/+"));
  CHECK(filter_covers("a/#", "a/#"));
  CHECK(filter_covers("a/#", "a"));
  CHECK(filter_covers("a/+", "a/b"));
  CHECK(filter_covers("+/b", "a/b"));
  CHECK_FALSE(filter_covers("a/b", "a/+"));
  CHECK_FALSE(filter_covers("a/+", "a/#"));
  CHECK_FALSE(filter_covers("a/+", "a"));
  CHECK_FALSE(filter_covers("a/+/c", "a/b/+"));
  CHECK_FALSE(filter_covers("#", "$SYS/load"));
}

TEST_CASE("an exact topic feeds every mapping that names it") {
  const auto s =
      settings({"long-1", "long-2", "mist"},
               {{"long-1", "gate/long"}, {"mist", "gate/mist"}, {"long-2", "gate/long"}});
  const Catalogue catalogue(s);
  CHECK(fed(catalogue, *s, "gate/long") == "long-1<gate/long, long-2<gate/long");
  CHECK(fed(catalogue, *s, "gate/mist") == "mist<gate/mist");
  CHECK(fed(catalogue, *s, "gate/other").empty());
  CHECK(catalogue.subscriptions() == std::vector<std::string>{"gate/long", "gate/mist"});
}

TEST_CASE("a family names its sensors by the wildcards") {
  const auto s = settings({"mist-air", "mist-low-air"},
                          {{"{1}-air", "house/+/air"}, {"{1}-{2}-air", "house/+/+/air"}});
  const Catalogue catalogue(s);
  CHECK(fed(catalogue, *s, "house/mist/air") == "mist-air<house/+/air");
  CHECK(fed(catalogue, *s, "house/mist/low/air") == "mist-low-air<house/+/+/air");
  CHECK(fed(catalogue, *s, "house/unused/air").empty());
  CHECK(catalogue.subscriptions().size() == 2);
}

TEST_CASE("the rest of a topic is one wildcard, and numbers refer to levels in any order") {
  const auto s =
      settings({"b-of-a", "tail"}, {{"{2}-of-{1}", "x/+/+"}, {"{1}", "y/#"}, {"{3}", "x/+/+"}});
  const Catalogue catalogue(s);
  CHECK(fed(catalogue, *s, "x/a/b") == "b-of-a<x/+/+");
  CHECK(fed(catalogue, *s, "y/tail") == "tail<y/#");
  CHECK(fed(catalogue, *s, "y/tail/more").empty());
}

TEST_CASE("exact and family mappings of one topic both count, in the settings' order") {
  const auto s = settings({"mist", "mist-spare"}, {{"{1}-spare", "air/+"}, {"mist", "air/mist"}});
  const Catalogue catalogue(s);
  CHECK(fed(catalogue, *s, "air/mist") == "mist-spare<air/+, mist<air/mist");
  CHECK(catalogue.subscriptions() == std::vector<std::string>{"air/+"});
}

TEST_CASE("a sensor with an entry of its own is never fed by a family") {
  const auto s =
      settings({"long-b", "long-c"}, {{"{1}", "air/+"}, {"long-c", "fahrenheit/long-c"}});
  const Catalogue catalogue(s);
  CHECK(fed(catalogue, *s, "air/long-b") == "long-b<air/+");
  CHECK(fed(catalogue, *s, "air/long-c").empty());
  CHECK(fed(catalogue, *s, "fahrenheit/long-c") == "long-c<fahrenheit/long-c");
}

TEST_CASE("unused topics are not subscribed to") {
  const auto s = settings({"mist"}, {{"idle", "air/idle"}, {"mist", ""}});
  CHECK(Catalogue(s).subscriptions().empty());
}

TEST_CASE("a topic may feed both sensors and pump reports") {
  auto made = std::make_shared<Settings>(*settings({"mist"}, {{"mist", "house/mist"}}));
  for (const auto& [name, topic] : {std::pair("meter", "house/mist"), std::pair("any", "house/+"),
                                    std::pair("other", "shed/pump"), std::pair("none", "")}) {
    PumpReport report;
    report.name = name;
    report.topic = topic;
    made->pump_reports.push_back(report);
  }
  const Catalogue catalogue(made);
  const auto names = [&](std::string_view topic) {
    std::string text;
    for (const PumpReport* report : catalogue.reports(topic)) text += report->name + " ";
    return text;
  };
  CHECK(names("house/mist") == "meter any ");
  CHECK(names("house/long") == "any ");
  CHECK(names("shed/pump") == "other ");
  CHECK(names("shed").empty());
  CHECK(names("").empty());
  CHECK(fed(catalogue, *made, "house/mist") == "mist<house/mist");
  CHECK(fed(catalogue, *made, "shed/pump").empty());
  CHECK(catalogue.subscriptions() == std::vector<std::string>{"house/+", "shed/pump"});
}

}  // namespace plainwater::intake
