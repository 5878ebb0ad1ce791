// Which services with an older store, under other names, are alive at the broker. What they order
// goes before our own, since they know more; but an order alone proves nobody alive. Pure.
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
  /// Heartbeats come every minute; after three that did not, a service counts as gone.
  static constexpr Span kSilence = outlet::kServiceExpiry;

  void history_since(std::optional<Instant> own) { own_ = own; }
  /// A heartbeat of another instance, also one that the broker kept: over MQTT 5 it does so no
  /// longer than kSilence. One that stands aside or drains gives no orders.
  void heard(const std::string& instance, const outlet::Alive& alive);
  /// `hearing`: the link is up and its backlog in.
  void look(Span since_boot, bool hearing);
  /// By instance; none before the first backlog is in, and with it what the broker keeps of others.
  std::optional<std::set<std::string>> alive() const;

 private:
  static constexpr std::size_t kMost = 16;

  std::optional<Instant> own_;
  std::map<std::string, Span> last_;  ///< by instance: hearing time when last heard
  HearingTime hearing_;
};

}  // namespace plainwater::service
