#include "feeding/pump_phrases.h"

#include <cmath>

namespace plainwater::feeding::phrases {

using words::count;
using words::name;
using words::number;
using words::say;
using words::Sentence;

namespace {

/// "12 L with 42 mL of stock at EC 0.95, reported as 25 %"
Sentence what_went_out(const DoseReport& report, const Given& given, const DoseCheck& check) {
  Sentence all =
      given.litres ? say("pump.litres", {{"litres", amount(*given.litres)}}) : say("pump.water");
  if (given.feed_ml) all = say("pump.with-stock", {{"given", all}, {"ml", amount(*given.feed_ml)}});
  if (!std::isnan(check.ec25))
    all = say("pump.at-ec", {{"given", all}, {"ec", number(check.ec25, 2)}});
  if (report.strength_percent)
    all = say("pump.reported-as",
              {{"given", all}, {"percent", words::figures(*report.strength_percent)}});
  return all;
}

/// Reports of a day are judged within some days of it.
words::Value day_of(const DayGiven& day) {
  const Instant midnight(kDay * day.local_day);
  return words::day(midnight, midnight);
}

const char* compensation(const DoseReport& report) {
  if (report.ec_compensated) return "at 25 °C as reported";
  return report.water_c ? "2 %/K to 25 °C" : "not possible: no water temperature";
}

}  // namespace

words::Value amount(double value) { return number(value, value < 1 ? 2 : value < 100 ? 1 : 0); }

Evidence report_evidence(const DoseReport& report, const Given& given, int allowed_percent,
                         const DoseCheck& check, const PumpContext& context) {
  Evidence e;
  e.text("pump", report.pump)
      .text("source", report.source)
      .time("reported", report.time)
      .count("allowed_percent", allowed_percent);
  if (check.by[0] != '\0') e.text("by", check.by);
  if (given.litres) e.number("litres", *given.litres, 3);
  if (given.feed_ml) e.number("feed_ml", *given.feed_ml, 2);
  if (!std::isnan(check.expected_ml)) e.number("expected_feed_ml", check.expected_ml, 2);
  if (report.strength_percent) e.number("strength_percent", *report.strength_percent, 1);
  if (report.ec) {
    e.number("ec", *report.ec, 3).text("ec_compensation", compensation(report));
    if (report.water_c) e.number("water_c", *report.water_c, 1);
    if (!std::isnan(check.ec25) && !report.ec_compensated) e.number("ec_25", check.ec25, 3);
    if (!std::isnan(check.expected_ec)) e.number("expected_ec", check.expected_ec, 3);
    if (context.water_ec) e.number("water_ec", *context.water_ec, 3);
    e.number("ec_tolerance", ec_tolerance(*context.pump), 2);
    if (check.over_refusal) e.number("refusal_ec", context.limits.refusal_ec, 2);
  }
  if (given.reset) e.text("counter", "began anew");
  if (report.epoch) e.count("epoch", *report.epoch);
  if (report.sequence) e.count("sequence", *report.sequence);
  return e;
}

Sentence disobeyed(Cause cause, const DoseReport& report, const Given& given, int allowed_percent,
                   const DoseCheck& check, const Pump& pump) {
  const words::Value what = what_went_out(report, given, check), by = name(pump.name),
                     percent = count(allowed_percent);
  const Sentence limit = check.over_refusal ? say("pump.over-refusal") : Sentence();
  switch (cause) {
    case Cause::fed_in_plain_water:
      return say("pump.fed-in-plain-water", {{"pump", by}, {"given", what}}) +
             say("pump.fed-in-plain-water-please") + limit;
    case Cause::fed_against_advice:
      return (allowed_percent == 0
                  ? say("pump.fed-against-plain-water", {{"pump", by}, {"given", what}})
                  : say("pump.fed-against-advice",
                        {{"pump", by}, {"percent", percent}, {"given", what}})) +
             say("pump.fed-against-advice-please") + limit;
    case Cause::under_strength:
      return say("pump.weaker", {{"pump", by}, {"percent", percent}, {"given", what}}) +
             say("pump.weaker-please");
    default:
      return say("pump.stronger", {{"pump", by}, {"percent", percent}, {"given", what}}) +
             say("pump.stronger-please") + limit;
  }
}

Sentence followed_replaced_order() { return say("pump.followed-replaced"); }

Evidence day_evidence(const DayGiven& day, const Pump& pump) {
  Evidence e;
  e.text("pump", pump.name).number("litres", day.litres, 2).number("feed_ml", day.feed_ml, 1);
  if (pump.daily_l) e.number("daily_litres", *pump.daily_l, 2);
  if (pump.daily_feed_ml) e.number("daily_feed_ml", *pump.daily_feed_ml, 1);
  if (day.flush_l > 0) e.number("flush_litres", day.flush_l, 1);
  return e;
}

Sentence water_cap_passed(const DayGiven& day, const Pump& pump) {
  const words::Value by = name(pump.name), litres = amount(day.litres),
                     most = amount(*pump.daily_l);
  return (day.flush_l > 0
              ? say("pump.water-cap-flush", {{"pump", by},
                                             {"litres", litres},
                                             {"day", day_of(day)},
                                             {"most", most},
                                             {"flush", amount(day.flush_l)}})
              : say("pump.water-cap",
                    {{"pump", by}, {"litres", litres}, {"day", day_of(day)}, {"most", most}})) +
         say("pump.water-cap-please");
}

Sentence feed_cap_passed(const DayGiven& day, const Pump& pump) {
  return say("pump.feed-cap", {{"pump", name(pump.name)},
                               {"ml", amount(day.feed_ml)},
                               {"day", day_of(day)},
                               {"most", amount(*pump.daily_feed_ml)}}) +
         say("pump.feed-cap-please");
}

Sentence untrusted(const Pump& pump, int reports) {
  return say("pump.untrusted", {{"pump", name(pump.name)},
                                {"times", count(reports)},
                                {"command", name("plainwater trust " + pump.name)}});
}

}  // namespace plainwater::feeding::phrases
