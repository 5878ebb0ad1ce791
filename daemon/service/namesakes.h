// Other services under our own name at the broker: two stores, one `instance`. They would overrule
// each other's orders for ever. The one with the older store goes on, since it knows more; the
// other stands aside, and takes over when the first falls silent. Pure.
//
// A lost session does not show who took it, and a retained heartbeat may be from a service that is
// gone: so only live heartbeats count, from the second of the same service on.
#pragma once

#include <map>
#include <optional>
#include <string>

#include "common/instant.h"
#include "outlet/service_state.h"
#include "service/hearing_time.h"

namespace plainwater::service {

class Namesakes {
 public:
  /// Heartbeats come every minute; after three missed ones, a service counts as gone.
  static constexpr Span kSilence = outlet::kServiceExpiry;
  static constexpr int kHeard = 2;

  /// Whether `one` outranks `other`: by the older store; if equally old, as copies are, by the
  /// smaller store id, then the smaller run. A store without a known beginning counts as the
  /// youngest.
  static bool goes_before(const outlet::Alive& one, const outlet::Alive& other);

  void we_are(outlet::Alive own) { own_ = std::move(own); }
  /// A live heartbeat on our own topic, possibly our own.
  void heard(const outlet::Alive& alive);
  /// `hearing`: the link is up and its backlog in. Silence counts only while we can hear.
  void look(Span since_boot, bool hearing);

  /// The service for which we stand aside; null: none.
  const outlet::Alive* aside_for() const;

 private:
  static constexpr std::size_t kMost = 16;

  struct Heard {
    outlet::Alive alive;
    int times = 0;
    Span last{};  ///< hearing time
  };
  outlet::Alive own_;
  std::map<std::string, Heard> older_;  ///< by run: those that outrank us
  HearingTime hearing_;
};

}  // namespace plainwater::service
