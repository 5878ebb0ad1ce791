// Which services with an older store, under other names, are alive at the broker. Their orders take
// precedence over ours, since they know more; but an order alone does not prove its service alive.
// Pure.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>

#include "common/instant.h"
#include "outlet/service_state.h"
#include "service/hearing_time.h"

namespace plainwater::service {

class Elders {
 public:
  /// Heartbeats come every minute; after three missed ones, a service counts as gone.
  static constexpr Span kSilence = outlet::kServiceExpiry;

  void history_since(std::optional<Instant> own) { own_ = own; }
  /// A heartbeat of another instance, even one retained by the broker, which over MQTT 5 keeps it
  /// no longer than kSilence. Ignores an instance that stands aside or drains: it gives no orders.
  void heard(const std::string& instance, const outlet::Alive& alive);
  /// `hearing`: the link is up and its backlog in.
  void look(Span since_boot, bool hearing);
  /// Their instances; none before the first backlog, with the broker's retained heartbeats, is in.
  std::optional<std::set<std::string>> alive() const;

 private:
  static constexpr std::size_t kMost = 16;

  std::optional<Instant> own_;
  std::map<std::string, Span> last_;  ///< by instance: hearing time when last heard
  HearingTime hearing_;
};

}  // namespace plainwater::service
