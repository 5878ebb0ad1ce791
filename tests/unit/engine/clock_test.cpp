// Time that nobody believes, and time that is set back.
#include <catch2/catch.hpp>

#include "common/bytes.h"
#include "fed_site.h"
#include "synthetic_site.h"

namespace plainwater::engine {
namespace {

using feeding::Cause;
using feeding::DecisionKind;
using feeding::Feeding;
using feeding::RequestKind;

/// The same clock ahead: four years, and some hours and seconds more.
constexpr Span kAhead = 4 * 365 * kDay + hours(5) + seconds(11);

/// How many eight bytes in a row could be a time, or the number of a day, of that year's autumn.
int times_of(int year, const std::string& bytes) {
  const Instant from = *parse_rfc3339(std::to_string(year) + "-09-15T00:00:00Z"),
                to = from + 60 * kDay;
  int found = 0;
  for (std::size_t i = 0; i + 8 <= bytes.size(); ++i) {
    std::int64_t value = 0;
    ByteReader(std::string_view(bytes).substr(i)).get(value);
    found += from <= from_ms(value) && from_ms(value) < to;
    found +=
        value > 0 && value < 100'000 && from <= Instant(kDay * value) && Instant(kDay * value) < to;
  }
  return found;
}

void set_back(SyntheticSite& site, Span by) {
  site.now -= by;
  site.engine->set_back(by, site.now, site.out);
}

}  // namespace

TEST_CASE("While nobody knows what time it is every bench gets plain water, and then as before") {
  SyntheticSite site;
  site.days_at(50, 18);
  const auto before = site.bench();
  REQUIRE(before.strength_percent > 0);
  site.engine->settle_clock(ClockTrust::unbelieved, site.now, site.out);
  CHECK(site.bench().feeding == Feeding::plain_water);
  CHECK(site.bench().strength_percent == 0);
  CHECK(site.bench().cause == Cause::clock);
  CHECK(site.told(DecisionKind::feeding_changed).back().cause == Cause::clock);
  SECTION("a mere doubt is no reason to feed again") {
    site.engine->settle_clock(ClockTrust::doubted, site.now, site.out);
    CHECK(site.bench().cause == Cause::clock);
  }
  SECTION("a restart keeps it") {
    auto restored = Engine::restore(site.settings, site.engine->snapshot());
    REQUIRE(restored);
    CHECK(restored->bench(0).cause == Cause::clock);
    CHECK(restored->snapshot() == site.engine->snapshot());
  }
  SECTION("live air is answered, and outlasts it") {
    site.days_at(0.3, 2);
    site.engine->settle_clock(ClockTrust::settled, site.now, site.out);
    CHECK(site.bench().cause == Cause::chill);
    CHECK(site.bench().strength_percent == 0);
  }
  SECTION("a hold is placed") {
    CHECK(site.ask(RequestKind::hold, [&](auto& r) { r.until = site.now + 5 * kDay; }).done);
    CHECK(site.ask(RequestKind::release).problem == "clock-unsettled");
    site.engine->settle_clock(ClockTrust::settled, site.now, site.out);
    CHECK(site.bench().cause == Cause::grower);
  }
  SECTION("it ends with the clock") {
    site.days_at(2, 18);
    site.engine->settle_clock(ClockTrust::settled, site.now, site.out);
    CHECK(site.bench().strength_percent == before.strength_percent);
    CHECK(site.told(DecisionKind::feeding_changed).back().strength_percent ==
          before.strength_percent);
  }
}

TEST_CASE("A bench that is new to the settings is not fed by a clock that is not believed") {
  SyntheticSite site;
  site.days_at(30, 18);
  site.engine->settle_clock(ClockTrust::doubted, site.now, site.out);
  auto changed = std::make_shared<Settings>(*site.settings);
  Bench added = changed->benches[0];
  added.name = "mist";
  changed->benches.push_back(added);
  auto restored = Engine::restore(changed, site.engine->snapshot());
  REQUIRE(restored);
  Outcome out;
  restored->advance(restored->now() + minutes(1), out);
  CHECK(restored->bench(1).feeding == Feeding::plain_water);
  restored->settle_clock(ClockTrust::settled, restored->now(), out);
  restored->advance(restored->now() + minutes(1), out);
  CHECK(restored->bench(1).cause == feeding::Cause::not_heard);
}

TEST_CASE("A clock that nobody believes begins nothing") {
  SyntheticSite site;
  site.begin();
  site.engine->settle_clock(ClockTrust::unbelieved, Instant{}, site.out);
  const Instant own = site.now;
  site.engine->take({SensorId(0), Quantity::temperature, own, to_milli(18)}, Instant{}, site.out);
  site.engine->advance(Instant{}, site.out);
  CHECK(site.engine->now() == kNever);
  CHECK(site.out.empty());
  site.engine->settle_clock(ClockTrust::settled, own + minutes(1), site.out);
  CHECK(site.engine->now() == own + minutes(1));
  site.engine->advance(own + minutes(2), site.out);
  CHECK(site.bench().temperature_c == Approx(18));  // what waited for the time counts
}

TEST_CASE("When time is set back holds and chills keep their remaining days") {
  SyntheticSite site;
  site.now += kAhead;
  site.days_at(50, 18);
  SECTION("a hold") {
    REQUIRE(site.ask(RequestKind::hold, [&](auto& r) { r.until = site.now + 30 * kDay; }).done);
    site.days_at(10, 18);
    const auto left = site.bench().hold->planned_end - site.now;
    set_back(site, kAhead);
    CHECK(site.bench().cause == Cause::grower);
    CHECK(site.bench().hold->planned_end - site.now == left);
    site.days_at(days_of(left) - 1, 18);
    CHECK(site.bench().cause == Cause::grower);
    site.days_at(2, 18);
    CHECK(site.bench().cause != Cause::grower);
  }
  SECTION("a chill") {
    site.days_at(0.3, 2);
    site.engine->advance(site.now, site.out);
    REQUIRE(site.bench().cause == Cause::chill);
    const auto left = site.bench().chilled_until - site.now;
    set_back(site, kAhead);
    CHECK(site.bench().cause == Cause::chill);
    CHECK(site.bench().chilled_until - site.now == left);
  }
  SECTION("what was fed goes on as it was, and is told once") {
    const auto before = site.bench();
    const std::size_t told = site.out.decisions.size();
    set_back(site, kAhead);
    CHECK(site.bench().strength_percent == before.strength_percent);
    CHECK(site.bench().cause == before.cause);
    REQUIRE(site.out.decisions.size() == told + 1);
    CHECK(site.out.decisions.back().cause == Cause::clock);
    CHECK(site.out.decisions.back().time == site.now);
  }
}

TEST_CASE("After time was set back cold air is answered") {
  SyntheticSite site;
  site.now += kAhead;
  site.days_at(50, 18);
  set_back(site, kAhead);
  site.days_at(0.3, 2);
  CHECK(site.bench().cause == Cause::chill);
}

TEST_CASE("Nights go on being closed and counted after time was set back") {
  SyntheticSite site;
  site.now += kAhead;
  site.days_at(50, 18);
  const auto counted = site.bench().counted_nights;
  const auto acclimated_c = site.bench().acclimated_c;
  set_back(site, kAhead);
  site.days_at(10, 18);
  CHECK(site.bench().counted_nights >= counted + 9);
  CHECK(site.bench().acclimated_c == Approx(acclimated_c).margin(0.2));
  CHECK_FALSE(site.bench().blind);
  CHECK(site.count(DecisionKind::hold_placed) == 0);
}

TEST_CASE("All that a state holds of time goes back, to the byte") {
  FedSite site;
  site.now += kAhead;
  site.days_at(20, 20);
  REQUIRE(site.ask_pump(RequestKind::arm).done);
  REQUIRE(
      site.ask_bench(RequestKind::hold, "mist", [&](auto& r) { r.until = site.now + 20 * kDay; })
          .done);
  feeding::DoseReport report;
  report.pump = "line";
  report.bench = "long";
  report.source = "benches/long";
  report.time = site.now;
  report.litres = 2;
  site.engine->take(report, site.now, site.out);
  site.days_at(3, 20);
  REQUIRE(times_of(2030, site.engine->snapshot()) > 50);
  REQUIRE(times_of(2026, site.engine->snapshot()) == 0);
  Outcome out;
  site.now -= kAhead;
  site.engine->set_back(kAhead, site.now, out);
  CHECK(site.engine->now() == site.now);
  CHECK(times_of(2030, site.engine->snapshot()) == 0);
  CHECK(times_of(2026, site.engine->snapshot()) > 50);
  auto restored = Engine::restore(site.settings, site.engine->snapshot());
  REQUIRE(restored);
  CHECK(restored->snapshot() == site.engine->snapshot());
  // The sequel is the same, whether it was stopped after it or not.
  Outcome one, other;
  for (int i = 1; i < 400; ++i) {
    const Instant t = site.now + minutes(30) * i;
    const Reading reading{SensorId(0), Quantity::temperature, t, to_milli(20 + i % 3)};
    site.engine->take(reading, t, one);
    restored->take(reading, t, other);
  }
  CHECK(site.engine->snapshot() == restored->snapshot());
  REQUIRE(one.decisions.size() == other.decisions.size());
  CHECK_FALSE(one.nights.empty());
}

}  // namespace plainwater::engine
