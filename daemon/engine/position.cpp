// Where benches stand: looks at their air once the reorder window has passed, the word of contacts
// and people, and what follows from a change.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "common/statistics.h"
#include "engine/position_words.h"
#include "engine/state.h"

namespace plainwater::engine {

using season::PlaceChange;
using season::Sighting;

namespace {

constexpr Span kReferenceHolds = hours(3);  ///< so old a reference still says something
constexpr Span kLongestAgo = 14 * kDay;

/// The newest temperature at or before `t` that may be one, °C; NaN when it is older than `holds`.
/// A single spike is left to the filter, which gives it little weight, because the first reading
/// after a move looks like one.
double newest_c(const climate::Series& series, Instant t, Span holds, const SensorRules& rules) {
  for (std::size_t i = series.at_or_after(t + Span(1)); i-- > 0 && t - series.time(i) <= holds;) {
    const double c = from_milli(series.value(i));
    if (!climate::known_fault_value(series.value(i)) && c >= rules.lowest_c && c <= rules.highest_c)
      return c;
  }
  return climate::kUnknown;
}

/// Frozen or wild values say nothing about a place; silence is told by their age.
bool speaks(const SensorState& sensor) {
  return sensor.watch.doubt == climate::Doubt::none || sensor.watch.doubt == climate::Doubt::silent;
}

}  // namespace

bool Engine::State::watches_moves(std::size_t b) const {
  return settings->moves.watch && settings->benches[b].moves == Moves::watched;
}

Position Engine::State::position(std::size_t b) const {
  return settings->benches[b].moves == Moves::never ? settings->benches[b].place
                                                    : benches[b].season.position.position();
}

void Engine::State::place_told_benches() {
  for (std::size_t b = 0; b < benches.size(); ++b) {
    // A bench of whose moves we are only told stands where the settings say until the first word.
    season::PositionWatch& watch = benches[b].season.position;
    const Bench& bench = settings->benches[b];
    if (bench.moves ==
        Moves::never) {  // what was inferred under other settings must not come back with them
      watch = {};
      benches[b].season.moves = {};
    }
    if (!bench.contact) watch.forget_contact();
    const bool told_only = bench.moves != Moves::never && !watches_moves(b);
    if (told_only &&
        (watch.last_known() == Position::unknown || watch.told() == season::Told::by_settings))
      watch.assume(bench.place, now);
    if (benches[b].stays.empty()) benches[b].stays.push_back({now, position(b)});
  }
}

void Engine::State::await_looks(const Reading& reading) {
  for (const std::uint32_t b : watchers[index(reading.sensor)]) {
    const bool by_contact = settings->benches[b].contact == reading.sensor;
    if (by_contact != (reading.quantity == Quantity::place)) continue;
    if (!by_contact && reading.time <= benches[b].season.position.filter().last_look()) continue;
    const Position word = by_contact ? position_of(reading.value) : Position::unknown;
    const Look look{std::max(reading.time + kReorderWindow, now), reading.time, b, word};
    const auto at = std::upper_bound(looks.begin(), looks.end(), look);
    if (at == looks.begin() || *std::prev(at) != look) looks.insert(at, look);
  }
}

Sighting Engine::State::sight(std::size_t b, Instant t) const {
  const Bench& bench = settings->benches[b];
  Sighting s;
  s.time = t;
  std::vector<double> values;
  for (const SensorId id : bench.sensors) {
    const SensorState& sensor = sensors[index(id)];
    const double c = speaks(sensor)
                         ? newest_c(sensor.temperature, t,
                                    sensor.watch.covered_gap(settings->watch), settings->watch)
                         : climate::kUnknown;
    if (!std::isnan(c)) values.push_back(c);
  }
  s.bench_c = median(std::move(values));
  const auto reference = [&](const std::string& name) {
    const auto id = settings->sensor(name);
    if (name.empty() || !id || on_bench(b, index(*id)) || !speaks(sensors[index(*id)]))
      return climate::kUnknown;
    return newest_c(sensors[index(*id)].temperature, t, kReferenceHolds, settings->watch);
  };
  s.outdoor_c = reference(settings->site.outdoor_reference);
  s.indoor_c = reference(settings->site.indoor_reference);
  return s;
}

void Engine::State::take_look(const Look& look, Outcome& out) {
  season::PositionWatch& watch = benches[look.bench].season.position;
  if (look.word != Position::unknown) {
    // It may have waited through a change of settings.
    if (!settings->benches[look.bench].contact ||
        settings->benches[look.bench].moves == Moves::never)
      return;
    // A contact bounces: of words within the window the last one counts. One that comes late is no
    // bounce of a newer one.
    const auto newer = [&](const Look& other) {
      return other.bench == look.bench && other.word != Position::unknown &&
             other.time - look.time <= kReorderWindow;
    };
    if (std::any_of(looks.begin(), looks.end(), newer)) return;
    const auto change = watch.contact(look.word, look.time, now);
    if (!change) return;
    const std::string& contact =
        settings->sensors[index(*settings->benches[look.bench].contact)].name;
    feeding::Evidence evidence;
    evidence.text("contact", contact).text("last_known", plainwater::name_of(change->from));
    take_place(look.bench, *change, std::move(evidence), "contact " + contact, out);
    return;
  }
  if (!watches_moves(look.bench) || look.time <= watch.filter().last_look()) return;
  const Sighting sighting = sight(look.bench, look.time);
  if (std::isnan(sighting.bench_c)) return;
  if (const auto change = watch.look(sighting, now, settings->moves))
    take_place(look.bench, *change, look_evidence(*change, sighting, watch.filter()), "", out);
}

void Engine::State::take_place(std::size_t b, const PlaceChange& change, feeding::Evidence evidence,
                               const std::string& who, Outcome& out) {
  BenchState& bench = benches[b];
  const Instant since = change.since == kNever ? change.time : change.since;
  const season::Pattern was = bench.season.moves.pattern();
  const season::Carried carried = change.moved()
                                      ? bench.season.moves.take(change.to, since, settings->moves)
                                      : season::Carried::again;
  // Where it stood counts from when it was carried, not from when that was noticed.
  const Instant stands_from = change.moved() ? since : change.time;
  while (!bench.stays.empty() && bench.stays.back().from >= stands_from) bench.stays.pop_back();
  bench.stays.push_back({stands_from, change.to});

  feeding::Decision d;
  d.time = change.time;
  d.bench = settings->benches[b].name;
  d.kind = feeding::DecisionKind::position_changed;
  d.position = change.to;
  d.pattern = bench.season.moves.pattern();
  if (change.moved())
    d.cause = d.pattern != was ? feeding::Cause::shuttling : feeding::cause_of(change.to);
  if (change.since != kNever) d.since = change.since;
  d.evidence = std::move(evidence);
  d.text = place_changed(change, settings->site.local(since), d.pattern, who);
  const std::size_t told = out.decisions.size();
  out.decisions.push_back(std::move(d));
  if (change.moved())
    bench.feeding.take_move(carried, change.to, since, change.time, bench.season, out.decisions);
  const auto share = bench.feeding.effective(change.time);
  out.decisions[told].feeding = share.feeding;
  out.decisions[told].strength_percent = share.percent;
}

void Engine::State::close_position(std::size_t b, const climate::BenchNight& air, Instant t,
                                   Outcome& out) {
  BenchState& bench = benches[b];
  if (settings->benches[b].moves == Moves::never) return;
  const double least = settings->watch.night_coverage;
  const bool ended = bench.season.moves.close(
      {cycle_from, sunset, sunrise, air.day.coverage >= least ? air.day.mean : climate::kUnknown,
       air.temperature.coverage >= least && !air.suspect ? air.temperature.mean
                                                         : climate::kUnknown},
      position(b) != Position::unknown, settings->moves);
  if (ended) {
    feeding::Decision d;
    d.time = t;
    d.bench = settings->benches[b].name;
    d.kind = feeding::DecisionKind::position_changed;
    d.cause = feeding::Cause::shuttling;
    d.position = position(b);
    d.since = bench.season.moves.last_move();
    const auto share = bench.feeding.effective(t);
    d.feeding = share.feeding;
    d.strength_percent = share.percent;
    d.evidence.time("last_move", bench.season.moves.last_move())
        .count("settled_days", settings->moves.settled_days);
    d.text = fmt::format(
        "The bench has not been seen carried for {} days: it no longer goes out and in by turns.",
        settings->moves.settled_days);
    out.decisions.push_back(std::move(d));
    bench.feeding.shuttling_ended(bench.season);
  }
  if (!watches_moves(b)) return;
  if (const auto change = bench.season.position.unseen(t, settings->moves)) {
    feeding::Evidence evidence;
    evidence.number("probability", change->probability, 4)
        .text("last_known", plainwater::name_of(change->from));
    if (bench.season.position.filter().last_look() != kNever)
      evidence.time("last_reading", bench.season.position.filter().last_look());
    take_place(b, *change, std::move(evidence), "", out);
  }
}

Position Engine::State::take_night_position(std::size_t b) {
  if (settings->benches[b].moves == Moves::never) return settings->benches[b].place;
  auto& stays = benches[b].stays;
  Span spent[3] = {Span(0), Span(0), Span(0)};
  for (std::size_t i = 0; i < stays.size(); ++i) {
    const Instant from = std::max(stays[i].from, sunset),
                  to = i + 1 < stays.size() ? std::min(stays[i + 1].from, sunrise) : sunrise;
    if (from < to) spent[static_cast<std::size_t>(stays[i].position)] += to - from;
  }
  while (stays.size() > 1 && stays[1].from <= sunrise) stays.erase(stays.begin());
  return static_cast<Position>(std::max_element(std::begin(spent), std::end(spent)) -
                               std::begin(spent));
}

feeding::Reply Engine::State::take_move_request(const feeding::Request& request, std::size_t b,
                                                Outcome& out) {
  const auto refused = [](const char* problem, std::string text) {
    return feeding::Reply{false, problem, std::move(text)};
  };
  const Bench& settings_of = settings->benches[b];
  if (settings_of.moves == Moves::never)
    return refused(
        "does-not-move",
        fmt::format(
            "bench {} stays {} by its settings; set `moves: declared` or `moves: watched` first",
            settings_of.name, plainwater::name_of(settings_of.place)));
  if (!request.to || *request.to == Position::unknown)
    return refused("to-missing", "say where the bench was carried, as `to`: outdoors or indoors");
  const Instant moved = request.from.value_or(now);
  if (moved > now + kFutureTolerance)
    return refused("in-the-future",
                   "a move is told when it has been made; give an earlier time, or none");
  if (moved < now - kLongestAgo)
    return refused("too-long-ago", "a move of more than 14 days ago changes nothing any more");
  BenchState& bench = benches[b];
  feeding::Reply held;
  if (request
          .hold) {  // first, since a hold that is refused must not leave half of the request done
    feeding::Request hold = request;
    hold.kind = feeding::RequestKind::hold;
    hold.from.reset();
    held = bench.feeding.take_request(hold, now, bench.season, out.decisions);
    if (!held.done) return held;
  }
  const auto change = bench.season.position.declare(*request.to, moved, now);
  feeding::Evidence evidence;
  evidence.text("who", request.who).text("request", request.id);
  if (!request.note.empty()) evidence.text("note", request.note);
  if (change) {
    evidence.text("last_known", plainwater::name_of(change->from));
    take_place(b, *change, std::move(evidence), request.who, out);
  }
  const std::string stands =
      fmt::format("The bench {} {} {}", change ? "stands" : "stood",
                  plainwater::name_of(*request.to), change ? "now" : "already");
  if (request.hold) return {true, "", fmt::format("{}. {}", stands, held.text)};
  const auto hold = bench.feeding.hold();
  if (!change || !hold) return {true, "", stands + "."};
  return {true, "", fmt::format("{}. {}", stands, bench.feeding.because(now))};
}

}  // namespace plainwater::engine
