// What the service is at, as the pages show it: taken under its lock, then used without it.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "engine/engine.h"
#include "outlet/order.h"
#include "outlet/service_state.h"

namespace plainwater::board {

struct Moment {
  Instant now{kNever};  ///< engine time
  std::vector<engine::BenchNow> benches;
  std::vector<engine::PumpNow> pumps;
  std::map<std::string, outlet::Order> orders;  ///< by bench: in force, not yet expired
  outlet::ServiceState service;
  bool slow = false;     ///< the store is slow, as `service.store` then says
  bool usable = true;    ///< the store can be written
};

}  // namespace plainwater::board
