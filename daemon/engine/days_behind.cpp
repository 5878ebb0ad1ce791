#include "engine/days_behind.h"

#include <algorithm>

#include "engine/turn.h"
#include "settings/known_bench.h"

namespace plainwater::engine {
namespace {
constexpr int kAskDaysBehind = 28;
}

void DaysBehind::count(const Pump& pump, const PumpShare& share, Instant t, const Turn& turn) {
  for (const std::string& name : pump.benches) {
    feeding::BenchFeeding& own = turn.benches[known_bench(turn.settings, name)].feeding;
    auto& [days, asked] = by_bench_[name];
    const bool loses = !share.limited_by.empty() && name != share.limited_by &&
                       own.effective(t).percent > share.percent;
    days = loses ? days + 1 : std::max(0, days - 1);
    if (days == 0) asked = 0;
    if (!loses || days < asked + kAskDaysBehind) continue;
    asked = days;
    own.ask(turn.out.decisions, t, feeding::Cause::shared_pump,
            words::say("pump.shared", {{"bench", words::name(name)},
                                       {"days", words::count(days)},
                                       {"pump", words::name(pump.name)},
                                       {"limiting", words::name(share.limited_by)}}) +
                words::say("pump.shared-please"));
  }
}

void DaysBehind::follow(const Pump& pump, const Settings& settings,
                        const std::map<std::string, BenchState>& gone) {
  std::map<std::string, Behind> kept;
  for (const auto& [former, behind] : by_bench_) {
    if (gone.contains(former)) kept.emplace(former, behind);
    for (const std::size_t heir : settings.heirs_of_bench(former)) {
      const std::string& name = settings.benches[heir].name;
      if (!pump.feeds(name)) continue;
      Behind& own = kept[name];
      if (behind.days >= own.days) own = behind;
    }
  }
  by_bench_ = std::move(kept);
}

std::map<std::string, int> DaysBehind::days(const Pump& pump) const {
  std::map<std::string, int> out;
  for (const auto& [bench, behind] : by_bench_)
    if (pump.feeds(bench)) out[bench] = behind.days;
  return out;
}

}  // namespace plainwater::engine
