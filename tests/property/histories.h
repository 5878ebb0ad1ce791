// Random histories of a small site: seasons, noise, drops, gaps, faults and growers' requests.
#pragma once

#include <rapidcheck.h>

#include <cmath>
#include <memory>
#include <string>
#include <variant>
#include <vector>

#include "engine/engine.h"

namespace plainwater::property {

struct Step {
  Instant now{};
  std::variant<Reading, feeding::Request> input;
};

struct History {
  std::shared_ptr<Settings> settings;
  std::vector<Step> steps;
};

inline std::shared_ptr<Settings> small_site(double latitude) {
  auto settings = std::make_shared<Settings>();
  settings->site.latitude_deg = latitude;
  settings->site.longitude_deg = 12;
  settings->sensors = {{"a", Reports::regularly}, {"b", Reports::regularly}, {"c", Reports::on_change}};
  Bench one, two;
  one.name = "one";
  one.group = Group::intermediate;
  one.sensors = {SensorId(0)};
  two.name = "two";
  two.group = Group::warm;
  two.sensors = {SensorId(0), SensorId(1), SensorId(2)};
  settings->benches = {one, two};
  settings->pumps = {{"pump", {"one", "two"}}};
  return settings;
}

/// 60 to 200 days at one reading of each sensor in two hours.
inline History random_history() {
  History history;
  history.settings = small_site(*rc::gen::element(52.0, -37.0, 1.0, 69.0));
  const int days = *rc::gen::inRange(60, 200);
  const Instant start = *parse_rfc3339("2026-07-01T00:00:00Z") + kDay * *rc::gen::inRange(0, 365);
  const int drop_day = *rc::gen::inRange(20, 120), back_day = drop_day + *rc::gen::inRange(1, 60);
  const double drop_c = *rc::gen::inRange(2, 12), base_c = *rc::gen::inRange(8, 24);
  const int gap_day = *rc::gen::inRange(10, 150), gap_days = *rc::gen::inRange(0, 20);
  const int glitch = *rc::gen::inRange(3, 200);
  const auto requests = *rc::gen::container<std::vector<std::pair<int, int>>>(rc::gen::pair(rc::gen::inRange(0, 199), rc::gen::inRange(0, 8)));
  std::uint32_t noise = *rc::gen::arbitrary<std::uint32_t>();
  const auto random = [&noise] {
    noise = noise * 1664525u + 1013904223u;
    return static_cast<double>(noise >> 8) / static_cast<double>(1u << 24) - 0.5;
  };
  std::size_t asked = 0;
  for (int half = 0; half < days * 12; ++half) {
    const Instant t = start + hours(2) * half;
    const int day = half / 12;
    if (day >= gap_day && day < gap_day + gap_days) continue;
    const double level = base_c - (day >= drop_day && day < back_day ? drop_c : 0) + 3 * std::sin(half / 12.0 * 6.283);
    for (std::uint32_t s = 0; s < 3; ++s) {
      const double c = half % glitch == 1 && s == 1 ? 85.0 : level + random() + 0.2 * s;
      const Instant at = t + seconds(7 * static_cast<int>(s));
      history.steps.push_back({at, Reading{SensorId(s), Quantity::temperature, at, to_milli(c)}});
      if (s == 0) history.steps.push_back({at, Reading{SensorId(s), Quantity::humidity, at, to_milli(70 + 20 * random())}});
    }
    if (half % 12 != 5) continue;
    for (const auto& [on, kind] : requests) {
      if (on != day) continue;
      feeding::Request request;
      request.id = std::to_string(asked++);
      request.who = "tester";
      request.kind = static_cast<feeding::RequestKind>(kind);
      request.bench = day % 2 == 0 ? "one" : "two";
      request.pump = "pump";
      request.until = t + kDay * (on % 40 + 1);
      request.full = on % 3 == 0;
      history.steps.push_back({t + minutes(3), request});
    }
  }
  return history;
}

inline void take(engine::Engine& engine, const Step& step, engine::Outcome& out) {
  if (const auto* reading = std::get_if<Reading>(&step.input)) engine.take(*reading, step.now, out);
  else engine.take(std::get<feeding::Request>(step.input), step.now, out);
}

inline std::string ledger(const engine::Outcome& out) {
  std::string text;
  for (const auto& d : out.decisions) text += to_json(d) + "\n";
  return text;
}

}  // namespace plainwater::property
