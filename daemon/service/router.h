// Turns a message into what the core takes: which topic it is, what it says, and at which time it
// counts. Counts what cannot be used, by reason. Pure: no store, no engine, no clock.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "broker/message.h"
#include "common/log_line.h"
#include "feeding/request.h"
#include "intake/arrival.h"
#include "intake/catalogue.h"
#include "intake/refusals.h"
#include "orders/order.h"
#include "outlet/service_state.h"
#include "outlet/topics.h"
#include "service/measurements.h"
#include "settings/settings.h"

namespace plainwater::service {

/// A request that cannot be understood, and the answer to it.
struct BadRequest {
  std::string id;
  feeding::Reply reply;
};
/// An order for a bench of the settings, which the broker holds or somebody published.
struct OrderSeen {
  std::string bench;
  orders::OrderStamp stamp;
};
/// An order in our own name for a bench that is not in the settings.
struct StrayOrderSeen {
  std::string bench;
  orders::OrderStamp stamp;
};
/// A live heartbeat of a service under our own name: ours, or another's.
struct NamesakeSeen {
  outlet::Alive alive;
};
/// A heartbeat of a service under another name, live or retained.
struct PeerSeen {
  std::string instance;
  outlet::Alive alive;
};
/// Nothing to take: refused and counted, or of no concern.
struct Nothing {};

using Routed = std::variant<Nothing, Measurements, feeding::Request, BadRequest, OrderSeen,
                            StrayOrderSeen, NamesakeSeen, PeerSeen>;

/// Engine time of the arrival, and of the newest input (kNever before the first).
struct ArrivalTimes {
  Instant arrived{};
  Instant engine{kNever};
  bool known =
      true;  ///< false: there is no engine time yet, so what has no own time cannot be timed
};

class Router {
 public:
  /// How many refused requests of a kind are logged.
  static constexpr std::uint64_t kToldRequests = 20;

  explicit Router(const std::shared_ptr<const Settings>& settings);
  /// Goes on counting where `before` ends.
  Router(const std::shared_ptr<const Settings>& settings, const Router& before);

  /// Topic filters to subscribe to.
  std::vector<std::string> subscriptions() const;
  /// Adds to `log` what is worth a line.
  Routed route(const broker::Message& message, const ArrivalTimes& times,
               std::vector<LogLine>& log);
  /// Counts a request that was understood but not granted. Returns whether to log it.
  bool refused(const feeding::Reply& reply);

  const outlet::Topics& topics() const { return topics_; }
  const intake::Refusals& refusals() const { return refusals_; }
  /// Counts by problem.
  const std::map<std::string, std::uint64_t>& refused_requests() const { return refused_requests_; }
  const std::map<std::string, std::uint64_t>& refused_reports() const { return refused_reports_; }
  /// Pumps' reports whose own time was ahead: used with their time of arrival.
  std::uint64_t corrected_reports() const { return corrected_reports_; }

 private:
  struct Arriving;
  Routed route_request(const broker::Message& message, std::vector<LogLine>& log);
  Routed route_report(std::string_view topic_bench, Arriving& arriving);
  Routed route_measurements(Arriving& arriving);
  void read_sensors(Arriving& arriving, Measurements& out);
  void read_pumps(Arriving& arriving, const std::vector<const PumpReport*>& mappings,
                  Measurements& out);
  /// The time to use for something that may have its `own`; none if it is refused.
  std::optional<Instant> time_of(std::optional<Instant> own, Span from_arrival, Arriving& arriving);
  std::optional<Instant> pump_time(std::optional<Instant> told, Arriving& arriving);
  void refuse(intake::Refusal reason, Arriving& arriving);
  Routed refuse_report(const std::string& problem, const std::string& text, Arriving& arriving);
  bool by_readings() const { return settings_->clock.time == ClockMode::readings; }

  std::shared_ptr<const Settings> settings_;
  outlet::Topics topics_;
  intake::Catalogue catalogue_;
  intake::Refusals refusals_;
  std::map<std::string, std::uint64_t> refused_requests_;
  std::map<std::string, std::uint64_t> refused_reports_;
  std::uint64_t corrected_reports_ = 0;
};

}  // namespace plainwater::service
