// The grower's word about one bench.
#include <fmt/format.h>

#include <algorithm>

#include "feeding/bench_feeding.h"
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

}  // namespace

Reply BenchFeeding::hold_requested(const Request& request, Instant t, Decisions& out) {
  const Instant from = request.from.value_or(t);
  const Instant until = request.until.value_or(std::max(from, t) + kUsualHold);
  if (until <= t || until <= from)
    return refused("until-in-the-past",
                   fmt::format("the hold would end on {}, before it begins; give a later `until`",
                               format_rfc3339(until)));
  if (from > t + kLongestAhead || until > t + 2 * kLongestAhead)
    return refused(
        "too-far-ahead",
        "a hold can be announced for the coming year and last another; give earlier dates");
  if (from > t) {
    announced_.push_back({from, until, request.who, request.note});
    std::stable_sort(announced_.begin(), announced_.end(),
                     [](const Announced& a, const Announced& b) { return a.from < b.from; });
    Decision& d = tell(out, t, DecisionKind::notice, Cause::announced);
    sign(d, request);
    d.evidence.time("from", from).time("until", until);
    d.text = fmt::format("Plain water is announced from {} until {}, by {}.", day(from), day(until),
                         request.who);
    return done(d.text);
  }
  Decision& d = place_or_extend(HoldEvent::of_grower(t, until, Cause::grower), t, out);
  sign(d, request);
  d.evidence.time("until", until);
  d.text = fmt::format("Plain water only until {}, as {} asked.", day(hold_->planned_end(drops())),
                       request.who);
  return done(d.text);
}

Reply BenchFeeding::release_requested(const Request& request, Instant t,
                                      season::BenchSeason& season, Decisions& out) {
  if (!hold_) return refused("nothing-to-release", "no hold is in force on this bench");
  Decision& d = tell(out, t, DecisionKind::hold_ended, Cause::grower);
  sign(d, request);
  d.evidence.number("plain_water_days", days_of(t - hold_->placed), 1);
  pending_move_.reset();  // the grower knows of the move too
  moves_released_ = t;
  end_hold(t, season);
  if (request.full) season_.growth_started(t, true);
  const Share after = effective(t);
  if (after.cause == Cause::chill)
    d.text = fmt::format("{} released the hold; the chill's plain water goes on until {}.",
                         request.who, day(chill_until_));
  else if (after.feeding == Feeding::plain_water)
    d.text = fmt::format("{} released the hold, but plain water goes on: {}.", request.who,
                         words::reason(after.cause));
  else
    d.text = fmt::format("{} released the hold: {} feed from now on.", request.who,
                         request.full ? "full" : "reduced");
  return done(d.text);
}

Reply BenchFeeding::extend_requested(const Request& request, Instant t, Decisions& out) {
  if (!hold_)
    return refused("nothing-to-extend",
                   "no hold is in force on this bench; ask for `hold` instead");
  if (!request.until) return refused("until-missing", "say until when, as `until`");
  if (*request.until <= hold_->planned_end(drops()))
    return refused("already-longer", fmt::format("the hold lasts until {} already",
                                                 day(hold_->planned_end(drops()))));
  if (*request.until > t + 2 * kLongestAhead)
    return refused("too-far-ahead", "a hold cannot be extended by more than two years");
  hold_->events.push_back(HoldEvent::of_grower(t, *request.until, Cause::grower));
  Decision& d = tell(out, t, DecisionKind::hold_extended, Cause::grower);
  sign(d, request);
  d.evidence.time("until", *request.until);
  d.text = fmt::format("{} extended the plain water until {}.", request.who, day(*request.until));
  return done(d.text);
}

Reply BenchFeeding::exempt_requested(const Request& request, Instant t, season::BenchSeason& season,
                                     Decisions& out) {
  if (!request.until) return refused("until-missing", "say until when, as `until`");
  if (*request.until <= t)
    return refused("until-in-the-past",
                   "the exemption would end before it begins; give a later `until`");
  if (*request.until > t + kLongestAhead)
    return refused("too-far-ahead",
                   "a bench can be exempt for a year at most; a bench that is never held says "
                   "`exempt: true` in settings");
  exempt_until_ = *request.until;
  const bool released = hold_ && hold_->only_detected();
  if (released) {
    tell(out, t, DecisionKind::hold_ended, Cause::exempt).text =
        fmt::format("The hold ends because {} exempted the bench.", request.who);
    end_hold(t, season);
  }
  Decision& d = tell(out, t, DecisionKind::notice, Cause::exempt);
  sign(d, request);
  d.evidence.time("until", exempt_until_);
  d.text = fmt::format("No detected hold until {}, as {} asked; a chill still stops the feed.",
                       day(exempt_until_), request.who);
  return done(d.text);
}

Reply BenchFeeding::growth_requested(const Request& request, Instant t, Decisions& out) {
  if (hold_)
    return refused("hold-in-force", "a hold is in force; release it first if growth has started");
  season_.growth_started(t, false);
  season_.proceed(t, rules());
  questions_.erase(name_of(Cause::cool_nights));
  Decision& d = tell(out, t, DecisionKind::notice, Cause::growth_started);
  sign(d, request);
  d.text = fmt::format("{} saw growth start: feed rises to full, by at most {} points a week.",
                       request.who, rules().ramp_percent_per_week);
  return done(d.text);
}

Reply BenchFeeding::acknowledge_requested(const Request& request, Instant t, Decisions& out) {
  if (questions_.empty())
    return refused("nothing-to-acknowledge", "no question is open on this bench");
  Decision& d = tell(out, t, DecisionKind::notice, Cause::grower);
  sign(d, request);
  d.evidence.count("questions", static_cast<std::int64_t>(questions_.size()));
  d.text = fmt::format("{} has seen what was asked.", request.who);
  questions_.clear();
  return done(d.text);
}

Reply BenchFeeding::take_request(const Request& request, Instant t, season::BenchSeason& season,
                                 Decisions& out) {
  const std::size_t first = out.size();
  Reply reply;
  switch (request.kind) {
    case RequestKind::hold: reply = hold_requested(request, t, out); break;
    case RequestKind::release: reply = release_requested(request, t, season, out); break;
    case RequestKind::extend: reply = extend_requested(request, t, out); break;
    case RequestKind::exempt: reply = exempt_requested(request, t, season, out); break;
    case RequestKind::growth_started: reply = growth_requested(request, t, out); break;
    case RequestKind::acknowledge: reply = acknowledge_requested(request, t, out); break;
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
  finish(t, first, out);
  return reply;
}

}  // namespace plainwater::feeding
