// What the service is at, as the pages show it: taken under its lock, then used without it.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "engine/engine.h"
#include "notices/lasting.h"
#include "outlet/order.h"
#include "outlet/service_state.h"

namespace plainwater::board {

/// What the notices' desk knows of something open.
struct OpenNotice {
  Instant since{kNever};
  std::string acknowledged_by;  ///< empty: nobody
};

struct Moment {
  Instant now{kNever};  ///< engine time
  std::vector<engine::BenchNow> benches;
  std::vector<engine::PumpNow> pumps;
  std::map<std::string, outlet::Order> orders;  ///< by bench: in force, not yet expired
  outlet::ServiceState service;
  std::vector<engine::SensorNow> sensors;
  notices::HouseNow house;
  std::map<std::string, OpenNotice> told;  ///< by a notice's id: those that are open
};

}  // namespace plainwater::board
