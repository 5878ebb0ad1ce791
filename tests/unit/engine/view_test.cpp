// What a bench is told to be at, beside its feeding: the newest air of its sensors, and what people
// asked for that is still to come.
#include <catch2/catch.hpp>
#include <cmath>

#include "synthetic_site.h"

using namespace plainwater;
using namespace plainwater::engine;
using feeding::RequestKind;

TEST_CASE("a sensor tells its newest values as they came, and none that are an hour older") {
  SyntheticSite site;
  site.days_at(10, 18);
  const Instant now = site.engine->now();
  const auto take = [&](Quantity quantity, Instant t, double value) {
    site.engine->take({SensorId(0), quantity, t, to_milli(value)}, t, site.out);
  };
  take(Quantity::humidity, now + minutes(1), 71.5);
  take(Quantity::temperature, now + minutes(2), 85);  // a fault: shown, though it is not believed
  CHECK(site.bench().sensors.front().temperature_c == Approx(85));
  CHECK(site.bench().sensors.front().humidity_rh == Approx(71.5));
  CHECK(site.bench().temperature_c < 30);
  take(Quantity::temperature, now + minutes(62), 17);
  CHECK(site.bench().sensors.front().temperature_c == Approx(17));
  CHECK(std::isnan(site.bench().sensors.front().humidity_rh));
}

TEST_CASE("announced holds, an exemption and cold that may pass are told until they are over") {
  SyntheticSite site;
  site.days_at(10, 18);
  const Instant now = site.engine->now();
  CHECK(site.bench().announced.empty());
  CHECK(site.bench().exempt_until == kNever);
  CHECK(site.bench().cold_passes_until == kNever);
  const auto hold = [&](Span after) {
    return site.ask(RequestKind::hold, [&](feeding::Request& r) {
      r.from = now + after;
      r.until = now + after + 3 * kDay;
    });
  };
  REQUIRE(hold(6 * kDay).done);
  REQUIRE(hold(2 * kDay).done);
  REQUIRE(
      site.ask(RequestKind::exempt, [&](feeding::Request& r) { r.until = now + 4 * kDay; }).done);
  const auto told = site.bench();
  REQUIRE(told.announced.size() == 2);
  CHECK(told.announced[0].from == now + 2 * kDay);
  CHECK(told.announced[1].until == now + 9 * kDay);
  CHECK(told.exempt_until == now + 4 * kDay);
  site.engine->advance(now + 5 * kDay, site.out);
  CHECK(site.bench().announced.size() == 1);
  CHECK(site.bench().exempt_until == kNever);
}
