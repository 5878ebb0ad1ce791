// Random histories with a pump that has a recipe, its reports, people's waterings and measurements,
// and other settings midway.
#pragma once

#include "histories.h"
#include "orders/order.h"

namespace plainwater::property {

/// The pump, maybe two; pots and waters; tolerances; caps; silence.
inline void add_pumps(Settings& settings) {
  settings.waters = {{"rain", 0.03, {}, 0.5}, {"tap", *rc::gen::inRange(1, 14) / 10.0, {}, 0.5}};
  Recipe growth;
  growth.name = "growth";
  growth.label = "15-5-15";
  growth.nitrogen_percent = 15;
  growth.injector_ratio = 100;
  growth.ec_per_100ppm_n = 0.6;
  growth.target_ppm_n = *rc::gen::inRange(5, 25) * 10;
  settings.recipes = {growth};
  const bool apart = *rc::gen::inRange(0, 3) == 0;
  settings.pumps = {{"pump", {"one", "two"}}};
  if (apart) { settings.pumps = {{"other", {"two"}}, {"pump", {"one"}}}; }
  for (Pump& pump : settings.pumps) {
    if (*rc::gen::inRange(0, 4) > 0) {
      pump.recipe = "growth";
      pump.water = *rc::gen::element("rain", "tap");
    }
    pump.least_ml_per_litre = *rc::gen::element(0.0, 0.0, 2.0, 4.0);
    if (*rc::gen::arbitrary<bool>()) pump.most_ml_per_litre = *rc::gen::element(3.0, 6.0, 12.0);
    pump.step_ml_per_litre = *rc::gen::element(0.0, 0.1, 1.5);
    pump.line_l = *rc::gen::element(0.0, 4.0);
    if (*rc::gen::arbitrary<bool>()) pump.daily_l = 60;
    if (*rc::gen::arbitrary<bool>()) pump.daily_feed_ml = 150;
    if (*rc::gen::arbitrary<bool>()) pump.silent_h = *rc::gen::inRange(6, 200);
    pump.untrusted_after = *rc::gen::inRange(1, 6);
  }
  for (Bench& bench : settings.benches) {
    bench.pots = *rc::gen::inRange(0, 3) * 10;
    bench.pot_l = 0.8;
    bench.leaching = *rc::gen::element(0.05, 0.3, 0.9);
    bench.salt_tolerance =
        *rc::gen::element(SaltTolerance::low, SaltTolerance::usual, SaltTolerance::high);
    if (*rc::gen::arbitrary<bool>()) bench.watering_days = *rc::gen::inRange(1, 20);
  }
}

/// One report: amounts or totals, strength, conductivity, runoff, in any combination, sometimes
/// late, early or from an unknown pump.
inline feeding::DoseReport random_report(Instant now, std::uint32_t noise) {
  const auto bits = [&noise](std::uint32_t below) {
    noise = noise * 1664525u + 1013904223u;
    return (noise >> 8) % below;
  };
  feeding::DoseReport r;
  r.pump = bits(20) == 0 ? "nobody" : bits(4) == 0 ? "other" : "pump";
  if (bits(3) == 0) r.bench = bits(2) == 0 ? "one" : "two";
  r.source = bits(2) == 0 ? "line" : "probe";
  r.time = now;
  const auto when = bits(8);
  if (when == 0) r.time -= hours(bits(24 * 40));
  if (when == 1) r.time += hours(bits(24 * 40));
  if (bits(2) == 0) r.litres = bits(40);
  if (bits(3) == 0) r.litres_total = bits(5000);
  if (bits(3) == 0) r.feed_ml = bits(200);
  if (bits(4) == 0) r.feed_ml_total = bits(5000);
  if (bits(2) == 0) r.strength_percent = bits(101);
  if (bits(3) == 0) r.ec = bits(200) / 100.0;
  r.ec_compensated = bits(4) > 0;
  if (bits(2) == 0) r.water_c = bits(30);
  if (bits(6) == 0) r.runoff_ec = bits(50) / 10.0;
  return r;
}

inline History random_fed_history() {
  const History history = random_history();
  add_pumps(*history.settings);
  History fed{history.settings, history.steps};
  std::uint32_t noise = *rc::gen::arbitrary<std::uint32_t>();
  const auto often = *rc::gen::inRange<std::uint32_t>(3, 200);
  const auto random = [&noise](std::uint32_t below) {
    noise = noise * 1664525u + 1013904223u;
    return (noise >> 8) % below;
  };
  int asked = 0;
  for (const Step& step : history.steps) {
    const Instant now = step.now;
    if (random(often) == 0)
      fed.steps.push_back({now + seconds(1), random_report(now + seconds(1), random(1u << 24))});
    if (random(often * 8) != 0) continue;
    feeding::Request request;
    request.id = "fed-" + std::to_string(asked++);
    request.who = "tester";
    request.kind =
        std::array{feeding::RequestKind::arm,     feeding::RequestKind::arm,
                   feeding::RequestKind::disarm,  feeding::RequestKind::trust,
                   feeding::RequestKind::watered, feeding::RequestKind::runoff}[random(6)];
    request.pump = random(3) == 0 ? "other" : "pump";
    request.bench = random(2) == 0 ? "one" : "two";
    if (random(2) == 0) request.from = now - hours(random(24 * 40));
    if (random(8) > 0) request.litres = random(50);
    if (random(2) == 0) request.strength_percent = random(101);
    if (random(8) > 0) request.ec = random(50) / 10.0;
    fed.steps.push_back({now + seconds(2), request});
  }
  std::stable_sort(fed.steps.begin(), fed.steps.end(),
                   [](const Step& a, const Step& b) { return a.now < b.now; });
  return fed;
}

/// The settings after a person has changed something about pumps.
inline std::shared_ptr<Settings> other_settings(const Settings& before) {
  auto settings = std::make_shared<Settings>(before);
  add_pumps(*settings);
  if (*rc::gen::inRange(0, 6) == 0) settings->pumps.clear();
  return settings;
}

}  // namespace plainwater::property
