#include "engine/pump_share.h"

#include <algorithm>

#include "settings/known_bench.h"

namespace plainwater::engine {

PumpShare pump_share(const Settings& settings, std::size_t pump, const Benches& benches,
                     Instant now) {
  const Pump& about = settings.pumps[pump];
  PumpShare share;
  int most = 0;
  std::string careful;
  for (const std::string& name : about.benches) {
    const auto own = benches[known_bench(settings, name)].feeding.effective(now);
    most = std::max(most, own.percent);
    if (careful.empty() || own.percent < share.percent) careful = name;
    share.feeding = std::min(share.feeding, own.feeding);
    share.percent = std::min(share.percent, own.percent);
  }
  if (most > share.percent) share.limited_by = careful;
  share.dose = feeding::dose_of(settings, about, share.percent);
  const bool can_dose =
      about.recipe.empty() || (share.dose && share.dose->problem == feeding::DoseProblem::none);
  if (share.feeding == feeding::Feeding::plain_water || !can_dose) {
    share.feeding = feeding::Feeding::plain_water;
    share.percent = 0;
  }
  return share;
}

std::optional<std::size_t> pump_of(const Settings& settings, std::size_t bench) {
  const Pump* pump = settings.pump_of(settings.benches[bench].name);
  if (pump == nullptr) return std::nullopt;
  return static_cast<std::size_t>(pump - settings.pumps.data());
}

}  // namespace plainwater::engine
