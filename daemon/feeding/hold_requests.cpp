#include "feeding/hold_requests.h"

#include <algorithm>

#include "feeding/phrases.h"
#include "feeding/replies.h"

namespace plainwater::feeding {
namespace {

constexpr Span kUsualHold = 28 * kDay;
constexpr Span kLongestAhead = 366 * kDay;

using words::name;
using words::say;

Reply announce(const Request& request, Instant from, Instant until, Announcements& announced,
               BenchMoment& m) {
  if (announced.full())
    return refused("too-many-announced", say("request.too-many-announced",
                                             {{"most", words::count(Announcements::kMost)}}));
  announced.add({from, until, request.who, request.note, request.id});
  Decision& d = m.tell(DecisionKind::notice, Cause::announced);
  sign(d, request);
  d.evidence.time("from", from).time("until", until);
  d.said = say("request.hold-announced",
               {{"from", m.day(from)}, {"until", m.day(until)}, {"who", name(request.who)}});
  return done(d.said);
}

Reply place(const Request& request, Instant until, BenchMoment& m) {
  Decision* d =
      m.take_asked(HoldEvent::of_grower(m.t(), until, Cause::grower, request.who, request.id));
  if (d == nullptr)
    return refused("too-many-holds",
                   say("request.too-many-holds",
                       {{"most", words::count(Hold::kMostAsked)}, {"end", m.hold_end()}}));
  sign(*d, request);
  d->evidence.time("until", until);
  d->said = d->kind == DecisionKind::notice
                ? say("request.hold-kept",
                      {{"end", m.hold_end()}, {"day", m.day(until)}, {"who", name(request.who)}})
                : say("request.hold-placed", {{"day", m.day(until)}, {"who", name(request.who)}});
  return done(d->said);
}

/// A hold from now on, or one to come.
Reply place_or_announce(const Request& request, Announcements& announced, BenchMoment& m) {
  const Instant t = m.t();
  const Instant from = request.from.value_or(t);
  const Instant usual = std::max(from, t) + kUsualHold;
  Instant until = request.until.value_or(usual);
  // A clock that is not believed cannot prove an end wrong; take the usual length instead.
  const bool backwards = request.from && until <= from;
  if (!m.allowance.releasing && !backwards && (until <= t || until > t + 2 * kLongestAhead))
    until = usual;
  if (until <= t || until <= from)
    return refused("until-in-the-past",
                   say("request.hold-ends-too-early",
                       {{"until", words::day_or_hour(m.local(until), m.local(t))}}));
  if (from > t + kLongestAhead || until > t + 2 * kLongestAhead)
    return refused("too-far-ahead", say("request.hold-too-far-ahead"));
  return from > t ? announce(request, from, until, announced, m) : place(request, until, m);
}

Reply no_such_hold() { return refused("no-such-hold", say("request.no-such-hold")); }

/// What the bench gets although no hold is in force.
words::Sentence in_force(const BenchMoment& m) {
  const Share now = m.share();
  if (now.cause == Cause::chill)
    return say("request.in-force-chill", {{"day", m.day(m.allowance.chill.until())},
                                          {"command", name(name_of(RequestKind::end_chill))}});
  const words::Value why = phrases::reason(now.cause, m.allowance.season);
  if (now.feeding == Feeding::plain_water) return say("request.in-force-plain", {{"why", why}});
  return say("request.in-force-feed", {{"percent", words::count(now.percent)}, {"why", why}});
}

/// Ends what lasts longest and says what goes on without it, and how to end that too. A hold that a
/// person asked for, or that was detected on its own, must not be lost because another one ends.
Reply release_longest(const Request& request, MoveJudge& moves, BenchMoment& m) {
  const words::Value end = m.hold_end();
  if (!m.hold()->asked_leads(m.drops())) moves.hold_released(m.t());
  m.end_longest();
  Decision& d = m.tell(DecisionKind::notice, Cause::grower);
  sign(d, request);
  d.said = say("request.released-one", {{"who", name(request.who)}, {"end", end}}) +
           (m.hold()->asked_leads(m.drops()) ? phrases::asked_goes_on(*m.hold(), m)
                                             : phrases::holding(m.local_hold(), {}, m.local(m.t()),
                                                                m.drops(), m.settings().moves)) +
           say("request.release-again", {{"release", name("release")}});
  return done(d.said);
}

/// Ends the hold with all that is in it.
Reply release_whole(const Request& request, MoveJudge& moves, BenchMoment& m) {
  Decision& d = m.tell(DecisionKind::hold_ended, Cause::grower);
  sign(d, request);
  if (!request.hold_id.empty()) d.evidence.text("hold", request.hold_id);
  d.evidence.number("plain_water_days", days_of(m.t() - m.hold()->placed), 1);
  moves.hold_released(m.t());
  m.end_hold();
  if (request.full) m.allowance.season.growth_started(m.t(), true);
  const Share after = m.share();
  if (after.cause == Cause::chill)
    d.said = say("request.released-chill",
                 {{"who", name(request.who)}, {"day", m.day(m.allowance.chill.until())}});
  else if (after.feeding == Feeding::plain_water)
    d.said = say(
        "request.released-plain-water",
        {{"who", name(request.who)}, {"why", phrases::reason(after.cause, m.allowance.season)}});
  else
    d.said = request.full ? say("request.released-full", {{"who", name(request.who)}})
                          : say("request.released-reduced", {{"who", name(request.who)}});
  return done(d.said);
}

/// Ends what one request asked for, and nothing else. What was placed just before was never meant,
/// and the bench is fed as if it had never been.
Reply release_one(const Request& request, MoveJudge& moves, BenchMoment& m) {
  auto rest = m.hold()->without(request.hold_id, m.drops());
  if (!rest)
    return refused("no-such-hold", say("request.nothing-of-that",
                                       {{"release", name(name_of(RequestKind::release))}}));
  if (rest->planned_end(m.drops()) > m.t()) {
    m.holds().current() = std::move(*rest);
    Decision& d = m.tell(DecisionKind::notice, Cause::grower);
    sign(d, request);
    d.evidence.text("hold", request.hold_id);
    d.said = say("request.taken-back", {{"who", name(request.who)}, {"end", m.hold_end()}});
    return done(d.said);
  }
  if (request.full || !rest->events.empty() || m.hold()->placed < m.t() - kJustPlaced)
    return release_whole(request, moves, m);
  m.tell(DecisionKind::hold_ended, Cause::grower);
  m.undo_hold();
  m.allowance.proceed(m.t(), m.rules());
  Decision& d = m.told().back();
  sign(d, request);
  d.evidence.text("hold", request.hold_id);
  const Share after = m.share();
  d.said = after.feeding == Feeding::plain_water
               ? say("request.undone-plain-water",
                     {{"who", name(request.who)},
                      {"why", phrases::reason(after.cause, m.allowance.season)}})
               : say("request.undone",
                     {{"who", name(request.who)}, {"percent", words::count(after.percent)}});
  return done(d.said);
}

}  // namespace

Reply hold_requested(const Request& request, Announcements& announced, BenchMoment& m) {
  if (request.instead.empty()) return place_or_announce(request, announced, m);
  // Nobody can tell whether plain water would begin later by it.
  if (!m.allowance.releasing) return clock_unsettled();
  const Announcements before = announced;
  const auto replaced = announced.take(request.instead);
  if (!replaced) return no_such_hold();
  Reply reply = place_or_announce(request, announced, m);
  if (!reply.done) {
    announced = before;
    return reply;
  }
  Decision& d = m.told().back();
  d.evidence.text("instead", replaced->id);
  d.said += say("request.hold-instead",
                {{"from", m.day(replaced->from)}, {"until", m.day(replaced->until)}});
  reply.said = d.said;
  return reply;
}

Reply release_requested(const Request& request, MoveJudge& moves, BenchMoment& m) {
  if (!m.hold())
    return refused("nothing-to-release",
                   say("request.nothing-to-release", {{"instead", in_force(m)}}));
  if (!request.hold_id.empty()) return release_one(request, moves, m);
  if (m.hold()->without_longest(m.drops()).planned_end(m.drops()) > m.t())
    return release_longest(request, moves, m);
  return release_whole(request, moves, m);
}

Reply extend_requested(const Request& request, BenchMoment& m) {
  if (!m.hold())
    return refused("nothing-to-extend", say("request.nothing-to-extend", {{"hold", name("hold")}}));
  if (!request.until) return until_missing();
  const Instant planned = m.hold()->planned_end(m.drops());
  if (*request.until <= planned)
    return refused("already-longer", say("request.extend-already-longer", {{"end", m.hold_end()}}));
  Instant until = *request.until;
  if (until > m.t() + 2 * kLongestAhead) {
    if (m.allowance.releasing) return refused("too-far-ahead", say("request.extend-too-far-ahead"));
    until = planned + kUsualHold;  // believe the wish if not the clock
  }
  m.holds().current().extend(until, request.who, request.id, m.t(), m.drops());
  Decision& d = m.tell(DecisionKind::hold_extended, Cause::grower);
  sign(d, request);
  d.evidence.time("until", until);
  d.said = say("request.extended", {{"who", name(request.who)}, {"day", m.day(until)}});
  return done(d.said);
}

Reply withdraw_requested(const Request& request, Announcements& announced, BenchMoment& m) {
  const auto withdrawn = announced.take(request.hold_id);
  if (!withdrawn)
    return m.hold()
               ? refused("no-such-hold", say("request.begun-already",
                                             {{"release", name(name_of(RequestKind::release))}}))
               : no_such_hold();
  Decision& d = m.tell(DecisionKind::notice, Cause::announced);
  sign(d, request);
  d.evidence.text("hold", withdrawn->id)
      .time("from", withdrawn->from)
      .time("until", withdrawn->until);
  d.said = say("request.withdrawn", {{"from", m.day(withdrawn->from)},
                                     {"until", m.day(withdrawn->until)},
                                     {"who", name(request.who)}});
  return done(d.said);
}

}  // namespace plainwater::feeding
