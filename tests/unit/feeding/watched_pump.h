// One pump with its orders and its reports, without an engine around it.
#pragma once

#include <algorithm>
#include <catch2/catch.hpp>
#include <string>
#include <vector>

#include "common/archive.h"
#include "feeding/pump_watch.h"

namespace plainwater::feeding {

/// 10 mL a litre make 100 ppm N at full strength: EC 1.0 on water of 0.4, so 0.7 at half. The
/// refusal limit is 1.5.
struct WatchedPump {
  Pump pump;
  PumpContext context;
  PumpWatch watch;
  Instant now = *parse_rfc3339("2026-10-20T12:00:00Z");
  std::vector<PumpFinding> told;
  bool lost_trust = false;

  explicit WatchedPump(int percent = 0, bool armed = true) {
    pump.name = "line";
    pump.benches = {"long"};
    pump.recipe = "growth";
    pump.water = "tap";
    context.full = FullStrength{10, 66.666667, 100, 1.0, 0.4, 0.6};
    context.water_ec = 0.4;
    context.limits = DoseLimits{1.2, 1.5, 0, std::nullopt, 0};
    order(percent, armed);
    now += kDay;
  }
  void order(int percent, bool armed = true) { watch.command({now, percent, armed}, pump.line_l); }
  DoseReport report() const {
    DoseReport r;
    r.pump = pump.name;
    r.source = "line";
    r.time = now;
    return r;
  }
  /// What is told of it; the causes are in `causes()`.
  DoseJudged take(const DoseReport& r) {
    context.pump = &pump;
    context.local_day = std::chrono::floor<std::chrono::days>(r.time).time_since_epoch().count();
    now = std::max(now, r.time);
    DoseJudged judged = watch.take(r, now, context);
    for (const auto& finding : judged.findings) told.push_back(finding);
    lost_trust = lost_trust || judged.lost_trust;
    return judged;
  }
  DoseJudged strength(double percent) {
    DoseReport r = report();
    r.strength_percent = percent;
    return take(r);
  }
  DoseJudged stock(double ml, std::optional<double> litres = 10) {
    DoseReport r = report();
    r.litres = litres;
    r.feed_ml = ml;
    return take(r);
  }
  DoseJudged ec(double ms_per_cm, std::optional<double> litres = {}) {
    DoseReport r = report();
    r.litres = litres;
    r.ec = ms_per_cm;
    return take(r);
  }
  void later(Span span) { now += span; }
  std::vector<Cause> causes() const {
    std::vector<Cause> found;
    for (const auto& finding : told) found.push_back(finding.cause);
    return found;
  }
  int count(Cause cause) const {
    return static_cast<int>(std::count_if(told.begin(), told.end(),
                                          [=](const PumpFinding& f) { return f.cause == cause; }));
  }
};

/// The causes that one report is told with.
inline std::vector<Cause> causes_of(const DoseJudged& judged) {
  std::vector<Cause> found;
  for (const auto& finding : judged.findings) found.push_back(finding.cause);
  return found;
}
using Causes = std::vector<Cause>;
inline const Causes kNone{};
inline const Causes kFedInPlainWater{Cause::fed_in_plain_water};
inline const Causes kOver{Cause::over_strength};
inline const Causes kUnder{Cause::under_strength};

}  // namespace plainwater::feeding
