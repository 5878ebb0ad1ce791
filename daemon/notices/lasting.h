// Present troubles, read from the state: each one once, for as long as it lasts.
#pragma once

#include <functional>
#include <string_view>
#include <vector>

#include "engine/engine.h"
#include "notices/matter.h"
#include "settings/settings.h"

namespace plainwater::notices {

/// Whether a matter with this id is already open.
using IsOpen = std::function<bool(std::string_view id)>;

/// Troubles of benches, pumps and sensors as the engine gives them; `since` is missing where only
/// the ledger knows it. `gone`: benches that left the settings.
std::vector<Matter> lasting(Instant now, const std::vector<engine::BenchNow>& benches,
                            const std::vector<engine::PumpNow>& pumps,
                            const std::vector<engine::SensorNow>& sensors,
                            const std::vector<std::string>& gone, const Settings& settings,
                            const IsOpen& open);

/// The state of the service itself.
struct HouseNow {
  std::string instance;  ///< tells apart two services that watch one site
  bool store_usable = true;
  std::string store;  ///< one sentence saying what is wrong with it
  bool store_slow = false;
  double store_took_s = 0;  ///< how long one write took, if slow
  bool clock_believed = true;
  bool clock_settled = true;
  bool clock_plausible = true;
  std::string aside_for;                   ///< store of another service under our name; empty: none
  bool backlog = false;                    ///< messages waiting at the broker are not in yet
  std::size_t refused_orders = 0;          ///< topics that the broker refuses
  std::string refused_order, why_refused;  ///< the first of them
  std::string unknown_person;  ///< who looks after the house by an absence, and is not in the
                               ///< settings any more; empty: none
  std::string set_aside;       ///< topic of an undeliverable notice, and why; empty: none
};
std::vector<Matter> lasting(const HouseNow& house);

}  // namespace plainwater::notices
