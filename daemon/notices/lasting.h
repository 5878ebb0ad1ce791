// What is not as it should be now, told from the state: each trouble once, for as long as it lasts.
#pragma once

#include <functional>
#include <string_view>
#include <vector>

#include "engine/engine.h"
#include "notices/matter.h"
#include "settings/settings.h"

namespace plainwater::notices {

/// Whether a matter of this id is open already.
using IsOpen = std::function<bool(std::string_view id)>;

/// Of benches, pumps and sensors, which are as the engine gives them; without since where only the
/// ledger knows it.
std::vector<Matter> lasting(Instant now, const std::vector<engine::BenchNow>& benches,
                            const std::vector<engine::PumpNow>& pumps,
                            const std::vector<engine::SensorNow>& sensors, const Settings& settings,
                            const IsOpen& open);

/// What concerns the service itself.
struct HouseNow {
  std::string instance;  ///< of two services that watch one site, which
  bool store_usable = true;
  std::string store;  ///< one sentence: what is wrong with it
  bool store_slow = false;
  double store_took_s = 0;  ///< for one thing, where it is slow
  bool clock_believed = true;
  bool clock_settled = true;
  bool clock_plausible = true;
  std::string aside_for;  ///< the store of another service under our name; empty: there is none
  bool backlog = false;   ///< what waits at the broker is not in
  std::size_t refused_orders = 0;          ///< topics that the broker does not take
  std::string refused_order, why_refused;  ///< the first of them
  std::string set_aside;  ///< a notice that cannot be delivered: topic and reason; empty: none
};
std::vector<Matter> lasting(const HouseNow& house);

}  // namespace plainwater::notices
