#include "feeding/pump_words.h"

#include <fmt/format.h>

#include <cmath>

namespace plainwater::feeding::words {
namespace {

/// "12 L with 42 mL of stock at EC 0.95, reported as 25 %"
std::string told(const DoseReport& report, const Given& given, const DoseCheck& check) {
  std::string text = given.litres ? fmt::format("{} L", amount(*given.litres)) : "water";
  if (given.feed_ml) text += fmt::format(" with {} mL of stock", amount(*given.feed_ml));
  if (!std::isnan(check.ec25)) text += fmt::format(" at EC {:.2f} mS/cm", check.ec25);
  if (report.strength_percent)
    text += fmt::format(", reported as {:.3g} %", *report.strength_percent);
  return text;
}

std::string day_of(const DayGiven& day) { return format_day_month(Instant(kDay * day.local_day)); }

const char* compensation(const DoseReport& report) {
  if (report.ec_compensated) return "at 25 °C as reported";
  return report.water_c ? "2 %/K to 25 °C" : "not possible: no water temperature";
}

}  // namespace

std::string amount(double value) {
  return fmt::format("{:.{}f}", value, value < 1 ? 2 : value < 100 ? 1 : 0);
}

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

std::string disobeyed(Cause cause, const DoseReport& report, const Given& given,
                      int allowed_percent, const DoseCheck& check, const Pump& pump) {
  const std::string what = told(report, given, check);
  const char* limit =
      check.over_refusal
          ? " That is above the refusal limit: a cut-out at the pump should have stopped it."
          : "";
  switch (cause) {
    case Cause::fed_in_plain_water:
      return fmt::format(
          "Pump {} gave feed although plain water was ordered: {}. Please close its stock valve by "
          "hand and look at it now.{}",
          pump.name, what, limit);
    case Cause::fed_against_advice:
      return fmt::format(
          "Pump {} is on advice only; {}: {}. If nobody gave it by hand, look at its valve.{}",
          pump.name,
          allowed_percent == 0
              ? "feed went out although the advice is plain water"
              : fmt::format("feed stronger than the advised {} % went out", allowed_percent),
          what, limit);
    case Cause::under_strength:
      return fmt::format(
          "Pump {} feeds weaker than the ordered {} %: {}. Please check its stock and its dosing "
          "head.",
          pump.name, allowed_percent, what);
    default:
      return fmt::format(
          "Pump {} feeds stronger than the ordered {} %: {}. Please check its injector and the "
          "strength of the stock.{}",
          pump.name, allowed_percent, what, limit);
  }
}

std::string followed_replaced_order() {
  return " It followed an order that had been replaced but had not expired: please check that it "
         "can be reached.";
}

Evidence day_evidence(const DayGiven& day, const Pump& pump) {
  Evidence e;
  e.text("pump", pump.name).number("litres", day.litres, 2).number("feed_ml", day.feed_ml, 1);
  if (pump.daily_l) e.number("daily_litres", *pump.daily_l, 2);
  if (pump.daily_feed_ml) e.number("daily_feed_ml", *pump.daily_feed_ml, 1);
  if (day.flush_l > 0) e.number("flush_litres", day.flush_l, 1);
  return e;
}

std::string water_cap_passed(const DayGiven& day, const Pump& pump) {
  const std::string flush =
      day.flush_l > 0 ? fmt::format(" and the {} L of the advised flush", amount(day.flush_l)) : "";
  return fmt::format(
      "Pump {} gave {} L on {}, more than the {} L a day of its settings{}. Please check for a "
      "leak or a valve that stays open.",
      pump.name, amount(day.litres), day_of(day), amount(*pump.daily_l), flush);
}

std::string feed_cap_passed(const DayGiven& day, const Pump& pump) {
  return fmt::format(
      "Pump {} gave {} mL of stock on {}, more than the {} mL a day of its settings. Please look "
      "at it now.",
      pump.name, amount(day.feed_ml), day_of(day), amount(*pump.daily_feed_ml));
}

std::string untrusted(const Pump& pump, int reports) {
  return fmt::format(
      "Pump {} disobeyed {} within 14 days and is no longer trusted: its benches get plain water "
      "until somebody has repaired it and says so (plainwater trust {}).",
      pump.name, reports == 1 ? "once" : fmt::format("{} times", reports), pump.name);
}

}  // namespace plainwater::feeding::words
