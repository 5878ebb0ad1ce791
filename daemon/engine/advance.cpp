// Engine time: what is due fires in order, each thing at its own time.
#include <algorithm>

#include "engine/state.h"

namespace plainwater::engine {

Engine::State::State(std::shared_ptr<const Settings> s)
    : settings(std::move(s)), sun(settings->site.latitude_deg, settings->site.longitude_deg) {
  sensors.resize(settings->sensors.size());
  for (std::size_t i = 0; i < sensors.size(); ++i)
    sensors[i].watch.reports = settings->sensors[i].reports;
  for (const Bench& bench : settings->benches) benches.emplace_back(&bench, settings.get());
  watchers.resize(sensors.size());
  for (std::size_t b = 0; b < benches.size(); ++b) {
    const Bench& bench = settings->benches[b];
    const auto watch = [&](SensorId sensor) {
      watchers[index(sensor)].push_back(static_cast<std::uint32_t>(b));
    };
    if (watches_moves(b)) std::for_each(bench.sensors.begin(), bench.sensors.end(), watch);
    if (bench.contact && bench.moves != Moves::never) watch(*bench.contact);
  }
  pumps.resize(settings->pumps.size());
}

void Engine::State::begin_cycle(climate::SolarDay day) {
  night = day;
  cycle_from = sun.night(day - 1).sunrise;
  const climate::SolarNight times = sun.night(day);
  sunset = times.sunset;
  sunrise = times.sunrise;
}

void Engine::State::begin(Instant t, Outcome& out) {
  begun = true;
  now = t;
  climate::SolarDay day = sun.day_of(t) - 1;
  while (sun.night(day).sunrise + kCloseAfterSunrise <= t) ++day;
  begin_cycle(day);
  kept_from = cycle_from;
  for (std::size_t b = 0; b < benches.size(); ++b)
    benches[b].feeding.begin(season_facts(b), t, out.decisions);
  place_told_benches();
  look_at_pumps(out);
  next_due = earliest_due();
}

Instant Engine::State::earliest_due() const {
  Instant due = sunrise + kCloseAfterSunrise;
  if (!quarantine.empty()) due = std::min(due, quarantine.front().due);
  if (!cold.empty()) due = std::min(due, cold.front().due);
  for (std::size_t s = 0; s < sensors.size(); ++s) due = std::min(due, silence_due(s));
  for (const BenchState& bench : benches) due = std::min(due, bench.feeding.next_due());
  for (std::size_t b = 0; b < benches.size(); ++b) due = std::min(due, dry_due(b));
  for (std::size_t p = 0; p < pumps.size(); ++p) due = std::min(due, pump_due(p));
  return due;
}

void Engine::State::fire(Instant due, Outcome& out) {
  const std::size_t told = out.decisions.size();
  fire_one(due, out);
  if (out.decisions.size() != told) note_commands();
}

void Engine::State::fire_one(Instant due, Outcome& out) {
  if (!quarantine.empty() && quarantine.front().due <= due) {
    const Reading reading = quarantine.front().reading;
    quarantine.erase(quarantine.begin());
    add(reading);
    return;
  }
  if (!cold.empty() && cold.front().due <= due) {
    const Cold first = cold.front();
    cold.erase(cold.begin());
    judge_cold(first, out);
    return;
  }
  if (sunrise + kCloseAfterSunrise <= due) {
    close_cycle(out);
    return;
  }
  for (std::size_t s = 0; s < sensors.size(); ++s) {
    if (silence_due(s) > due) continue;
    judge_silence(s, due, out);
    return;
  }
  for (BenchState& bench : benches) {
    if (bench.feeding.next_due() > due) continue;
    bench.feeding.take_due(due, bench.season, out.decisions);
    return;
  }
  for (std::size_t b = 0; b < benches.size(); ++b)
    if (dry_due(b) <= due) return tell_dry(b, out);
  for (std::size_t p = 0; p < pumps.size(); ++p)
    if (pump_due(p) <= due) return tell_silence(p, out);
}

void Engine::State::fire_look(Outcome& out) {
  const Look look = looks.front();
  looks.pop_front();
  const std::size_t told = out.decisions.size();
  take_look(look, out);
  if (out.decisions.size() != told) note_commands();
  next_due = std::min(next_due, benches[look.bench].feeding.next_due());
}

void Engine::State::fire_all(Outcome& out) {
  while (true) {
    if (earliest_due() <= now) {
      fire(now, out);
    } else if (!looks.empty() && looks.front().due <= now) {
      fire_look(out);
    } else {
      break;
    }
  }
  next_due = earliest_due();
}

void Engine::State::advance(Instant to, Outcome& out) {
  if (!begun) {
    if (settled) begin(to, out);
    return;
  }
  for (std::size_t b = 0; b < benches.size(); ++b)
    if (!benches[b].feeding.begun()) benches[b].feeding.begin(season_facts(b), now, out.decisions);
  if (!pumps_ready) look_at_pumps(out);
  if (to <= now) return;
  while (true) {
    const Instant look = looks.empty() ? kForever : looks.front().due;
    if (std::min(look, next_due) > to) break;
    if (look < next_due) {  // at the same moment last: it tells the feed to which the others led
      now = std::max(now, look);
      fire_look(out);
      continue;
    }
    next_due = earliest_due();
    if (next_due > to || look < next_due) continue;
    now = std::max(now, next_due);
    fire(now, out);
  }
  now = to;
}

}  // namespace plainwater::engine
