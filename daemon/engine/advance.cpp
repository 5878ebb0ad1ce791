// Engine time: due things fire in order, each at its own time.
#include <algorithm>

#include "engine/bench_places.h"
#include "engine/live_air.h"
#include "engine/state.h"

namespace plainwater::engine {

Engine::State::State(std::shared_ptr<const Settings> s)
    : settings(std::move(s)),
      cycle(settings->site),
      sensors(settings->sensors.size()),
      looks(*settings),
      pumps(*settings),
      succession(settings->benches.size()) {
  for (std::size_t i = 0; i < sensors.size(); ++i)
    sensors[i].watch.reports = settings->sensors[i].reports;
  for (const Bench& bench : settings->benches) benches.emplace_back(&bench, settings.get());
}

void Engine::State::begin(Instant t, Outcome& out) {
  begun = true;
  now = t;
  cycle.begin(t);
  for (std::size_t b = 0; b < benches.size(); ++b)
    benches[b].feeding.begin(season_facts(b), t, out.decisions);
  place_told_benches(*settings, benches, now);
  look_at_pumps(out);
}

void Engine::State::look_at_pumps(Outcome& out) {
  succession.tell(turn(out));
  pumps.look_at(settled(), succession, turn(out));
  next_due = earliest_due();
}

feeding::Reply Engine::State::retire(const feeding::Request& request, Outcome& out) {
  feeding::Reply reply = succession.retire(request, turn(out));
  if (reply.done) pumps.forget(request.bench);
  return reply;
}

Instant Engine::State::earliest_due() const {
  Instant due = std::min({cycle.close_due(), quarantine.due(), cold.due(), absence.due(settled())});
  for (const SensorState& sensor : sensors)
    due = std::min(due, sensor.silence_due(settings->watch));
  for (std::size_t b = 0; b < benches.size(); ++b)
    due = std::min(
        {due, benches[b].feeding.next_due(), benches[b].watering.dry_due(settings->benches[b])});
  for (std::size_t p = 0; p < settings->pumps.size(); ++p)
    due = std::min(due, pumps.silence_due(*settings, p));
  return due;
}

void Engine::State::fire(Outcome& out) {
  const std::size_t told = out.decisions.size();
  fire_one(turn(out));
  absence.note(out.decisions, told);
  if (out.decisions.size() != told) note_commands();
}

void Engine::State::fire_one(const Turn& turn) {
  if (quarantine.due() <= now) {
    add(quarantine.take());
    return;
  }
  if (cold.due() <= now) return cold.judge_next(sensors, turn);
  if (cycle.close_due() <= now) return close_cycle(turn);
  for (std::size_t s = 0; s < sensors.size(); ++s)
    if (sensors[s].silence_due(settings->watch) <= now) return judge_silence(s, turn);
  for (BenchState& bench : benches)
    if (bench.feeding.next_due() <= now)
      return bench.feeding.take_due(now, bench.season, turn.out.decisions);
  for (std::size_t b = 0; b < benches.size(); ++b)
    if (benches[b].watering.dry_due(settings->benches[b]) <= now)
      return benches[b].watering.tell_dry(b, turn);
  for (std::size_t p = 0; p < settings->pumps.size(); ++p)
    if (pumps.silence_due(*settings, p) <= now) return pumps.tell_silence(p, turn);
  // Last of the same moment: what is asked at its end belongs to it.
  if (absence.due(settled()) <= now) absence.fire(still_waits(), turn);
}

void Engine::State::judge_silence(std::size_t s, const Turn& turn) {
  if (const auto was = sensors[s].judge_silence(now, settings->watch))
    turn.sensor(now, s, sensors[s], *was, 0, 0);
}

void Engine::State::fire_look(Outcome& out) {
  const Look look = looks.take();
  const std::size_t told = out.decisions.size();
  take_look(look, looks, sensors, turn(out));
  if (out.decisions.size() != told) note_commands();
  next_due = std::min(next_due, benches[look.bench].feeding.next_due());
}

void Engine::State::fire_all(Outcome& out) {
  while (true) {
    if (earliest_due() <= now) {
      fire(out);
    } else if (looks.due() <= now) {
      fire_look(out);
    } else {
      break;
    }
  }
  next_due = earliest_due();
}

void Engine::State::advance(Instant to, Outcome& out) {
  if (!begun) {
    if (settled()) begin(to, out);
    return;
  }
  // A bench new to the settings has been on plain water until now; to begin may raise its feed.
  for (std::size_t b = 0; settled() && b < benches.size(); ++b)
    if (!benches[b].feeding.begun()) benches[b].feeding.begin(season_facts(b), now, out.decisions);
  if (!pumps.looked_at()) look_at_pumps(out);
  if (to <= now) return;
  while (true) {
    const Instant look = looks.due();
    if (std::min(look, next_due) > to) break;
    if (look <
        next_due) {  // last of the same moment: its decision shows the feed to which the others led
      now = std::max(now, look);
      fire_look(out);
      continue;
    }
    next_due = earliest_due();
    if (next_due > to || look < next_due) continue;
    now = std::max(now, next_due);
    fire(out);
  }
  now = to;
}

Taken Engine::State::add(const Reading& reading) {
  SensorState& sensor = sensors[index(reading.sensor)];
  if (reading.time > now + kFutureTolerance) {
    const auto due = quarantine.add(reading, Quarantine::room(sensors.size()));
    if (!due) return Taken::history;
    next_due = std::min(next_due, *due);
    return Taken::future;
  }
  if (reading.quantity == Quantity::place) {  // may come late; outdated words are ignored
    looks.await(reading, now, *settings, benches);
    return Taken::used;
  }
  if (reading.time < cycle.kept_from()) return Taken::history;
  const bool first = sensor.newest == kNever;
  const Instant back_since = sensor.back_since;
  switch (sensor.add(reading)) {
    case climate::Series::Added::repeated: return Taken::repeated;
    case climate::Series::Added::conflicting: return Taken::conflicting;
    case climate::Series::Added::appended:
    case climate::Series::Added::inserted: break;
  }
  if (first || sensor.back_since != back_since)
    next_due = std::min(next_due, sensor.silence_due(settings->watch));
  const bool temperature = reading.quantity == Quantity::temperature;
  if (reading.time < cycle.from()) {
    if (temperature) ++sensor.late;
    return Taken::revised;
  }
  if (temperature && in_range(reading.value, settings->watch)) {
    looks.await(reading, now, *settings, benches);
    if (const auto due = cold.add(reading, now, *settings)) next_due = std::min(next_due, *due);
  }
  return Taken::used;
}

TakenDose Engine::State::add(const feeding::DoseReport& report, Outcome& out) {
  const std::size_t first = out.decisions.size();
  const TakenDose taken = pumps.take(report, turn(out));
  absence.note(out.decisions, first);
  // A report alone only puts off what is due; anything sooner comes from its decisions. So its cost
  // does not grow with the number of pumps.
  if (const auto p = settings->heir_of_pump(report.pump))
    next_due = std::min(next_due, pumps.silence_due(*settings, *p));
  if (taken == TakenDose::used && out.decisions.size() != first) {
    note_commands();
    next_due = earliest_due();
  }
  return taken;
}

}  // namespace plainwater::engine
