#include "feeding/phrases.h"

#include <cmath>

namespace plainwater::feeding::phrases {

using words::count;
using words::day;
using words::degrees;
using words::difference;
using words::name;
using words::number;
using words::say;

namespace {

/// Whether enough of the fall lasted to show in the sentence.
bool remains(const HoldEvent& event) { return event.lasting_c() >= 0.05; }

}  // namespace

Sentence reason(Cause cause) {
  switch (cause) {
    case Cause::after_hold: return say("reason.after-hold");
    case Cause::cool_nights: return say("reason.cool-nights");
    case Cause::dull_season: return say("reason.dull-season");
    case Cause::bright_season: return say("reason.bright-season");
    case Cause::growth_started: return say("reason.growth-started");
    case Cause::learning: return say("reason.learning");
    case Cause::not_heard: return say("reason.not-heard");
    case Cause::ramp: return say("reason.ramp");
    case Cause::blind: return say("reason.blind");
    case Cause::chill: return say("reason.chill");
    case Cause::sharp_drop: return say("reason.sharp-drop");
    case Cause::grower: return say("reason.grower");
    case Cause::announced: return say("reason.announced");
    case Cause::moved_outdoors: return say("reason.moved-outdoors");
    case Cause::moved_indoors: return say("reason.moved-indoors");
    case Cause::shuttling: return say("reason.shuttling");
    case Cause::after_move: return say("reason.after-move");
    case Cause::pump_untrusted: return say("reason.pump-untrusted");
    case Cause::clock: return say("reason.clock");
    default: return say("reason.as-before");
  }
}

Evidence drop_evidence(const season::Drop& drop) {
  Evidence e;
  e.number("nights_before_c", drop.base_c, 2)
      .number("week_before_c", drop.before_c, 2)
      .number("nights_now_c", drop.landing_c, 2);
  e.number("fall_c", drop.fall_c(), 2)
      .number("usual_spread_c", drop.noise_c, 2)
      .number("acclimated_c", drop.acclimated_c, 2)
      .number("deficit_c", drop.deficit_c, 2);
  return e;
}

Evidence proof_evidence(const HoldEvent& event, const DropRules& rules) {
  Evidence e;
  e.number("acclimated_c", event.acclimated_c, 2)
      .number("deficit_c", event.deficit_c, 2)
      .number("deepest_deficit_c", event.peak_c, 2);
  if (!event.nights_c.empty()) e.number("lasting_c", event.lasting_c(), 2);
  e.number("needed_c", event.needed_c(rules), 2)
      .count("nights", static_cast<std::int64_t>(event.nights_c.size()))
      .number("length_days", event.length_days(rules), 1);
  return e;
}

Sentence placed(const season::Drop& drop, const HoldView& hold, const DropRules& rules) {
  return say("hold.placed", {{"from", degrees(drop.base_c)}, {"to", degrees(drop.landing_c)}}) +
         say("hold.clear-by",
             {{"day", day(hold.placed + from_days(rules.decide_night), hold.placed)}});
}

Sentence extended(const season::Drop& drop, const words::Value& end) {
  return say("hold.extended",
             {{"from", degrees(drop.before_c)}, {"to", degrees(drop.landing_c)}, {"end", end}});
}

Sentence confirmed(const HoldEvent& event, const words::Value& end) {
  return say("hold.confirmed", {{"below", difference(event.lasting_c())}, {"end", end}});
}

Sentence recovered(const HoldEvent& event) {
  const words::Value fall = difference(event.base_c - event.landing_c);
  return remains(event)
             ? say("hold.recovered", {{"left", difference(event.lasting_c())}, {"fall", fall}})
             : say("hold.recovered-completely", {{"fall", fall}});
}

Sentence withdrawn(const HoldEvent& event, double days) {
  return recovered(event) + say("hold.withdrawn", {{"days", count(std::lround(days))}});
}

Sentence event_withdrawn(const HoldEvent& event, const std::optional<words::Value>& end) {
  const Sentence when = end ? say("hold.when-later", {{"end", *end}}) : say("hold.when-at-once");
  const words::Value fall = difference(event.base_c - event.landing_c);
  if (!remains(event)) return say("hold.later-recovered", {{"fall", fall}, {"when", when}});
  return say("hold.later-did-not-last", {{"left", difference(event.lasting_c())}, {"fall", fall}}) +
         say("hold.ends", {{"when", when}});
}

Sentence asked_goes_on(const Hold& hold, const Teller& to) {
  const HoldEvent& asked = *hold.asked();
  return say("hold.asked-goes-on",
             {{"who", asked.who.empty() ? words::Value(say("hold.somebody")) : name(asked.who)},
              {"day", to.day(asked.until)}});
}

Sentence ended(double days, int percent, bool capped) {
  if (capped)
    return say("hold.ended-longest", {{"days", number(days, 0)}, {"percent", count(percent)}});
  return say("hold.ended", {{"days", number(days, 0)}, {"percent", count(percent)}});
}

Sentence ended_in_plain_water(double days, const Sentence& why) {
  return say("hold.ended-in-plain-water", {{"days", number(days, 0)}, {"why", why}});
}

Sentence carried_and_back(Cause cause, Instant moved, Instant back, Instant now) {
  const words::Value there = carried(cause), day_there = day(moved, now),
                     home = cause == Cause::moved_outdoors ? say("back.indoors")
                                                           : say("back.outdoors");
  if (day(moved, now) == day(back, now))
    return say("carried.and-back-same-day",
               {{"carried", there}, {"day", day_there}, {"back", home}});
  return say(
      "carried.and-back",
      {{"carried", there}, {"day", day_there}, {"back", home}, {"returned", day(back, now)}});
}

Sentence holding(const HoldView& hold, const Sentence& since, Instant now, const DropRules& rules,
                 const MoveRules& moves) {
  const bool detected = hold.cause == Cause::sharp_drop || is_move(hold.cause);
  const Sentence why = since.empty() ? reason(hold.cause) : since;
  if (detected && hold.provisional) {
    const double nights = is_move(hold.cause) ? moves.judged_nights : rules.decide_night;
    const Instant about = hold.judged_from + from_days(nights);
    // Nights may be missing, or may not speak clearly.
    if (about < now) return say("hold.still-to-be-decided", {{"why", why}});
    return say("hold.to-be-decided", {{"why", why}, {"day", day(about, now)}});
  }
  if (detected) return say("hold.until-about", {{"day", day(hold.planned_end, now)}, {"why", why}});
  return say("hold.until", {{"day", day(hold.planned_end, now)}, {"why", why}});
}

Sentence growers(Group group) {
  switch (group) {
    case Group::cool: return say("growers.cool");
    case Group::intermediate: return say("growers.intermediate");
    case Group::warm: return say("growers.warm");
  }
  return {};
}

Sentence drop_let_pass(const season::Drop& drop, const Sentence& why) {
  return say("hold.drop-let-pass",
             {{"from", degrees(drop.base_c)}, {"to", degrees(drop.landing_c)}, {"why", why}});
}

Evidence move_evidence(Instant moved, const season::ClimateChange& change, double needed_c) {
  Evidence e;
  e.time("moved", moved);
  const auto figure = [&](const char* key, double c) {
    if (!std::isnan(c)) e.number(key, c, 2);
  };
  figure("nights_before_c", change.night_before_c);
  figure("nights_now_c", change.night_after_c);
  figure("days_before_c", change.day_before_c);
  figure("days_now_c", change.day_after_c);
  e.count("nights", change.nights_after).number("needed_c", needed_c, 2);
  return e;
}

Sentence carried(Cause cause) {
  if (cause == Cause::shuttling) return say("carried.to-and-fro");
  return cause == Cause::moved_outdoors ? say("carried.outdoors") : say("carried.indoors");
}

Sentence change(const season::ClimateChange& change) {
  Sentence nights, days;
  if (!std::isnan(change.night_before_c) && !std::isnan(change.night_after_c))
    nights = say("change.nights",
                 {{"from", degrees(change.night_before_c)}, {"to", degrees(change.night_after_c)}});
  if (!std::isnan(change.day_before_c) && !std::isnan(change.day_after_c))
    days = say("change.days",
               {{"from", degrees(change.day_before_c)}, {"to", degrees(change.day_after_c)}});
  if (nights.empty() && days.empty()) return say("change.unknown");
  if (nights.empty() || days.empty()) return nights + days;
  return say("change.both", {{"nights", nights}, {"days", days}});
}

Sentence chilled(double air_c, double floor_c, Instant until, Instant now, bool holding,
                 bool outdoors) {
  const words::Value air = degrees(air_c), floor = degrees(floor_c, 0);
  return (holding ? say("chill.in-hold", {{"air", air}, {"floor", floor}})
                  : say("chill", {{"air", air}, {"floor", floor}, {"day", day(until, now)}})) +
         chill_please(outdoors);
}

Sentence chill_please(bool outdoors) {
  return outdoors ? say("chill.please-outdoors") : say("chill.please");
}

Sentence night_blind(double coverage, bool suspect, int nights) {
  if (suspect) return say("blind.not-believable", {{"nights", count(nights)}});
  return say("blind.coverage", {{"percent", number(coverage * 100, 0)}, {"nights", count(nights)}});
}

Sentence reason(Cause cause, const SeasonFeeding& season) {
  const std::int64_t known = season.known_nights();
  if (cause == Cause::not_heard && known > 0)
    return say("reason.not-heard-lately", {{"known", count(known)}});
  if (cause != Cause::learning || known == 0) return reason(cause);
  const words::Value mean = degrees(season.nights_c()), more = count(kLearningNights - known);
  return season.careful() ? say("reason.learning-careful",
                                {{"known", count(known)}, {"mean", mean}, {"more", more}})
                          : say("reason.learning-nights",
                                {{"known", count(known)}, {"mean", mean}, {"more", more}});
}

Sentence feeding_changed(Feeding feeding, int percent, const Sentence& why) {
  switch (feeding) {
    case Feeding::plain_water: return say("feeding.plain-water", {{"why", why}});
    case Feeding::reduced:
      if (percent > 50) return say("feeding.partly", {{"percent", count(percent)}, {"why", why}});
      return say("feeding.weak", {{"percent", count(percent)}, {"why", why}});
    case Feeding::full: return say("feeding.full", {{"why", why}});
  }
  return {};
}

}  // namespace plainwater::feeding::phrases
