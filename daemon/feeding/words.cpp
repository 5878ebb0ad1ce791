#include "feeding/words.h"

#include <fmt/format.h>

#include <cmath>

namespace plainwater::feeding::words {
namespace {

/// Something of the fall was left that the sentence can show.
bool remains(const HoldEvent& event) { return event.lasting_c() >= 0.05; }

}  // namespace

std::string reason(Cause cause) {
  switch (cause) {
    case Cause::after_hold: return "a hold has just ended";
    case Cause::cool_nights: return "nights are cooler than its group needs";
    case Cause::dull_season: return "days are short";
    case Cause::bright_season: return "days are long and nights warm enough";
    case Cause::growth_started: return "growth has started";
    case Cause::learning: return "the bench's nights are still being learnt";
    case Cause::ramp: return "rising step by step";
    case Cause::blind: return "too few believable readings at night";
    case Cause::chill: return "the air fell below the chill floor";
    case Cause::sharp_drop: return "the nights turned sharply cooler";
    case Cause::grower: return "the grower asked for it";
    case Cause::announced: return "it was announced";
    case Cause::moved_outdoors: return "the bench was carried outdoors";
    case Cause::moved_indoors: return "the bench was carried indoors";
    case Cause::shuttling: return "the bench is carried in and out repeatedly";
    case Cause::after_move: return "the bench was carried to a warmer place";
    case Cause::pump_untrusted:
      return "its pump disobeyed and is not trusted until somebody has repaired it";
    case Cause::clock: return "the clock is not believed";
    default: return "as before";
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

std::string placed(const season::Drop& drop, const HoldView& hold, const DropRules& rules) {
  return fmt::format(
      "Plain water only: nights fell from {:.1f} to {:.1f} °C within days. Whether it lasts is "
      "clear by about {}.",
      drop.base_c, drop.landing_c, format_day_month(hold.placed + from_days(rules.decide_night)));
}

std::string extended(const season::Drop& drop, const HoldView& hold) {
  return fmt::format("Nights fell again, from {:.1f} to {:.1f} °C: plain water until about {}.",
                     drop.before_c, drop.landing_c, format_day_month(hold.planned_end));
}

std::string confirmed(const HoldEvent& event, const HoldView& hold) {
  return fmt::format(
      "The cooler nights have lasted, {:.1f} °C below those before: plain water until about {}.",
      event.lasting_c(), format_day_month(hold.planned_end));
}

std::string withdrawn(const HoldEvent& event, double days) {
  const double fall_c = event.base_c - event.landing_c;
  const auto count = std::lround(days);
  const std::string nights =
      remains(event)
          ? fmt::format("The nights recovered: {:.1f} °C of the {:.1f} °C fall remained.",
                        event.lasting_c(), fall_c)
          : fmt::format("The nights recovered completely from the {:.1f} °C fall.", fall_c);
  return fmt::format("{} Feeding goes on as before; {} feeding {} lost.", nights, count,
                     count == 1 ? "day was" : "days were");
}

std::string event_withdrawn(const HoldEvent& event, const HoldView& hold, Instant now) {
  const std::string end = hold.planned_end <= now
                              ? "at once, as it would have without it"
                              : "about " + format_day_month(hold.planned_end) + ", as without it";
  const double fall_c = event.base_c - event.landing_c;
  if (!remains(event))
    return fmt::format(
        "The nights recovered completely from the later fall of {:.1f} °C: the hold ends {}.",
        fall_c, end);
  return fmt::format(
      "The later fall did not last: {:.1f} °C of the {:.1f} °C fall remained. The hold ends {}.",
      event.lasting_c(), fall_c, end);
}

std::string ended(double days, int percent, bool capped) {
  return fmt::format("After {:.0f} days of plain water{}, weak feed begins at {} %.", days,
                     capped ? ", the longest allowed" : "", percent);
}

std::string ended_in_plain_water(double days, Cause cause) {
  return fmt::format("The hold is over after {:.0f} days, but plain water goes on: {}.", days,
                     reason(cause));
}

std::string announced(const std::string& who, Instant until) {
  return fmt::format("Plain water only until {}, as {} announced.", format_day_month(until), who);
}

std::string holding(const HoldView& hold, const DropRules& rules, const MoveRules& moves) {
  const bool detected = hold.cause == Cause::sharp_drop || is_move(hold.cause);
  if (detected && hold.provisional) {
    const double nights = is_move(hold.cause) ? moves.judged_nights : rules.decide_night;
    return fmt::format("Plain water: {}; to be decided about {}.", reason(hold.cause),
                       format_day_month(hold.placed + from_days(nights)));
  }
  return fmt::format("Plain water until {}{}: {}.", detected ? "about " : "",
                     format_day_month(hold.planned_end), reason(hold.cause));
}

std::string drop_let_pass(const season::Drop& drop, const std::string& why) {
  return fmt::format("Nights fell from {:.1f} to {:.1f} °C, but no hold was placed: {}.",
                     drop.base_c, drop.landing_c, why);
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

const char* carried(Cause cause) {
  if (cause == Cause::shuttling) return "carried in and out repeatedly";
  return cause == Cause::moved_outdoors ? "carried outdoors" : "carried indoors";
}

std::string change(const season::ClimateChange& change) {
  const auto part = [](const char* what, double before, double after) {
    return std::isnan(before) || std::isnan(after)
               ? std::string()
               : fmt::format("{} from {:.1f} to {:.1f} °C", what, before, after);
  };
  const std::string nights = part("nights", change.night_before_c, change.night_after_c),
                    days = part("days", change.day_before_c, change.day_after_c);
  if (nights.empty() && days.empty()) return "nothing to compare with";
  return nights + (nights.empty() || days.empty() ? "" : ", ") + days;
}

std::string chilled(double air_c, double floor_c, Instant until) {
  return fmt::format(
      "The air fell to {:.1f} °C, below the floor of {:.0f} °C: plain water until {}. Please check "
      "the heating.",
      air_c, floor_c, format_day_month(until));
}

std::string night_blind(double coverage, bool suspect, int nights) {
  if (suspect)
    return fmt::format(
        "This night cannot be judged: its readings are not believable ({} such nights in a row).",
        nights);
  return fmt::format(
      "This night cannot be judged: readings cover {:.0f} % of it ({} such nights in a row).",
      coverage * 100, nights);
}

std::string feeding_changed(Feeding feeding, int percent, Cause cause) {
  switch (feeding) {
    case Feeding::plain_water: return fmt::format("Plain water only: {}.", reason(cause));
    case Feeding::reduced:
      return fmt::format("{} at {} %: {}.", percent <= 50 ? "Weak feed" : "Feed", percent,
                         reason(cause));
    case Feeding::full: return fmt::format("Full feed: {}.", reason(cause));
  }
  return {};
}

}  // namespace plainwater::feeding::words
