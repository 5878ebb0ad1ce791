#include "feeding/bench_requests.h"

#include <algorithm>

#include "feeding/phrases.h"

namespace plainwater::feeding {
namespace {

constexpr Span kUsualHold = 28 * kDay;
constexpr Span kLongestAhead = 366 * kDay;
constexpr Span kLongestPassed = 7 * kDay;  // of letting cold air pass; a chill lasts three days

using words::name;
using words::say;

Reply refused(std::string_view problem, words::Sentence why) {
  return {false, std::string(problem), std::move(why)};
}
Reply done(words::Sentence what) { return {true, "", std::move(what)}; }

Reply until_missing() {
  return refused("until-missing", say("request.until-missing", {{"field", name("until")}}));
}

void sign(Decision& d, const Request& request) {
  d.evidence.text("who", request.who).text("request", request.id);
  if (!request.note.empty()) d.evidence.text("note", request.note);
}

Reply hold_requested(const Request& request, Announcements& announced, BenchMoment& m) {
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
                       {{"until", words::moment(until)}, {"field", name("until")}}));
  if (from > t + kLongestAhead || until > t + 2 * kLongestAhead)
    return refused("too-far-ahead", say("request.hold-too-far-ahead"));
  if (from > t) {
    if (announced.full())
      return refused("too-many-announced", say("request.too-many-announced",
                                               {{"most", words::count(Announcements::kMost)}}));
    announced.add({from, until, request.who, request.note});
    Decision& d = m.tell(DecisionKind::notice, Cause::announced);
    sign(d, request);
    d.evidence.time("from", from).time("until", until);
    d.said = say("request.hold-announced",
                 {{"from", m.day(from)}, {"until", m.day(until)}, {"who", name(request.who)}});
    return done(d.said);
  }
  Decision* d = m.take_asked(HoldEvent::of_grower(t, until, Cause::grower, request.who));
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

Reply release_requested(const Request& request, MoveJudge& moves, BenchMoment& m) {
  if (!m.hold())
    return refused("nothing-to-release",
                   say("request.nothing-to-release", {{"instead", in_force(m)}}));
  if (m.hold()->without_longest(m.drops()).planned_end(m.drops()) > m.t())
    return release_longest(request, moves, m);
  Decision& d = m.tell(DecisionKind::hold_ended, Cause::grower);
  sign(d, request);
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
  m.holds().current().extend(until, request.who, m.t(), m.drops());
  Decision& d = m.tell(DecisionKind::hold_extended, Cause::grower);
  sign(d, request);
  d.evidence.time("until", until);
  d.said = say("request.extended", {{"who", name(request.who)}, {"day", m.day(until)}});
  return done(d.said);
}

Reply exempt_requested(const Request& request, MoveJudge& moves, BenchMoment& m) {
  if (!request.until) return until_missing();
  const Instant until = *request.until;
  if (until <= m.t())
    return refused("until-in-the-past",
                   say("request.exempt-too-early", {{"field", name("until")}}));
  if (until > m.t() + kLongestAhead)
    return refused("too-far-ahead",
                   say("request.exempt-too-far-ahead", {{"setting", name("exempt: true")}}));
  m.limits.exempt_until(until);
  const bool detected = m.hold() && m.hold()->has_detected();
  const bool asked_goes_on = detected && m.hold()->asked_until() > m.t();
  if (asked_goes_on) {
    m.end_detected();
    moves.hold_ended();
  } else if (detected) {
    m.tell(DecisionKind::hold_ended, Cause::exempt).said =
        say("request.exempt-ends-hold", {{"who", name(request.who)}});
    m.end_hold();
    moves.hold_ended();
  }
  Decision& d = m.tell(DecisionKind::notice, Cause::exempt);
  sign(d, request);
  d.evidence.time("until", until);
  d.said = say("request.exempt", {{"day", m.day(until)}, {"who", name(request.who)}});
  if (asked_goes_on) d.said += phrases::asked_goes_on(*m.hold(), m);
  return done(d.said);
}

Reply end_chill_requested(const Request& request, BenchMoment& m) {
  Chill& chill = m.allowance.chill;
  if (!m.allowance.chill.active()) return refused("no-chill", say("request.no-chill"));
  if (!request.until) return until_missing();
  const Instant until = *request.until;
  if (until <= m.t())
    return refused("until-in-the-past",
                   say("request.end-chill-too-early", {{"field", name("until")}}));
  if (until > m.t() + kLongestPassed)
    return refused("too-far-ahead", say("request.end-chill-too-far-ahead"));
  const words::Value below = words::difference(Chill::passed_c(m.drops()), 0);
  if (chill_floor_c(m.bench()) - chill.cold_now_c() >= Chill::passed_c(m.drops()))
    return refused("too-cold",
                   say("request.end-chill-too-cold",
                       {{"air", words::degrees(chill.cold_now_c())}, {"below", below}}));
  const Share before = m.share();
  m.allowance.end_chill(m.t());
  chill.let_pass(until);
  // By now the season may ask for less.
  if (!m.hold()) m.allowance.proceed(m.t(), m.rules());
  const Share after = m.share();
  Decision& d = m.tell(after == before ? DecisionKind::notice : DecisionKind::feeding_changed,
                       after == before ? Cause::exempt : Cause::grower);
  sign(d, request);
  d.evidence.time("until", until);
  d.said = say("request.end-chill",
               {{"who", name(request.who)}, {"day", m.day(until)}, {"below", below}}) +
           phrases::feeding_changed(after.feeding, after.percent,
                                    phrases::reason(after.cause, m.allowance.season));
  return done(d.said);
}

Reply growth_requested(const Request& request, BenchMoment& m) {
  if (m.hold()) return refused("hold-in-force", say("request.growth-in-hold"));
  m.allowance.season.growth_started(m.t(), false);
  m.allowance.proceed(m.t(), m.rules());
  m.questions.settle(Cause::cool_nights);
  Decision& d = m.tell(DecisionKind::notice, Cause::growth_started);
  sign(d, request);
  d.said =
      say("request.growth-started",
          {{"who", name(request.who)}, {"points", words::count(m.rules().ramp_percent_per_week)}});
  if (const Share now = m.share(); now.feeding == Feeding::plain_water)
    d.said += say("feeding.plain-water-goes-on",
                  {{"why", phrases::reason(now.cause, m.allowance.season)}});
  return done(d.said);
}

Reply acknowledge_requested(const Request& request, BenchMoment& m) {
  if (m.questions.empty())
    return refused("nothing-to-acknowledge", say("request.nothing-to-acknowledge"));
  Decision& d = m.tell(DecisionKind::notice, Cause::grower);
  sign(d, request);
  d.evidence.count("questions", static_cast<std::int64_t>(m.questions.size()));
  d.said = say("request.acknowledged", {{"who", name(request.who)}});
  m.questions.acknowledge_all();
  return done(d.said);
}

}  // namespace

Reply answer_request(const Request& request, Announcements& announced, MoveJudge& moves,
                     BenchMoment& m) {
  switch (request.kind) {
    case RequestKind::hold: return hold_requested(request, announced, m);
    case RequestKind::release: return release_requested(request, moves, m);
    case RequestKind::extend: return extend_requested(request, m);
    case RequestKind::exempt: return exempt_requested(request, moves, m);
    case RequestKind::end_chill: return end_chill_requested(request, m);
    case RequestKind::growth_started: return growth_requested(request, m);
    case RequestKind::acknowledge: return acknowledge_requested(request, m);
    case RequestKind::arm:
    case RequestKind::disarm:
    case RequestKind::retire:
    case RequestKind::reload:
    case RequestKind::note:
    case RequestKind::withdraw:
    case RequestKind::absence:
    case RequestKind::back:
    case RequestKind::trust: return refused("not-a-bench-request", say("request.not-of-a-bench"));
    case RequestKind::watered:
    case RequestKind::runoff:
      return refused("not-a-feeding-request", say("request.not-of-feeding"));
    case RequestKind::move:
      return refused("not-a-feeding-request", say("request.not-of-feeding-move"));
  }
  return {};
}

void begin_announced(const Announced& due, BenchMoment& m) {
  Decision* taken = m.take_asked(HoldEvent::of_grower(m.t(), due.until, Cause::announced, due.who));
  // Not kept only beside as many as may be, each of which lasts longer.
  Decision& d = taken != nullptr ? *taken : m.tell(DecisionKind::notice, Cause::announced);
  d.evidence.text("who", due.who).time("until", due.until);
  if (!due.note.empty()) d.evidence.text("note", due.note);
  const words::Value until = m.day(due.until), who = name(due.who);
  d.said = d.kind == DecisionKind::notice
               ? say("hold.announced-kept", {{"end", m.hold_end()}, {"day", until}, {"who", who}})
               : say("hold.announced-begins", {{"day", until}, {"who", who}});
}

}  // namespace plainwater::feeding
