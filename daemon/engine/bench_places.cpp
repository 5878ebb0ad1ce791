#include "engine/bench_places.h"

#include <algorithm>
#include <cmath>

#include "engine/live_air.h"
#include "engine/position_phrases.h"

namespace plainwater::engine {

using season::PlaceChange;
using season::Sighting;

namespace {

constexpr Span kLongestAgo = 14 * kDay;

/// The air no longer says clearly where the bench is, or says again that it is where it was. On
/// mild days that comes and goes: `position` shows it, the ledger has the moves.
bool is_doubt_or_its_end(const PlaceChange& change) {
  return change.told == season::Told::by_air && change.from != Position::unknown && !change.moved();
}

void take_place(std::size_t b, const PlaceChange& change, feeding::Evidence evidence,
                const words::Sentence& says, const Turn& turn) {
  const Settings& settings = turn.settings;
  feeding::Decisions& told = turn.out.decisions;
  BenchState& bench = turn.benches[b];
  const Instant since = change.since == kNever ? change.time : change.since;
  const season::Pattern was = bench.season.moves.pattern();
  const season::Carried carried = change.moved()
                                      ? bench.season.moves.take(change.to, since, settings.moves)
                                      : season::Carried::again;
  // A stay begins when the bench was carried, not when that was noticed.
  bench.stays.stand(change.moved() ? since : change.time, change.to);

  feeding::Decision d;
  d.time = change.time;
  d.bench = settings.benches[b].name;
  d.kind = feeding::DecisionKind::position_changed;
  d.position = change.to;
  d.pattern = bench.season.moves.pattern();
  d.passing = was == season::Pattern::shuttling || is_doubt_or_its_end(change);
  if (change.moved()) bench.week.note_carried();
  if (change.moved())
    d.cause = d.pattern != was ? feeding::Cause::shuttling : feeding::cause_of(change.to);
  if (change.since != kNever) d.since = change.since;
  d.evidence = std::move(evidence);
  d.said = place_changed(change, settings.site.local(since), settings.site.local(change.time),
                         d.pattern, says);
  const std::size_t at = told.size();
  told.push_back(std::move(d));
  if (change.moved())
    bench.feeding.take_move(carried, change.to, since, change.time, bench.season, told);
  const auto share = bench.feeding.effective(change.time);
  told[at].feeding = share.feeding;
  told[at].strength_percent = share.percent;
}

}  // namespace

bool watches_moves(const Settings& settings, const Bench& bench) {
  return settings.moves.watch && bench.moves == Moves::watched;
}

Position place_of(const Bench& bench, const BenchState& state) {
  return bench.moves == Moves::never ? bench.place : state.season.position.position();
}

void place_told_benches(const Settings& settings, Benches& benches, Instant now) {
  for (std::size_t b = 0; b < benches.size(); ++b) {
    BenchState& state = benches[b];
    season::PositionWatch& watch = state.season.position;
    const Bench& bench = settings.benches[b];
    if (bench.moves ==
        Moves::never) {  // what was inferred under old settings must not return with them
      watch = {};
      state.season.moves = {};
    }
    if (!bench.contact) watch.forget_contact();
    const bool told_only = bench.moves != Moves::never && !watches_moves(settings, bench);
    if (told_only &&
        (watch.last_known() == Position::unknown || watch.told() == season::Told::by_settings))
      watch.assume(bench.place, now);
    if (state.stays.empty()) state.stays.stand(now, place_of(bench, state));
  }
}

void take_look(const Look& look, const Looks& looks, const Sensors& sensors, const Turn& turn) {
  const Settings& settings = turn.settings;
  const Bench& bench = settings.benches[look.bench];
  season::PositionWatch& watch = turn.benches[look.bench].season.position;
  if (look.word != Position::unknown) {
    // The settings may have changed while the look waited.
    if (!bench.contact || bench.moves == Moves::never || looks.bounced(look)) return;
    const auto change = watch.contact(look.word, look.time, turn.now);
    if (!change) return;
    const std::string& contact = settings.sensors[index(*bench.contact)].name;
    feeding::Evidence evidence;
    evidence.text("contact", contact).text("last_known", plainwater::name_of(change->from));
    take_place(look.bench, *change, std::move(evidence),
               words::say("place.by-contact", {{"sensor", words::name(contact)}}), turn);
    return;
  }
  if (!watches_moves(settings, bench) || look.time <= watch.filter().last_look()) return;
  const Sighting sighting = sight(bench, sensors, look.time, settings);
  if (std::isnan(sighting.bench_c)) return;
  if (const auto change = watch.look(sighting, turn.now, settings.moves))
    take_place(look.bench, *change, look_evidence(*change, sighting, watch.filter()), {}, turn);
}

void close_place(std::size_t b, const climate::BenchNight& air, const RunningCycle& cycle,
                 Instant t, const Turn& turn) {
  const Settings& settings = turn.settings;
  const Bench& about = settings.benches[b];
  BenchState& bench = turn.benches[b];
  if (about.moves == Moves::never) return;
  const double least = settings.watch.night_coverage;
  const bool ended = bench.season.moves.close(
      {cycle.from(), cycle.sunset(), cycle.sunrise(),
       air.day.coverage >= least ? air.day.mean : climate::kUnknown,
       air.temperature.coverage >= least && !air.suspect ? air.temperature.mean
                                                         : climate::kUnknown},
      place_of(about, bench) != Position::unknown, settings.moves);
  if (ended) {
    feeding::Decision d;
    d.time = t;
    d.bench = about.name;
    d.kind = feeding::DecisionKind::position_changed;
    d.cause = feeding::Cause::shuttling;
    d.position = place_of(about, bench);
    d.since = bench.season.moves.last_move();
    const auto share = bench.feeding.effective(t);
    d.feeding = share.feeding;
    d.strength_percent = share.percent;
    d.evidence.time("last_move", bench.season.moves.last_move())
        .count("settled_days", settings.moves.settled_days);
    d.said = words::say("place.at-rest", {{"days", words::count(settings.moves.settled_days)}});
    turn.tell(std::move(d));
    bench.feeding.shuttling_ended(bench.season);
  }
  if (const auto week =
          bench.week.close(t, bench.season.moves.pattern() == season::Pattern::shuttling)) {
    feeding::Evidence evidence;
    evidence.count("days", week->days).count("times", week->times);
    turn.notice(t, b, feeding::Cause::shuttling, std::move(evidence),
                words::say("place.week", {{"days", words::count(week->days)}}));
  }
  if (!watches_moves(settings, about)) return;
  if (const auto change = bench.season.position.unseen(t, settings.moves)) {
    feeding::Evidence evidence;
    evidence.number("probability", change->probability, 4)
        .text("last_known", plainwater::name_of(change->from));
    if (bench.season.position.filter().last_look() != kNever)
      evidence.time("last_reading", bench.season.position.filter().last_look());
    take_place(b, *change, std::move(evidence), {}, turn);
  }
}

Position take_night_place(const Bench& bench, BenchState& state, const RunningCycle& cycle) {
  if (bench.moves == Moves::never) return bench.place;
  return state.stays.take_night(cycle.sunset(), cycle.sunrise());
}

feeding::Reply take_move_request(const feeding::Request& request, std::size_t b, const Turn& turn) {
  const Instant now = turn.now;
  const auto refused = [](const char* problem, words::Sentence why) {
    return feeding::Reply{false, problem, std::move(why)};
  };
  const Bench& settings_of = turn.settings.benches[b];
  if (settings_of.moves == Moves::never)
    return refused("does-not-move", words::say("request.does-not-move",
                                               {{"bench", words::name(settings_of.name)},
                                                {"place", in_words(settings_of.place)},
                                                {"declared", words::name("moves: declared")},
                                                {"watched", words::name("moves: watched")}}));
  if (!request.to || *request.to == Position::unknown)
    return refused("to-missing", words::say("request.to-missing", {{"field", words::name("to")}}));
  const Instant moved = request.from.value_or(now);
  if (moved > now + kFutureTolerance)
    return refused("in-the-future", words::say("request.move-in-the-future"));
  if (moved < now - kLongestAgo)
    return refused("too-long-ago", words::say("request.move-too-long-ago"));
  BenchState& bench = turn.benches[b];
  const auto& stands = bench.season.position;
  // A note from before the last move must not bring feed back.
  if (stands.is_overtaken(*request.to, moved))
    return refused("carried-since", words::say("request.carried-since",
                                               {{"moment", words::moment(stands.last_word())}}));
  feeding::Reply held;
  if (request.hold) {  // first: if the hold is refused, none of the request is done
    feeding::Request hold = request;
    hold.kind = feeding::RequestKind::hold;
    hold.from.reset();
    held = bench.feeding.take_request(hold, now, bench.season, turn.out.decisions);
    if (!held.done) return held;
  }
  const auto change = bench.season.position.declare(*request.to, moved, now);
  feeding::Evidence evidence;
  evidence.text("who", request.who).text("request", request.id);
  if (!request.note.empty()) evidence.text("note", request.note);
  if (change) {
    evidence.text("last_known", plainwater::name_of(change->from));
    take_place(b, *change, std::move(evidence),
               words::say("place.by-person", {{"who", words::name(request.who)}}), turn);
  }
  words::Sentence said =
      change ? words::say("request.stands-now", {{"place", in_words(*request.to)}})
             : words::say("request.stood-already", {{"place", in_words(*request.to)}});
  if (request.hold)
    said += held.said;
  else if (change && bench.feeding.hold())
    said += bench.feeding.because(now, bench.season.moves);
  return {true, "", std::move(said)};
}

}  // namespace plainwater::engine
