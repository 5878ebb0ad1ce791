#include "outlet/placard.h"

namespace plainwater::outlet {

// A provisional hold is decided between two nights, that of a move some nights after it; the second is named once the
// first has gone by.
Instant decision_day(const engine::BenchNow& bench, const Settings& settings) {
  if (is_move(bench.hold->cause)) return bench.hold->placed + kDay * settings.moves.judged_nights;
  const DropRules& rules = settings.drops;
  const Instant first = bench.hold->placed + kDay * rules.decide_night;
  return !bench.night.empty() && bench.air_time > first ? bench.hold->placed + kDay * rules.latest_decide_night : first;
}

namespace {

using feeding::Cause;
using feeding::Feeding;

std::string plain_water_line(const engine::BenchNow& bench, const Settings& settings, const LocalTime& local) {
  if (bench.cause == Cause::blind) return "no readings";
  if (bench.cause == Cause::pump_untrusted) return "pump disobeyed";
  if (!bench.hold) return "until told otherwise";
  if (bench.hold->provisional) return "decides " + local.day_month(decision_day(bench, settings));
  if (bench.hold->cause == Cause::chill) return "chill, to " + local.day_month(bench.hold->planned_end);
  return "until about " + local.day_month(bench.hold->planned_end);
}

std::string since_line(const engine::BenchNow& bench, const LocalTime& local) {
  if (bench.since != kNever) return "since " + local.day_month(bench.since);
  return bench.learning ? "still learning" : "as usual";
}

std::string reduced_line(const engine::BenchNow& bench, const LocalTime& local) {
  switch (bench.cause) {
    case Cause::after_hold: return "after a hold";
    case Cause::after_move: return "in a new place";
    case Cause::cool_nights: return "cool nights";
    case Cause::dull_season: return "short days";
    case Cause::learning: return "still learning";
    case Cause::blind: return "no readings";
    case Cause::cap:
    case Cause::yearly_budget: return "please decide";
    default: return since_line(bench, local);
  }
}

std::string line(std::string text) {
  if (text.size() > kPlacardWidth) text.resize(kPlacardWidth);
  return text;
}

}  // namespace

std::string placard(const engine::BenchNow& bench, const Settings& settings, const LocalTime& local) {
  switch (bench.feeding) {
    case Feeding::plain_water: return "PLAIN WATER ONLY\n" + line(plain_water_line(bench, settings, local));
    case Feeding::reduced: return "FEED " + std::to_string(bench.strength_percent) + " %\n" + line(reduced_line(bench, local));
    case Feeding::full: {
      std::string text = bench.strength_percent >= 100 ? "FULL FEED" : "FEED " + std::to_string(bench.strength_percent) + " %";
      text += '\n';
      return text += line(since_line(bench, local));
    }
  }
  return "PLAIN WATER ONLY\n";
}

}  // namespace plainwater::outlet
