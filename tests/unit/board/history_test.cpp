// What a bench's page tells of the past: air by steps, orders without their repetitions, doses.
#include <fmt/format.h>

#include "board/bench_history.h"
#include "climate/vapour.h"
#include "shown_house.h"
#include "store/journal_reads.h"
#include "store/sensor_reads.h"

using namespace plainwater;
using namespace plainwater::board;

namespace {

void read(store::Store& store, const char* sensor, Quantity quantity, Instant time, Milli value) {
  auto transaction = must(store.begin());
  must(transaction.append({store::JournalKind::reading, time, sensor, quantity, time, value, ""}));
  must(transaction.commit());
}

json::value air(ShownHouse& house, Instant now, int hours_back, engine::BenchNow bench) {
  return parsed(must(air_json(*house.store, bench, now, hours_back)));
}

}  // namespace

TEST_CASE("the air comes in steps of equal length, the mean of each") {
  ShownHouse house;
  const auto now = at("2026-10-01T12:07:00Z");
  // The step that runs now began at 12:00; the first of two hours at 10:15.
  read(*house.store, "long-a", Quantity::temperature, at("2026-10-01T10:14:59Z"), 99'000);
  read(*house.store, "long-a", Quantity::temperature, at("2026-10-01T10:15:00Z"), 17'000);
  read(*house.store, "long-a", Quantity::temperature, at("2026-10-01T12:00:00Z"), 18'000);
  read(*house.store, "long-a", Quantity::temperature, at("2026-10-01T12:05:00Z"), 19'010);
  read(*house.store, "long-a", Quantity::humidity, at("2026-10-01T12:05:00Z"), 60'000);
  read(*house.store, "long-b", Quantity::temperature, at("2026-10-01T12:05:00Z"), 21'000);
  read(*house.store, "cold-air", Quantity::temperature, at("2026-10-01T12:05:00Z"), 5'000);
  auto bench = house.shown().benches[1];
  const auto told = air(house, now, 2, bench);
  CHECK(told.at("from").as_string() == "2026-10-01T10:15:00Z");
  CHECK(told.at("step_s").as_int64() == 900);
  REQUIRE(told.at("sensors").as_array().size() == 2);
  CHECK(told.at("sensors").at(0).at("temperature_c") ==
        parsed("[17.00,null,null,null,null,null,null,18.51]"));
  CHECK(told.at("sensors").at(0).at("humidity_percent") ==
        parsed("[null,null,null,null,null,null,null,60.0]"));
  CHECK(told.at("sensors").at(1).at("name").as_string() == "long-b");
  CHECK(told.at("vpd_kpa").as_array().size() == 8);
  CHECK(told.at("vpd_kpa").at(0).is_null());
  CHECK(told.at("vpd_kpa").at(7).to_number<double>() ==
        Approx(climate::vapour_pressure_deficit_kpa((18.505 + 21) / 2, 60)).margin(0.0006));

  // Who is not trusted is shown, and does not count.
  bench.sensors[1].trusted = false;
  const auto doubted = air(house, now, 2, bench);
  CHECK_FALSE(doubted.at("sensors").at(1).at("trusted").as_bool());
  CHECK(doubted.at("sensors").at(1).at("temperature_c").at(7).to_number<double>() == 21);
  CHECK(doubted.at("vpd_kpa").at(7).to_number<double>() ==
        Approx(climate::vapour_pressure_deficit_kpa(18.505, 60)).margin(0.0006));

  const auto month = air(house, now, 744, bench);
  CHECK(month.at("step_s").as_int64() == 3600);
  CHECK(month.at("vpd_kpa").as_array().size() == 744);
  CHECK(month.at("sensors").at(0).at("temperature_c").at(743).to_number<double>() ==
        Approx(18.51).margin(0.011));
}

TEST_CASE("hours whose readings were thinned show what is left of them") {
  ShownHouse house;
  house.days(2, 17);
  // A snapshot at which retention may cut.
  {
    auto transaction = must(house.store->begin());
    must(transaction.save_snapshot(
        {must(store::JournalReads(*house.store).last_seq()), house.now, 1, "x", true}));
    must(transaction.commit());
  }
  const auto before = air(house, house.now - hours(1), 96, house.shown().benches[1]);
  while (must(house.store->retain(house.now + 500 * kDay, 400)).more) {}
  int left = 0;
  must(store::SensorReads(*house.store)
           .readings("long-a", Quantity::temperature, kNever, kForever,
                     [&](Instant, Milli) { return ++left > 0; }));
  REQUIRE(left <= 1);
  const auto after = air(house, house.now - hours(1), 96, house.shown().benches[1]);
  CHECK(after == before);
  CHECK_FALSE(after.at("sensors").at(0).at("temperature_c").at(95).is_null());
}

TEST_CASE("orders are told newest first, and repetitions are counted, not shown") {
  ShownHouse house;
  const auto order = [](int strength, int number) {
    return fmt::format(R"({{"strength_percent":{},"issued":"x{}","sequence":{}}})", strength,
                       number, number);
  };
  const auto begin = at("2026-10-01T00:00:00Z");
  for (int i = 0; i < 10; ++i) house.ordered("long", order(i < 6 ? 40 : 60, i), begin + hours(i));
  house.ordered("mist", order(99, 99), begin + hours(20));
  must(house.store->mark_acknowledged(1, begin + minutes(1)));
  const auto topic = outlet::Topics(*house.settings).order("long");
  auto told = parsed(must(orders_json(*house.store, topic, 20))).at("orders");
  REQUIRE(told.as_array().size() == 2);
  CHECK(told.at(0).at("order").at("strength_percent").as_int64() == 60);
  CHECK(told.at(0).at("repeated").as_int64() == 3);
  CHECK(told.at(0).at("recorded").as_string() == "2026-10-01T06:00:00Z");
  CHECK(told.at(0).at("acknowledged").is_null());
  CHECK(told.at(0).at("order").at("sequence").as_int64() == 9);  // as last repeated
  CHECK(told.at(1).at("repeated").as_int64() == 5);
  CHECK(told.at(1).at("recorded").as_string() == "2026-10-01T00:00:00Z");
  CHECK(told.at(1).at("acknowledged").as_string() == "2026-10-01T00:01:00Z");
  told = parsed(must(orders_json(*house.store, topic, 1))).at("orders");
  REQUIRE(told.as_array().size() == 1);
  CHECK(told.at(0).at("repeated").as_int64() == 3);
  CHECK(parsed(must(orders_json(*house.store, "nowhere", 20))).at("orders").as_array().empty());
}

TEST_CASE("doses are those of the bench and of its pump as a whole") {
  ShownHouse house;
  house.dosed(R"({"time":"2026-10-01T00:00:00Z","bench":"long","litres":1})");
  house.dosed(R"({"time":"2026-10-01T01:00:00Z","bench":"mist","litres":2})");
  house.dosed(R"({"time":"2026-10-01T02:00:00Z","pump":"line","litres":3})");
  house.dosed(R"({"time":"2026-10-01T03:00:00Z","pump":"other","litres":4})");
  house.dosed(R"({"time":"2026-10-01T04:00:00Z","bench":"long","pump":"line","litres":5})");
  const auto litres = [&](const char* bench, const char* pump, int limit) {
    std::string all;
    const auto told = parsed(must(doses_json(*house.store, bench, pump, limit)));
    for (const auto& dose : told.at("doses").as_array()) {
      all += fmt::format("{} ", dose.at("litres").as_int64());
      CHECK(dose.at("taken").as_string() == format_rfc3339(house.now));
    }
    return all;
  };
  CHECK(litres("long", "line", 20) == "5 3 1 ");
  CHECK(litres("long", "line", 2) == "5 3 ");
  CHECK(litres("mist", "", 20) == "2 ");
  CHECK(litres("cold-end", "line", 20) == "3 ");
}
