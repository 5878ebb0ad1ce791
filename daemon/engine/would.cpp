#include "engine/would.h"

#include <algorithm>
#include <cmath>

#include "engine/position_phrases.h"
#include "feeding/phrases.h"

namespace plainwater::engine {
namespace {

using feeding::Feeding;
using feeding::Request;
using feeding::RequestKind;
using words::name;
using words::say;
using words::Sentence;

/// What is compared, and how its dates are said.
struct Both {
  const Request& request;
  const Concerned& before;
  const Concerned& after;
  const Settings& settings;

  words::Value day(Instant t) const {
    return words::day_or_hour(settings.site.local(t), settings.site.local(after.now));
  }
};

bool same_share(const BenchNow& a, const BenchNow& b) {
  return a.feeding == b.feeding && a.strength_percent == b.strength_percent;
}

bool asked_for(feeding::Cause cause) {
  return cause == feeding::Cause::grower || cause == feeding::Cause::announced;
}

/// When plain water ends, if that can be told: "29 December", "about 29 December".
std::optional<words::Value> plain_until(const BenchNow& bench, const Both& both) {
  if (bench.chilled_until != kNever &&
      (!bench.hold || bench.hold->planned_end < bench.chilled_until))
    return both.day(bench.chilled_until);
  if (!bench.hold) return std::nullopt;
  const words::Value end = both.day(bench.hold->planned_end);
  return asked_for(bench.hold->cause) ? end : words::Value(say("would.about", {{"day", end}}));
}

Sentence feed(Feeding feeding, int percent) {
  if (feeding == Feeding::plain_water) return say("would.plain-water");
  return say("would.feed", {{"percent", words::count(percent)}});
}

/// The same with what a pump gives to a litre of water.
Sentence dose(const PumpNow& pump) {
  if (pump.feeding == Feeding::plain_water || !pump.dose || pump.dose->ml_per_litre <= 0)
    return feed(pump.feeding, pump.strength_percent);
  return say("would.dose", {{"percent", words::count(pump.strength_percent)},
                            {"ml", words::figures(pump.dose->ml_per_litre)}});
}

Sentence given(const BenchNow& bench, const Both& both) {
  if (bench.feeding == Feeding::plain_water)
    if (const auto until = plain_until(bench, both))
      return say("would.plain-water-until", {{"day", *until}});
  return feed(bench.feeding, bench.strength_percent);
}

Sentence all_of(const std::vector<std::string>& benches) {
  std::vector<Sentence> names;
  for (const std::string& bench : benches) names.push_back(words::as_it_is(bench));
  return words::joined(names, "would.and");
}

/// The feed of the bench, or the end of its hold.
Sentence bench_changes(const BenchNow& was, const BenchNow& is, const Both& both) {
  if (!same_share(was, is))
    return say("would.get", {{"bench", name(is.name)},
                             {"then", given(is, both)},
                             {"now", feed(was.feeding, was.strength_percent)}});
  if (!was.hold || !is.hold || was.hold->planned_end == is.hold->planned_end) return {};
  return say("would.end", {{"bench", name(is.name)},
                           {"then", *plain_until(is, both)},
                           {"now", *plain_until(was, both)}});
}

/// Others on its pump get what the most careful of them may have.
Sentence pump_changes(const Both& both) {
  const auto &was = both.before.pump, &is = both.after.pump;
  if (!was || !is || !was->armed || !is->armed || is->benches.size() < 2 ||
      (was->feeding == is->feeding && was->strength_percent == is->strength_percent))
    return {};
  return say("would.pump", {{"pump", name(is->name)},
                            {"benches", all_of(is->benches)},
                            {"then", dose(*is)},
                            {"now", dose(*was)}});
}

Sentence arming(const Both& both) {
  const auto &was = both.before.pump, &is = both.after.pump;
  if (!was || !is || was->armed == is->armed) return {};
  if (!is->armed) return say("would.disarm", {{"pump", name(is->name)}});
  return say("would.arm",
             {{"pump", name(is->name)}, {"benches", all_of(is->benches)}, {"gets", dose(*is)}});
}

Sentence trusting(const Both& both) {
  const auto &was = both.before.pump, &is = both.after.pump;
  if (!was || !is || was->trusted == is->trusted) return {};
  return is->armed ? say("would.trust-armed", {{"pump", name(is->name)}})
                   : say("would.trust", {{"pump", name(is->name)}});
}

const feeding::Announced* announced_as(const BenchNow& bench, std::string_view id) {
  const auto found = std::ranges::find(bench.announced, id, &feeding::Announced::id);
  return found == bench.announced.end() ? nullptr : &*found;
}

Sentence announcing(const BenchNow& was, const BenchNow& is, const Both& both) {
  const auto* comes = announced_as(is, both.request.id);
  const auto* went =
      announced_as(was, both.request.instead.empty() ? both.request.hold_id : both.request.instead);
  const bool came = comes != nullptr && announced_as(was, both.request.id) == nullptr;
  const bool left = went != nullptr && announced_as(is, went->id) == nullptr;
  const words::Value bench = name(is.name);
  if (came && left)
    return say("would.announce-instead", {{"bench", bench},
                                          {"from", both.day(comes->from)},
                                          {"until", both.day(comes->until)},
                                          {"former", both.day(went->from)},
                                          {"end", both.day(went->until)}});
  if (came)
    return say(
        "would.announce",
        {{"bench", bench}, {"from", both.day(comes->from)}, {"until", both.day(comes->until)}});
  if (left)
    return say(
        "would.withdraw",
        {{"bench", bench}, {"from", both.day(went->from)}, {"until", both.day(went->until)}});
  return {};
}

Sentence exempting(const BenchNow& was, const BenchNow& is, const Both& both) {
  const words::Value bench = name(is.name);
  Sentence said;
  if (is.exempt_until != was.exempt_until)
    said += is.exempt_until == kNever
                ? say("would.exempt-no-more", {{"bench", bench}})
                : say("would.exempt", {{"bench", bench}, {"day", both.day(is.exempt_until)}});
  if (is.cold_passes_until != was.cold_passes_until && is.cold_passes_until != kNever)
    said += say("would.let-pass", {{"bench", bench}, {"day", both.day(is.cold_passes_until)}});
  return said;
}

Sentence placing(const BenchNow& was, const BenchNow& is) {
  if (was.place.position == is.place.position) return {};
  return say("would.stand", {{"bench", name(is.name)},
                             {"to", engine::in_words(is.place.position)},
                             {"from", engine::in_words(was.place.position)}});
}

Sentence salts_change(const BenchNow& was, const BenchNow& is, const words::Value& bench) {
  if (std::isnan(is.salts_ec) || is.salts_ec == was.salts_ec) return {};
  return std::isnan(was.salts_ec)
             ? say("would.salts-known", {{"bench", bench}, {"then", words::number(is.salts_ec, 1)}})
             : say("would.salts", {{"bench", bench},
                                   {"then", words::number(is.salts_ec, 1)},
                                   {"now", words::number(was.salts_ec, 1)}});
}

constexpr double kVeryHighEc = 8;     ///< mS/cm: a figure in µS/cm, or of stock, is beyond it
constexpr double kVeryHighTimes = 4;  ///< of what the pots were thought to have

Sentence told_runoff(const BenchNow& was, const BenchNow& is, const Request& request,
                     const words::Value& bench) {
  Sentence said = salts_change(was, is, bench);
  const double ec = request.ec.value_or(0);
  if (ec > kVeryHighEc || (was.salts_ec > 0 && ec > kVeryHighTimes * was.salts_ec))
    said += say("would.very-high", {{"ec", words::figures(ec)}});
  return said;
}

Sentence told_watering(const BenchNow& was, const BenchNow& is, const Request& request,
                       const words::Value& bench) {
  Sentence said = salts_change(was, is, bench);
  if (said.empty()) said = say("would.watered", {{"bench", bench}});
  if (request.strength_percent.value_or(0) > 0 && was.feeding == Feeding::plain_water)
    said += say("would.fed-by-hand", {{"bench", bench}});
  return said;
}

/// Salts, questions, growth: what shows in neither feed nor hold.
Sentence recorded(const BenchNow& was, const BenchNow& is, const Both& both) {
  const words::Value bench = name(is.name);
  if (both.request.kind == RequestKind::runoff) return told_runoff(was, is, both.request, bench);
  if (both.request.kind == RequestKind::watered) return told_watering(was, is, both.request, bench);
  if (is.questions.size() < was.questions.size() && both.request.kind == RequestKind::acknowledge)
    return say("would.questions", {{"bench", bench},
                                   {"count", words::count(static_cast<std::int64_t>(
                                                 was.questions.size() - is.questions.size()))}});
  if (both.request.kind == RequestKind::growth_started)
    return say("would.grow", {{"bench", bench}});
  return {};
}

Sentence being_away(const Both& both) {
  const auto &was = both.before.absence, &is = both.after.absence;
  if (!is)
    return was ? say(was->in_force ? "would.back" : "would.back-announced",
                     {{"from", both.day(was->from)}, {"until", both.day(was->until)}})
               : Sentence();
  if (was && was->from == is->from && was->until == is->until && was->person == is->person)
    return {};
  return say(
      was ? "would.absence-instead" : "would.absence",
      {{"person", name(is->person)}, {"from", both.day(is->from)}, {"until", both.day(is->until)}});
}

Sentence of_bench(const Both& both) {
  const BenchNow *was = both.before.bench(), *is = both.after.bench();
  if (was == nullptr || is == nullptr) return {};
  Sentence said = placing(*was, *is) + announcing(*was, *is, both) + bench_changes(*was, *is, both);
  said += exempting(*was, *is, both);
  if (said.empty()) said = recorded(*was, *is, both);
  if (said.empty() && is->holds_asked > was->holds_asked && is->hold)
    said = say("would.keep", {{"bench", name(is->name)}, {"day", *plain_until(*is, both)}});
  return said;
}

}  // namespace

Sentence would_change_nothing(const feeding::Reply& refusal) {
  return say("would.nothing-because", {{"why", refusal.said}});
}

Sentence would_change(const Request& request, const feeding::Reply& reply, const Concerned& before,
                      const Concerned& after, const Settings& settings) {
  if (!reply.done) return would_change_nothing(reply);
  const Both both{request, before, after, settings};
  Sentence said =
      being_away(both) + of_bench(both) + arming(both) + trusting(both) + pump_changes(both);
  for (std::size_t i = 0; i < after.benches.size() && !request.pump.empty(); ++i)
    said += bench_changes(before.benches[i], after.benches[i], both);
  if (!said.empty()) return said;
  if (request.kind == RequestKind::note) return say("would.note");
  if (request.kind == RequestKind::retire)
    return say("would.retire", {{"bench", name(request.bench)}});
  return say("would.nothing");
}

}  // namespace plainwater::engine
