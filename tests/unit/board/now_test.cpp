// The state of the house as JSON: the figures of the climate topic, the order as it went out, null
// for what is unknown.
#include "board/now.h"

#include "orders/order.h"
#include "outlet/climate.h"
#include "outlet/placard.h"
#include "shown_house.h"

using namespace plainwater;
using namespace plainwater::board;

namespace {

/// The text after `"key":` up to the next comma or bracket: how a number was written.
std::string written(const std::string& json, const std::string& key) {
  const auto begin = json.find("\"" + key + "\":");
  if (begin == std::string::npos) return "no " + key;
  const auto value = begin + key.size() + 3;
  return json.substr(value, json.find_first_of(",}", value) - value);
}

}  // namespace

TEST_CASE("page and climate topic tell the same figures, digit by digit") {
  ShownHouse house;
  house.days(20, 17);
  const auto status = house.shown();
  for (std::size_t i = 0; i < status.benches.size(); ++i) {
    const auto shown = bench_json(status, i, *house.settings);
    const auto topic = outlet::climate_json(status.benches[i], status.service.now);
    parsed(shown);
    for (const char* key :
         {"temperature_c", "humidity_percent", "vpd_kpa", "dew_point_c", "absolute_humidity_gm3",
          "day_mean_c", "day_maximum_c", "dif_c", "acclimated_c", "deficit_c", "metabolic_rate",
          "learning", "blind", "plain_water_days_in_year", "watered"}) {
      INFO(status.benches[i].name << " " << key);
      CHECK(written(shown, key) == written(topic, key));
      CHECK(written(shown, key) != "no " + std::string(key));
    }
    CHECK(written(shown, "date") == written(topic, "night"));
    CHECK(written(shown, "mean_c") == written(topic, "night_mean_c"));
    CHECK(written(shown, "minimum_c") == written(topic, "night_minimum_c"));
    CHECK(written(shown, "coverage") == written(topic, "night_coverage"));
    CHECK(written(shown, "time") == written(topic, "air_time"));
    CHECK(written(shown, "counted") == written(topic, "counted_nights"));
  }
}

TEST_CASE("a house without a reading says null where it knows nothing") {
  ShownHouse house;
  const auto status = house.shown();
  const auto bench = parsed(bench_json(status, 0, *house.settings));
  for (const char* key : {"temperature_c", "humidity_percent", "vpd_kpa", "time"})
    CHECK(bench.at("air").at(key).is_null());
  CHECK(bench.at("night").at("date").is_null());
  CHECK(bench.at("night").at("acclimated_c").is_null());
  CHECK(bench.at("until").is_null());
  CHECK(bench.at("hold").is_null());
  CHECK(bench.at("order").is_null());
  CHECK(bench.at("salts").is_null());
  CHECK(bench.at("pump").as_string() == "line");
  CHECK(parsed(bench_json(status, 2, *house.settings)).at("pump").is_null());
  CHECK(parsed(bench_json(status, 2, *house.settings)).at("salts").at("ec").is_null());
  const auto now = parsed(house_json(status, *house.settings));
  CHECK(now.at("time").is_null());
  CHECK(now.at("service").at("engine_time").is_null());
  CHECK(now.as_object().if_contains("benches") == nullptr);
}

TEST_CASE("a hold says until when: its decision while it is on trial, then its planned end") {
  ShownHouse house;
  house.days(40, 17);
  house.days(12, 9);
  auto status = house.shown();
  auto& cold = status.benches[0];
  REQUIRE(cold.hold);
  cold.hold->provisional = true;
  auto bench = parsed(bench_json(status, 0, *house.settings));
  const auto decides = format_rfc3339(outlet::decision_day(cold, *house.settings));
  CHECK(bench.at("until").as_string() == decides);
  CHECK(bench.at("hold").at("decides").as_string() == decides);
  CHECK(bench.at("strength_percent").as_int64() == 0);

  cold.hold->provisional = false;
  bench = parsed(bench_json(status, 0, *house.settings));
  CHECK(bench.at("until").as_string() == format_rfc3339(cold.hold->planned_end));
  CHECK(bench.at("hold").at("decides").is_null());
}

TEST_CASE("the order in force stands there as it went out") {
  ShownHouse house;
  house.days(20, 17);
  auto status = house.shown();
  orders::Order order;
  order.content = orders::content_of(status.benches[1], status.pumps);
  order.issued = status.service.now;
  order.valid_until = status.service.now + hours(26);
  order.number = {1, to_seconds(status.service.now)};
  order.instance = "main";
  status.orders.emplace("long", status::GivenOrder{order, false});
  CHECK(bench_json(status, 1, *house.settings).find("\"order\":" + orders::to_json(order)) !=
        std::string::npos);
  CHECK(parsed(bench_json(status, 0, *house.settings)).at("order").is_null());
}

TEST_CASE("the site says its zone and the unit of its pages") {
  const Folder folder;
  CHECK(site_json(*house_at(folder / "a.db")) ==
        R"({"name":"tern-bank","time_zone":"Europe/London","unit":"celsius"})");
  CHECK(parsed(site_json(*house_at(folder / "a.db", "board: {unit: fahrenheit}\n")))
            .at("unit")
            .as_string() == "fahrenheit");
}

TEST_CASE("a Now is a House with its benches") {
  ShownHouse house;
  house.days(2, 17);
  const auto status = house.shown();
  std::vector<std::string> benches;
  for (std::size_t i = 0; i < status.benches.size(); ++i)
    benches.push_back(bench_json(status, i, *house.settings));
  const auto without = house_json(status, *house.settings),
             with = house_json(status, *house.settings, &benches);
  CHECK(with == without.substr(0, without.size() - 1) + ",\"benches\":[" + benches[0] + "," +
                    benches[1] + "," + benches[2] + "]}");
}
