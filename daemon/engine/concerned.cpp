#include "engine/concerned.h"

#include <algorithm>

namespace plainwater::engine {
namespace {

std::optional<std::size_t> pump_meant(const feeding::Request& request, const Settings& settings,
                                      std::optional<std::size_t> bench) {
  if (!request.pump.empty()) return settings.heir_of_pump(request.pump);
  if (!bench) return std::nullopt;
  const std::string& name = settings.benches[*bench].name;
  const auto found =
      std::ranges::find_if(settings.pumps, [&](const Pump& pump) { return pump.feeds(name); });
  if (found == settings.pumps.end()) return std::nullopt;
  return static_cast<std::size_t>(found - settings.pumps.begin());
}

}  // namespace

Concerned concerned_by(const feeding::Request& request, const Engine& engine,
                       const Settings& settings) {
  Concerned part;
  part.now = engine.now();
  part.absence = engine.absence();
  std::optional<std::size_t> bench;
  if (!request.bench.empty())
    if (const auto heirs = settings.heirs_of_bench(request.bench); heirs.size() == 1)
      bench = heirs.front();
  if (bench) {
    part.about = 0;
    part.benches.push_back(engine.bench(*bench));
  }
  const auto pump = pump_meant(request, settings, bench);
  if (!pump) return part;
  part.pump = engine.pump(*pump);
  for (const std::string& name : settings.pumps[*pump].benches)
    if (const auto at = settings.bench(name); at && at != bench)
      part.benches.push_back(engine.bench(*at));
  return part;
}

}  // namespace plainwater::engine
