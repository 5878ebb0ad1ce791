// What a pump may give, the benches that lose by it, and the water that pots got.
#include "engine/days_behind.h"
#include "engine/pumps.h"
#include "house_parts.h"

using namespace plainwater;
using namespace plainwater::engine;

TEST_CASE("A pump follows its most careful bench, and says which that is") {
  HouseParts h;
  PumpShare share = pump_share(h.settings, 0, h.benches, h.now);
  CHECK(share.percent == 100);
  CHECK(share.limited_by.empty());
  h.hold(1);
  share = pump_share(h.settings, 0, h.benches, h.now);
  CHECK(share.feeding == feeding::Feeding::plain_water);
  CHECK(share.percent == 0);
  CHECK(share.limited_by == "mist");
  h.hold(0);
  CHECK(pump_share(h.settings, 0, h.benches, h.now).limited_by.empty());
}

TEST_CASE("A pump that cannot dose its recipe gives plain water") {
  HouseParts h;
  h.settings.pumps[0].recipe = "unknown";
  CHECK(pump_share(h.settings, 0, h.benches, h.now).percent == 0);
}

TEST_CASE("A bench is watered by the pump that names it") {
  HouseParts h;
  CHECK(pump_of(h.settings, 1) == std::optional<std::size_t>(0));
  h.settings.pumps[0].benches = {"long"};
  CHECK_FALSE(pump_of(h.settings, 1));
}

TEST_CASE("A bench that loses for 28 days is asked about, and again 28 days later") {
  HouseParts h;
  h.hold(1, h.now + 100 * kDay);
  DaysBehind behind;
  const auto days = [&](int n) {
    for (int i = 0; i < n; ++i)
      behind.count(h.settings.pumps[0], pump_share(h.settings, 0, h.benches, h.now), h.now,
                   h.turn());
  };
  days(27);
  CHECK(h.out.decisions.empty());
  days(1);
  REQUIRE(h.out.decisions.size() == 1);
  CHECK(h.out.decisions[0].cause == feeding::Cause::shared_pump);
  CHECK(h.out.decisions[0].bench == "long");
  days(27);
  CHECK(h.out.decisions.size() == 1);
  days(1);
  CHECK(h.out.decisions.size() == 2);
  const Pump& pump = h.settings.pumps[0];
  CHECK(behind.days(pump).at("long") == 56);
  CHECK(behind.days(pump).at("mist") == 0);
  h.settings.pumps[0].benches = {"mist"};
  behind.follow(pump, h.settings, {});
  CHECK_FALSE(behind.days(pump).contains("long"));
  h.settings.pumps[0].benches = {"long", "mist"};  // the pump forgot it
  CHECK_FALSE(behind.days(pump).contains("long"));
}

TEST_CASE("A pump is silent once, and reports again") {
  HouseParts h;
  h.settings.pumps[0].silent_h = 48;
  Pumps pumps(h.settings);
  CHECK_FALSE(pumps.looked_at());
  CHECK(pumps.silence_due(h.settings, 0) == kForever);
  pumps.look_at(true, Succession(h.benches.size()), h.turn());
  CHECK(pumps.looked_at());
  const Instant due = pumps.silence_due(h.settings, 0);
  CHECK(due == h.now + hours(48));
  h.now = due;
  pumps.tell_silence(0, h.turn());
  CHECK(pumps.silence_due(h.settings, 0) == kForever);
  feeding::DoseReport report;
  report.pump = report.source = "line";
  report.time = h.now;
  report.litres = 4;
  CHECK(pumps.take(report, h.turn()) == TakenDose::used);
  REQUIRE(h.out.decisions.size() >= 2);
  CHECK(h.out.decisions[0].cause == feeding::Cause::pump_silent);
  CHECK(h.out.decisions[1].cause == feeding::Cause::pump_reports);
  CHECK(pumps.silence_due(h.settings, 0) == h.now + hours(48));
  CHECK(h.benches[0].watering.watered() == h.now);
  CHECK(pumps.take(report, h.turn()) == TakenDose::repeated);
  report.bench = "elsewhere";
  CHECK(pumps.take(report, h.turn()) == TakenDose::unknown);
}

TEST_CASE("A report that names a bench waters that bench alone") {
  HouseParts h;
  Pumps pumps(h.settings);
  pumps.look_at(true, Succession(h.benches.size()), h.turn());
  feeding::DoseReport report;
  report.pump = report.source = "line";
  report.bench = "mist";
  report.time = h.now;
  report.litres = 4;
  CHECK(pumps.take(report, h.turn()) == TakenDose::used);
  CHECK(h.benches[0].watering.watered() == kNever);
  CHECK(h.benches[1].watering.watered() == h.now);
}

TEST_CASE("A bench without water is told of after its days, and after as many again") {
  HouseParts h;
  Bench& bench = h.settings.benches[0];
  Watering watering;
  bench.watering_days = 4;
  CHECK(watering.dry_due(bench) == kForever);
  watering.watch_from(h.now);
  watering.watch_from(h.now + kDay);  // it counts already
  CHECK(watering.dry_due(bench) == h.now + 4 * kDay);
  watering.water(2.0, 0.5, h.now + kDay, bench);
  watering.water(2.0, 0.5, h.now, bench);  // an older one
  CHECK(watering.watered() == h.now + kDay);
  h.now = watering.dry_due(bench);
  CHECK(h.now == watering.watered() + 4 * kDay);
  watering.tell_dry(0, h.turn());
  REQUIRE(h.out.decisions.size() == 1);
  CHECK(h.out.decisions[0].cause == feeding::Cause::no_watering);
  CHECK(watering.dry_due(bench) == h.now + 4 * kDay);
  bench.watering_days.reset();
  CHECK(watering.dry_due(bench) == kForever);
}

TEST_CASE("A flush waits for a warm morning and is advised once a fortnight") {
  HouseParts h;
  Watering watering;
  const double high = 2 * feeding::flush_above_ec(h.settings.benches[0]);
  watering.runoff(high, h.now, h.settings.benches[0]);
  watering.advise_flush(0, h.now, climate::kUnknown, h.turn());
  watering.advise_flush(0, h.now, chill_floor_c(h.settings.benches[0]), h.turn());
  CHECK(h.out.decisions.empty());
  watering.advise_flush(0, h.now, 20, h.turn());
  REQUIRE(h.out.decisions.size() == 1);
  CHECK(h.out.decisions[0].cause == feeding::Cause::salts_up);
  CHECK(watering.flush_l() > 0);
  watering.advise_flush(0, h.now + 7 * kDay, 20, h.turn());
  CHECK(watering.flush_l() == 0);
  CHECK(h.out.decisions.size() == 1);
  watering.advise_flush(0, h.now + 14 * kDay, 20, h.turn());
  CHECK(h.out.decisions.size() == 2);
}
