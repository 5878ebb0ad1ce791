#include "feeding/bench_requests.h"

#include <fmt/format.h>

#include <algorithm>

#include "feeding/words.h"

namespace plainwater::feeding {
namespace {

constexpr Span kUsualHold = 28 * kDay;
constexpr Span kLongestAhead = 366 * kDay;

Reply refused(std::string_view problem, std::string text) {
  return {false, std::string(problem), std::move(text)};
}
Reply done(std::string text) { return {true, "", std::move(text)}; }

void sign(Decision& d, const Request& request) {
  d.evidence.text("who", request.who).text("request", request.id);
  if (!request.note.empty()) d.evidence.text("note", request.note);
}

Reply hold_requested(const Request& request, Announcements& announced, BenchMoment& m) {
  const Instant t = m.t();
  const Instant from = request.from.value_or(t);
  const Instant usual = std::max(from, t) + kUsualHold;
  Instant until = request.until.value_or(usual);
  // A clock that is not believed says nothing against an end: then the usual time holds.
  const bool backwards = request.from && until <= from;
  if (!m.allowance.releasing && !backwards && (until <= t || until > t + 2 * kLongestAhead))
    until = usual;
  if (until <= t || until <= from)
    return refused("until-in-the-past",
                   fmt::format("the hold would end on {}, before it begins; give a later `until`",
                               format_rfc3339(until)));
  if (from > t + kLongestAhead || until > t + 2 * kLongestAhead)
    return refused(
        "too-far-ahead",
        "a hold can be announced for the coming year and last another; give earlier dates");
  if (from > t) {
    if (announced.full())
      return refused("too-many-announced",
                     fmt::format("{} holds are announced for this bench already, and no more are "
                                 "kept; wait until one has begun",
                                 Announcements::kMost));
    announced.add({from, until, request.who, request.note});
    Decision& d = m.tell(DecisionKind::notice, Cause::announced);
    sign(d, request);
    d.evidence.time("from", from).time("until", until);
    d.text = fmt::format("Plain water is announced from {} until {}, by {}.", m.day(from),
                         m.day(until), request.who);
    return done(d.text);
  }
  // Beside what was only detected a shorter one counts: it stands when that is withdrawn.
  if (m.hold() && until < m.hold()->asked_until())
    return refused("already-longer",
                   fmt::format("plain water is in force until {} already; {}",
                               m.day(m.hold()->planned_end(m.drops())),
                               m.hold()->has_detected()
                                   ? "`release` would also end what was detected, so better wait"
                                   : "for a shorter hold `release` it first"));
  Decision& d = m.place_or_extend(HoldEvent::of_grower(t, until, Cause::grower));
  sign(d, request);
  d.evidence.time("until", until);
  d.text = fmt::format("Plain water only until {}, as {} asked.",
                       m.day(m.hold()->planned_end(m.drops())), request.who);
  return done(d.text);
}

Reply release_requested(const Request& request, MoveJudge& moves, BenchMoment& m) {
  if (!m.hold()) return refused("nothing-to-release", "no hold is in force on this bench");
  Decision& d = m.tell(DecisionKind::hold_ended, Cause::grower);
  sign(d, request);
  d.evidence.number("plain_water_days", days_of(m.t() - m.hold()->placed), 1);
  moves.hold_released(m.t());
  m.end_hold();
  if (request.full) m.allowance.season.growth_started(m.t(), true);
  const Share after = m.share();
  if (after.cause == Cause::chill)
    d.text = fmt::format("{} released the hold; the chill's plain water goes on until {}.",
                         request.who, m.day(m.allowance.chill.until()));
  else if (after.feeding == Feeding::plain_water)
    d.text = fmt::format("{} released the hold, but plain water goes on: {}.", request.who,
                         words::reason(after.cause));
  else
    d.text = fmt::format("{} released the hold: {} feed from now on.", request.who,
                         request.full ? "full" : "reduced");
  return done(d.text);
}

Reply extend_requested(const Request& request, BenchMoment& m) {
  if (!m.hold())
    return refused("nothing-to-extend",
                   "no hold is in force on this bench; ask for `hold` instead");
  if (!request.until) return refused("until-missing", "say until when, as `until`");
  const Instant planned = m.hold()->planned_end(m.drops());
  if (*request.until <= planned)
    return refused("already-longer",
                   fmt::format("the hold lasts until {} already", m.day(planned)));
  Instant until = *request.until;
  if (until > m.t() + 2 * kLongestAhead) {
    if (m.allowance.releasing)
      return refused("too-far-ahead", "a hold cannot be extended by more than two years");
    until = planned + kUsualHold;  // the clock is not believed, the wish is
  }
  m.holds().events().push_back(HoldEvent::of_grower(m.t(), until, Cause::grower));
  Decision& d = m.tell(DecisionKind::hold_extended, Cause::grower);
  sign(d, request);
  d.evidence.time("until", until);
  d.text = fmt::format("{} extended plain water until {}.", request.who, m.day(until));
  return done(d.text);
}

Reply exempt_requested(const Request& request, MoveJudge& moves, BenchMoment& m) {
  if (!request.until) return refused("until-missing", "say until when, as `until`");
  const Instant until = *request.until;
  if (until <= m.t())
    return refused("until-in-the-past",
                   "the exemption would end before it begins; give a later `until`");
  if (until > m.t() + kLongestAhead)
    return refused("too-far-ahead",
                   "a bench can be exempt for a year at most; a bench that is never held says "
                   "`exempt: true` in settings");
  m.limits.exempt_until(until);
  if (m.hold() && m.hold()->only_detected()) {
    m.tell(DecisionKind::hold_ended, Cause::exempt).text =
        fmt::format("The hold ends because {} exempted the bench.", request.who);
    m.end_hold();
    moves.hold_ended();
  }
  Decision& d = m.tell(DecisionKind::notice, Cause::exempt);
  sign(d, request);
  d.evidence.time("until", until);
  d.text = fmt::format("No detected hold until {}, as {} asked; a chill still stops the feed.",
                       m.day(until), request.who);
  return done(d.text);
}

Reply growth_requested(const Request& request, BenchMoment& m) {
  if (m.hold())
    return refused("hold-in-force", "a hold is in force; release it first if growth has started");
  m.allowance.season.growth_started(m.t(), false);
  m.allowance.season.proceed(m.t(), m.rules());
  m.questions.settle(Cause::cool_nights);
  Decision& d = m.tell(DecisionKind::notice, Cause::growth_started);
  sign(d, request);
  d.text = fmt::format("{} saw growth start: feed rises to full, by at most {} points a week.",
                       request.who, m.rules().ramp_percent_per_week);
  return done(d.text);
}

Reply acknowledge_requested(const Request& request, BenchMoment& m) {
  if (m.questions.empty())
    return refused("nothing-to-acknowledge", "no question is open on this bench");
  Decision& d = m.tell(DecisionKind::notice, Cause::grower);
  sign(d, request);
  d.evidence.count("questions", static_cast<std::int64_t>(m.questions.size()));
  d.text = fmt::format("{} has seen the question.", request.who);
  m.questions.acknowledge_all();
  return done(d.text);
}

}  // namespace

Reply answer_request(const Request& request, Announcements& announced, MoveJudge& moves,
                     BenchMoment& m) {
  switch (request.kind) {
    case RequestKind::hold: return hold_requested(request, announced, m);
    case RequestKind::release: return release_requested(request, moves, m);
    case RequestKind::extend: return extend_requested(request, m);
    case RequestKind::exempt: return exempt_requested(request, moves, m);
    case RequestKind::growth_started: return growth_requested(request, m);
    case RequestKind::acknowledge: return acknowledge_requested(request, m);
    case RequestKind::arm:
    case RequestKind::disarm:
    case RequestKind::trust:
      return refused("not-a-bench-request", "arm, disarm and trust name a pump");
    case RequestKind::watered:
    case RequestKind::runoff:
      return refused("not-a-feeding-request", "what was watered goes into the bench's salts");
    case RequestKind::move:
      return refused("not-a-feeding-request", "a move is taken by the watch over positions");
  }
  return {};
}

void begin_announced(const Announced& due, BenchMoment& m) {
  Decision& d = m.place_or_extend(HoldEvent::of_grower(m.t(), due.until, Cause::announced));
  d.evidence.text("who", due.who).time("until", due.until);
  if (!due.note.empty()) d.evidence.text("note", due.note);
  d.text = words::announced(due.who, m.local(due.until));
}

}  // namespace plainwater::feeding
