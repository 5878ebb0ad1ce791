// Random histories of a small site: seasons, noise, drops, moves, gaps, faults, contact readings
// and growers' requests.
#pragma once

#include <rapidcheck.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <string>
#include <variant>
#include <vector>

#include "engine/engine.h"

namespace plainwater::property {

struct Step {
  Instant now{};
  std::variant<Reading, feeding::Request, ClockTrust, Span, feeding::DoseReport>
      input;  ///< a span: time is set back by it, to `now`
};

struct History {
  std::shared_ptr<Settings> settings;
  std::vector<Step> steps;
};

/// Sensors: three of the benches, a reference outdoors and one indoors, a contact.
enum : std::uint32_t { kBenchSensors = 3, kOutdoors = 3, kParlour = 4, kRail = 5 };

inline std::shared_ptr<Settings> small_site(double latitude) {
  auto settings = std::make_shared<Settings>();
  settings->site.latitude_deg = latitude;
  settings->site.longitude_deg = 12;
  settings->sensors = {{"a", Reports::regularly},       {"b", Reports::regularly},
                       {"c", Reports::on_change},       {"outdoors", Reports::regularly},
                       {"parlour", Reports::regularly}, {"rail", Reports::on_change}};
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

/// When the benches are outdoors, and how well the two airs are known.
struct Carrying {
  int out_day = 0, back_day = 0;          ///< out for good, and in again
  int shuttle_day = 0, shuttle_days = 0;  ///< out from eight to sixteen only
  bool has_outdoors = true, has_parlour = true;
  int blind_day = 0, blind_days = 0;  ///< the references are silent
  double apart_c = 0;                 ///< how much colder it is outdoors

  bool outdoors(int day, int hour) const {
    const bool shuttles =
        day >= shuttle_day && day < shuttle_day + shuttle_days && hour >= 8 && hour < 16;
    return (day >= out_day && day < back_day) != shuttles;
  }
};

inline Carrying random_carrying(Settings& settings) {
  const auto moves =
      rc::gen::element(Moves::watched, Moves::watched, Moves::declared, Moves::never);
  for (Bench& bench : settings.benches) {
    bench.moves = *moves;
    bench.place = *rc::gen::element(Position::indoors, Position::outdoors);
  }
  if (settings.benches[1].moves != Moves::never && *rc::gen::arbitrary<bool>())
    settings.benches[1].contact = SensorId(kRail);
  MoveRules& rules = settings.moves;
  rules.watch = *rc::gen::inRange(0, 8) > 0;
  rules.preset = *rc::gen::element(MovePreset::quiet, MovePreset::balanced, MovePreset::fast);
  const auto answer =
      rc::gen::element(MoveAnswer::hold, MoveAnswer::hold, MoveAnswer::reduced, MoveAnswer::none);
  rules.moved_outdoors = *answer;
  rules.moved_indoors = *answer;
  rules.warmer = *answer;
  rules.relief_ends_hold = *rc::gen::arbitrary<bool>();
  rules.judged_nights = *rc::gen::inRange(1, 6);
  Carrying c;
  c.has_outdoors = *rc::gen::inRange(0, 4) > 0;
  c.has_parlour = *rc::gen::inRange(0, 4) > 0;
  if (c.has_outdoors) settings.site.outdoor_reference = "outdoors";
  if (c.has_parlour) settings.site.indoor_reference = "parlour";
  c.out_day = *rc::gen::inRange(5, 100);
  c.back_day = c.out_day + *rc::gen::inRange(0, 60);
  c.shuttle_day = *rc::gen::inRange(5, 120);
  c.shuttle_days = *rc::gen::inRange(0, 20);
  c.blind_day = *rc::gen::inRange(0, 120);
  c.blind_days = *rc::gen::inRange(0, 15);
  c.apart_c = *rc::gen::inRange(-6, 14);
  return c;
}

/// 60 to 200 days with a reading of each sensor every two hours; perhaps some days without any.
inline History random_history(bool with_gap = true) {
  History history;
  history.settings = small_site(*rc::gen::element(52.0, -37.0, 1.0, 69.0));
  const int days = *rc::gen::inRange(60, 200);
  const Instant start = *parse_rfc3339("2026-07-01T00:00:00Z") + kDay * *rc::gen::inRange(0, 365);
  const int drop_day = *rc::gen::inRange(20, 120), back_day = drop_day + *rc::gen::inRange(1, 60);
  const double drop_c = *rc::gen::inRange(2, 12), base_c = *rc::gen::inRange(8, 24);
  const int gap_day = *rc::gen::inRange(10, 150),
            gap_days = *rc::gen::inRange(0, 20) * (with_gap ? 1 : 0);
  const int glitch = *rc::gen::inRange(3, 200);
  const Carrying carrying = random_carrying(*history.settings);
  const auto requests = *rc::gen::container<std::vector<std::pair<int, int>>>(
      rc::gen::pair(rc::gen::inRange(0, 199), rc::gen::inRange(0, 9)));
  const int lost_day = *rc::gen::inRange(10, 150),
            lost_days = *rc::gen::inRange(0, 12);  // days without a trusted clock
  const auto lost = *rc::gen::element(ClockTrust::doubted, ClockTrust::unbelieved);
  const auto words = *rc::gen::container<std::vector<std::pair<int, int>>>(
      rc::gen::pair(rc::gen::inRange(0, 199), rc::gen::inRange(0, 96)));
  std::uint32_t noise = *rc::gen::arbitrary<std::uint32_t>();
  const auto random = [&noise] {
    noise = noise * 1664525u + 1013904223u;
    return static_cast<double>(noise >> 8) / static_cast<double>(1u << 24) - 0.5;
  };
  std::size_t asked = 0;
  for (int half = 0; half < days * 12; ++half) {
    const Instant t = start + hours(2) * half;
    const int day = half / 12;
    const double level = base_c - (day >= drop_day && day < back_day ? drop_c : 0),
                 wave = std::sin(half / 12.0 * 6.283);
    const double indoor_c = level + 3 * wave, outdoor_c = level - carrying.apart_c + 4 * wave;
    const bool outside = carrying.outdoors(day, half % 12 * 2);
    const bool speaks = day < gap_day || day >= gap_day + gap_days,
               referenced =
                   day < carrying.blind_day || day >= carrying.blind_day + carrying.blind_days;
    for (std::uint32_t s = 0; s < kRail; ++s) {
      if (s < kBenchSensors
              ? !speaks
              : !referenced || !(s == kOutdoors ? carrying.has_outdoors : carrying.has_parlour))
        continue;
      const double air_c = s == kOutdoors || (s < kBenchSensors && outside) ? outdoor_c : indoor_c;
      const double c = half % glitch == 1 && s == 1 ? 85.0 : air_c + random() + 0.2 * s;
      const Instant at = t + seconds(7 * static_cast<int>(s));
      history.steps.push_back({at, Reading{SensorId(s), Quantity::temperature, at, to_milli(c)}});
      if (s == 0)
        history.steps.push_back(
            {at, Reading{SensorId(s), Quantity::humidity, at, to_milli(70 + 20 * random())}});
    }
    for (const auto& [on, quarter] : words) {  // some at once, some hours late, some wrong
      if (on != day || half % 12 != quarter / 8) continue;
      const Instant at = t + minutes(15 * (quarter % 8) + 1);
      history.steps.push_back({at + (quarter % 3 == 0 ? minutes(7 * quarter) : minutes(0)),
                               Reading{SensorId(kRail), Quantity::place, at,
                                       outside != (quarter % 5 == 0) ? 1000 : 0}});
    }
    if (lost_days > 0 && half % 12 == 4 && (day == lost_day || day == lost_day + lost_days))
      history.steps.push_back({t + minutes(90), day != lost_day ? ClockTrust::settled : lost});
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
      if (request.kind == feeding::RequestKind::move) {
        request.to = outside == (on % 5 > 0) ? Position::outdoors : Position::indoors;
        if (on % 2 == 0) request.from = t - hours(on % 100);
        request.hold = on % 7 == 0;
      }
      history.steps.push_back({t + minutes(3), request});
    }
  }
  std::stable_sort(history.steps.begin(), history.steps.end(),
                   [](const Step& a, const Step& b) { return a.now < b.now; });
  return history;
}

/// The same, but at some step a clock that was ahead all the time is corrected.
inline History set_right_later(History history) {
  auto& steps = history.steps;
  const auto cut = *rc::gen::inRange<std::size_t>(1, steps.size());
  const Span back = hours(1) * *rc::gen::inRange(1, 24 * 1500) + seconds(7);
  for (std::size_t i = cut; i < steps.size(); ++i) {
    steps[i].now -= back;
    if (auto* reading = std::get_if<Reading>(&steps[i].input)) reading->time -= back;
    if (auto* request = std::get_if<feeding::Request>(&steps[i].input)) {
      if (request->until) *request->until -= back;
      if (request->from) *request->from -= back;
    }
  }
  steps.insert(steps.begin() + static_cast<std::ptrdiff_t>(cut), {steps[cut].now, back});
  return history;
}

inline void take(engine::Engine& engine, const Step& step, engine::Outcome& out) {
  if (const auto* reading = std::get_if<Reading>(&step.input))
    engine.take(*reading, step.now, out);
  else if (const auto* trust = std::get_if<ClockTrust>(&step.input))
    engine.settle_clock(*trust, step.now, out);
  else if (const auto* back = std::get_if<Span>(&step.input))
    engine.set_back(*back, step.now, out);
  else if (const auto* report = std::get_if<feeding::DoseReport>(&step.input))
    engine.take(*report, step.now, out);
  else
    engine.take(std::get<feeding::Request>(step.input), step.now, out);
}

inline std::string ledger(const engine::Outcome& out) {
  std::string text;
  for (const auto& d : out.decisions) text += to_json(d) + "\n";
  return text;
}

/// Properties of any history.
inline void waking_changes_nothing(const History& history) {
  const Span every = minutes(*rc::gen::inRange(1, 3000));
  engine::Engine seldom(history.settings), often(history.settings);
  engine::Outcome once, many;
  Instant woken = history.steps.front().now;
  for (const Step& step : history.steps) {
    for (; woken < step.now; woken += every)
      if (woken > history.steps.front().now) often.advance(woken, many);
    take(seldom, step, once);
    take(often, step, many);
    if (std::holds_alternative<Span>(step.input)) woken = step.now;
  }
  RC_ASSERT(ledger(once) == ledger(many));
  RC_ASSERT(seldom.snapshot() == often.snapshot());
}

inline void a_stop_changes_nothing(const History& history) {
  const auto cut =
      static_cast<std::size_t>(*rc::gen::inRange<int>(0, static_cast<int>(history.steps.size())));
  engine::Engine whole(history.settings);
  engine::Outcome out;
  for (std::size_t i = 0; i < cut; ++i) take(whole, history.steps[i], out);
  const std::string bytes = whole.snapshot();
  auto restored = engine::Engine::restore(history.settings, bytes);
  RC_ASSERT(static_cast<bool>(restored));
  RC_ASSERT(restored->snapshot() == bytes);
  engine::Outcome on_whole, on_restored;
  for (std::size_t i = cut; i < history.steps.size(); ++i) {
    take(whole, history.steps[i], on_whole);
    take(*restored, history.steps[i], on_restored);
  }
  RC_ASSERT(ledger(on_whole) == ledger(on_restored));
  RC_ASSERT(whole.snapshot() == restored->snapshot());
}

}  // namespace plainwater::property
