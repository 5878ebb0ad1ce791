#include "feeding/bench_requests.h"

#include <algorithm>

#include "feeding/hold_requests.h"
#include "feeding/phrases.h"
#include "feeding/replies.h"

namespace plainwater::feeding {
namespace {

constexpr Span kLongestExempt = 366 * kDay;
constexpr Span kLongestPassed = 7 * kDay;  // of letting cold air pass; a chill lasts three days

using words::name;
using words::say;

Reply end_exemption(const Request& request, BenchMoment& m) {
  m.limits.end_exemption();
  Decision& d = m.tell(DecisionKind::notice, Cause::exempt);
  sign(d, request);
  d.said = say("request.exempt-over", {{"who", name(request.who)}});
  return done(d.said);
}

Reply exempt_requested(const Request& request, MoveJudge& moves, BenchMoment& m) {
  if (!request.until) return until_missing();
  const Instant until = *request.until;
  if (until <= m.t() && m.limits.exempt_until() > m.t()) return end_exemption(request, m);
  if (until <= m.t()) return refused("until-in-the-past", say("request.exempt-too-early"));
  if (until > m.t() + kLongestExempt)
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
  if (until <= m.t()) return refused("until-in-the-past", say("request.end-chill-too-early"));
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

Reply note_requested(const Request& request, BenchMoment& m) {
  if (request.note.empty())
    return refused("missing-field", say("request.note-missing", {{"field", name("note")}}));
  Decision& d = m.tell(DecisionKind::notice, Cause::grower);
  sign(d, request);
  d.said = noted(request);
  return done(d.said);
}

}  // namespace

Reply answer_request(const Request& request, Announcements& announced, MoveJudge& moves,
                     BenchMoment& m) {
  switch (request.kind) {
    case RequestKind::hold: return hold_requested(request, announced, m);
    case RequestKind::release: return release_requested(request, moves, m);
    case RequestKind::extend: return extend_requested(request, m);
    case RequestKind::withdraw: return withdraw_requested(request, announced, m);
    case RequestKind::exempt: return exempt_requested(request, moves, m);
    case RequestKind::end_chill: return end_chill_requested(request, m);
    case RequestKind::growth_started: return growth_requested(request, m);
    case RequestKind::acknowledge: return acknowledge_requested(request, m);
    case RequestKind::arm:
    case RequestKind::disarm:
    case RequestKind::retire:
    case RequestKind::reload:
    case RequestKind::absence:
    case RequestKind::back:
    case RequestKind::trust: return refused("not-a-bench-request", say("request.not-of-a-bench"));
    case RequestKind::watered:
    case RequestKind::runoff:
      return refused("not-a-feeding-request", say("request.not-of-feeding"));
    case RequestKind::note: return note_requested(request, m);
    case RequestKind::move:
      return refused("not-a-feeding-request", say("request.not-of-feeding-move"));
  }
  return {};
}

void begin_announced(const Announced& due, BenchMoment& m) {
  Decision* taken =
      m.take_asked(HoldEvent::of_grower(m.t(), due.until, Cause::announced, due.who, due.id));
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
