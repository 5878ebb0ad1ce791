// Other services at the broker: one under our own name, for which we may stand aside; those with an
// older store, whose orders take precedence over ours; and what people hear of overruled orders.
// Pure.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>

#include "notices/matter.h"
#include "orders/orders_seen.h"
#include "outlet/local_time.h"
#include "service/effects.h"
#include "service/elders.h"
#include "service/namesakes.h"
#include "service/router.h"
#include "service/spacing.h"

namespace plainwater::service {

class Others {
 public:
  /// `instance`: our name. `run`: this process; see CoreOptions.
  Others(std::string instance, std::string run, const outlet::LocalTime& local)
      : instance_(std::move(instance)), run_(std::move(run)), local_(local) {}

  /// Times are told by this zone from now on.
  void tell_times_by(const outlet::LocalTime& local) { local_ = local; }
  /// Sets who we are, as our orders say.
  void we_are(const orders::Self& self);
  void heard(const NamesakeSeen& seen);
  void heard(const PeerSeen& seen);
  /// `since_boot`: see clock::ClockSample; here and below. `hearing`: the link is up and its
  /// backlog in. Returns whether this changed whether we stand aside.
  bool look(Span since_boot, bool hearing, Effects& out);

  /// Another service under our name gives the orders.
  bool aside() const { return aside_; }
  /// Its store's id, while we stand aside.
  std::string aside_for() const { return aside_ ? namesakes_.aside_for()->store_id : ""; }
  /// See OrderBook::elders_heard.
  std::optional<std::set<std::string>> elders() const { return elders_.alive(); }
  /// What people are to hear of an overruled order; none: they know already, or a log line is
  /// enough.
  std::optional<notices::Matter> matter_of(const orders::Overruled& overruled, Instant now,
                                           Span since_boot, Effects& out);

 private:
  const std::string instance_, run_;
  outlet::LocalTime local_;
  Namesakes namesakes_;
  Elders elders_;
  bool aside_ = false;
  /// By bench and whether the order was within reason.
  std::map<std::pair<std::string, bool>, Spacing> overruled_told_;
};

}  // namespace plainwater::service
