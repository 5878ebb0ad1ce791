// The whole status of the service as one immutable value. It is copied under the lock when somebody
// asks; after that any thread may read it. Pages, metrics, the heartbeat and notices about the
// house are made from it alone.
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

/// A notice about something that lasts, as the notices room knows it.
struct OpenNotice {
  Instant since{kNever};
  std::string acknowledged_by{};  ///< empty: nobody
  notices::Urgency urgency = notices::Urgency::info;
  bool is_sent = false;  ///< sent at least once
};

/// That a person acknowledged a notice, also when it is over by now.
struct SeenNotice {
  Instant when{};
  std::string who;
  std::string bench, pump;  ///< which it is about; empty: none
  words::Sentence said;     ///< the notice's
};

struct Status {
  Service service;
  std::vector<engine::BenchNow> benches;  ///< in the order of the settings
  std::vector<std::string> gone;          ///< benches that left the settings, not retired
  std::vector<engine::PumpNow> pumps;
  std::vector<engine::SensorNow> sensors;    ///< including references and contacts
  std::map<std::string, GivenOrder> orders;  ///< by bench
  std::map<std::string, OpenNotice> open;    ///< by notice id
  std::vector<engine::Obeyed> obeyed;        ///< what people asked for lately and was done, by id
  std::vector<SeenNotice> seen;              ///< lately, in no order
  Counts counts;
};

/// How far back `obeyed` and `seen` go: more than the longest day of a site's clocks.
inline constexpr Span kLately = hours(26);

}  // namespace plainwater::status
