// Other services under our own name at the broker: two stores, one `instance`. Each would give its
// orders over the other's for ever. Of two, the one with the older store goes on, since it knows
// more; the other stands aside, and takes over again when nothing is heard of the first. Pure.
//
// A lost session says nothing about who took it, and a retained heartbeat may be of a service that
// is gone: only live heartbeats count, and only the second of the same service.
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
  /// Heartbeats come every minute; after three that did not, a service counts as gone.
  static constexpr Span kSilence = outlet::kServiceExpiry;
  static constexpr int kHeard = 2;

  /// Of the older store; of two as old, as copies are, the smaller store id, then the smaller run.
  /// A store whose beginning no clock could tell is the youngest.
  static bool goes_before(const outlet::Alive& one, const outlet::Alive& other);

  void we_are(outlet::Alive own) { own_ = std::move(own); }
  /// A live heartbeat on our own topic; our own too.
  void heard(const outlet::Alive& alive);
  /// `hearing`: the link is up and its backlog in. Silence is counted while we can hear.
  void look(Span since_boot, bool hearing);

  /// For whom we stand aside; null: for nobody.
  const outlet::Alive* aside_for() const;

 private:
  static constexpr std::size_t kMost = 16;

  struct Heard {
    outlet::Alive alive;
    int times = 0;
    Span last{};  ///< hearing time
  };
  outlet::Alive own_;
  std::map<std::string, Heard> older_;  ///< by run: those that go before us
  HearingTime hearing_;
};

}  // namespace plainwater::service
