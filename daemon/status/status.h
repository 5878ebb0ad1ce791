// What the service is at, all of it: taken under its lock when somebody asks, then never changed
// and read by any thread. Pages, metrics, heartbeat and notices about the house are made of this
// alone.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "engine/engine.h"
#include "notices/kind.h"
#include "orders/order.h"
#include "status/counts.h"
#include "status/service.h"

namespace plainwater::status {

/// The last order given for a bench.
struct GivenOrder {
  orders::Order order;
  bool outdated = false;  ///< the broker holds a newer one of another service

  bool in_force(Instant now) const { return !outdated && order.valid_until > now; }
};

/// What the notices' desks know of something that lasts.
struct OpenNotice {
  Instant since{kNever};
  std::string acknowledged_by{};  ///< empty: nobody
  notices::Urgency urgency = notices::Urgency::info;
  bool told = false;  ///< people have heard of it
};

struct Status {
  Service service;
  std::vector<engine::BenchNow> benches;  ///< in the settings' order
  std::vector<engine::PumpNow> pumps;
  std::vector<engine::SensorNow> sensors;    ///< references and contacts too
  std::map<std::string, GivenOrder> orders;  ///< by bench
  std::map<std::string, OpenNotice> open;    ///< by a notice's id
  Counts counts;
};

}  // namespace plainwater::status
