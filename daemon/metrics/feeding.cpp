// Feeding and holds of the benches, and the salts in their pots.
#include <array>

#include "feeding/salts.h"
#include "metrics/families.h"

namespace plainwater::metrics {
namespace {

using engine::BenchNow;
using feeding::Cause;
using feeding::Feeding;

/// Everything that may place a hold.
constexpr std::array kHoldCauses{Cause::sharp_drop,     Cause::grower,        Cause::announced,
                                 Cause::moved_outdoors, Cause::moved_indoors, Cause::shuttling};
constexpr double kSiemensPerMetre = 0.1;  ///< in 1 mS/cm
constexpr double kDaySeconds = 86'400;

void add_state(const status::Status& status, Families& into) {
  auto feeding =
      gauge(into, "plainwater_bench_feeding", "What the bench may be fed: 1 for what holds.");
  for (const auto& bench : status.benches)
    for (const auto which : {Feeding::plain_water, Feeding::reduced, Feeding::full})
      feeding.add(bench.feeding == which ? 1 : 0,
                  {{"bench", bench.name}, {"feeding", name_of(which)}});
  auto strength = gauge(into, "plainwater_bench_strength_ratio",
                        "Strength of the feed, 0 (plain water) to 1 (full).");
  for (const auto& bench : status.benches)
    strength.add(bench.strength_percent / 100.0, {{"bench", bench.name}});
  auto cause = gauge(into, "plainwater_bench_feeding_cause",
                     "Always 1; its label says why the bench is fed as it is.");
  for (const auto& bench : status.benches)
    if (bench.cause != Cause::none)
      cause.add(1, {{"bench", bench.name}, {"cause", name_of(bench.cause)}});
  auto chill = gauge(into, "plainwater_bench_chill",
                     "Always 1: cold air under the chill floor keeps the bench on plain water; its "
                     "label says where the bench was then.");
  for (const auto& bench : status.benches)
    if (bench.chilled_until != kNever)
      chill.add(1, {{"bench", bench.name},
                    {"place", bench.chilled_outdoors ? "outdoors" : "under-roof"}});
  auto since = gauge(into, "plainwater_bench_feeding_since_timestamp_seconds",
                     "When feeding or strength last changed.");
  for (const auto& bench : status.benches) since.add(bench.since, {{"bench", bench.name}});
  auto learning = gauge(into, "plainwater_bench_learning",
                        "Whether the bench's nights are still being learnt.");
  for (const auto& bench : status.benches)
    learning.add(bench.learning ? 1 : 0, {{"bench", bench.name}});
  auto blind = gauge(into, "plainwater_bench_blind",
                     "Whether there are too few believable readings to judge the bench's nights.");
  for (const auto& bench : status.benches) blind.add(bench.blind ? 1 : 0, {{"bench", bench.name}});
  auto questions = gauge(into, "plainwater_bench_open_questions",
                         "Questions to the grower that wait for an answer.");
  for (const auto& bench : status.benches)
    questions.add(static_cast<double>(bench.questions.size()), {{"bench", bench.name}});
  auto order =
      gauge(into, "plainwater_bench_order_expiry_timestamp_seconds",
            "Until when the bench's last order is valid; after it pumps give plain water.");
  for (const auto& [bench, given] : status.orders)
    order.add(given.order.valid_until, {{"bench", bench}});
}

void add_holds(const status::Status& status, const Settings& settings, Families& into) {
  auto hold =
      gauge(into, "plainwater_bench_hold",
            "Whether a hold (plain water only) is in force: 1 under the cause that placed it.");
  for (const auto& bench : status.benches)
    for (const auto which : kHoldCauses)
      hold.add(bench.hold && bench.hold->cause == which ? 1 : 0,
               {{"bench", bench.name}, {"cause", name_of(which)}});
  auto provisional = gauge(into, "plainwater_bench_hold_provisional",
                           "Whether the hold in force is not yet proved by later nights.");
  for (const auto& bench : status.benches)
    provisional.add(bench.hold && bench.hold->provisional ? 1 : 0, {{"bench", bench.name}});
  auto planned = gauge(into, "plainwater_bench_hold_planned_end_timestamp_seconds",
                       "When the hold in force is planned to end.");
  auto latest = gauge(into, "plainwater_bench_hold_latest_end_timestamp_seconds",
                      "When the hold in force ends at the latest.");
  for (const auto& bench : status.benches)
    if (bench.hold) {
      planned.add(bench.hold->planned_end, {{"bench", bench.name}});
      latest.add(bench.hold->latest_end, {{"bench", bench.name}});
    }
  auto year = gauge(into, "plainwater_bench_plain_water_year_seconds",
                    "Time in detected holds within the last 365 days.");
  for (const auto& bench : status.benches)
    year.add(bench.plain_water_days_in_year * kDaySeconds, {{"bench", bench.name}});
  gauge(into, "plainwater_plain_water_year_limit_seconds",
        "The settings' longest time in detected holds within 365 days.")
      .add(settings.drops.yearly_plain_water_days * kDaySeconds);
}

void add_water(const status::Status& status, const Settings& settings, Families& into) {
  auto salts =
      gauge(into, "plainwater_bench_salts_siemens_per_metre",
            "Salts in the pots as EC at 25 degrees Celsius, as estimated; 0.1 S/m is 1 mS/cm.");
  for (const auto& bench : status.benches)
    salts.add(bench.salts_ec * kSiemensPerMetre, {{"bench", bench.name}});
  auto alarm = gauge(into, "plainwater_bench_salts_limit_siemens_per_metre",
                     "Salts above which a flush is advised; of benches whose salts are estimated.");
  for (const auto& bench : settings.benches)
    if (bench.pots > 0)
      alarm.add(feeding::flush_above_ec(bench) * kSiemensPerMetre, {{"bench", bench.name}});
  auto flush = gauge(into, "plainwater_bench_flush_advised_cubic_metres",
                     "Plain water that the pots should be flushed with now; 0: none.");
  for (const auto& bench : status.benches) flush.add(bench.flush_l / 1000, {{"bench", bench.name}});
  auto watered = gauge(into, "plainwater_bench_watered_timestamp_seconds",
                       "The last watering that a pump or a person reported.");
  for (const auto& bench : status.benches) watered.add(bench.watered, {{"bench", bench.name}});
  auto limit = gauge(into, "plainwater_bench_watering_limit_seconds",
                     "The settings' longest time without a watering; of benches that have one.");
  for (const auto& bench : settings.benches)
    if (bench.watering_days) limit.add(*bench.watering_days * kDaySeconds, {{"bench", bench.name}});
}

}  // namespace

void add_feeding(const status::Status& status, const Settings& settings, Families& into) {
  add_state(status, into);
  add_holds(status, settings, into);
  add_water(status, settings, into);
}

}  // namespace plainwater::metrics
