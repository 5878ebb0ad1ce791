// Records decisions about one bench at one moment, each with the bench's name and the hold in
// force.
#pragma once

#include <string>
#include <vector>

#include "feeding/hold_keeper.h"

namespace plainwater::feeding {

using Decisions = std::vector<Decision>;

/// Lives within one call; everything passed to it must outlive it.
class Teller {
 public:
  Teller(const Bench& bench, const Settings& settings, const HoldKeeper& holds, Instant t,
         Decisions& out)
      : bench_(bench), settings_(settings), holds_(holds), t_(t), out_(out) {}

  /// Adds a decision; the caller must still put it into words. The reference is valid until the
  /// next call.
  Decision& tell(DecisionKind kind, Cause cause) const;

  const Bench& bench() const { return bench_; }
  const Settings& settings() const { return settings_; }
  const DropRules& drops() const { return settings_.drops; }
  const FeedingRules& rules() const { return settings_.feeding; }
  Instant t() const { return t_; }
  Decisions& told() const { return out_; }
  /// As the site's clocks show it, for sentences.
  Instant local(Instant t) const { return settings_.site.local(t); }
  words::Value day(Instant t) const { return words::day(local(t), local(t_)); }
  bool holding() const { return holds_.in_force(); }
  /// The hold in force as the site's clocks show it; there must be one.
  HoldView local_hold() const { return holds_.local_view(settings_); }
  /// When the hold in force ends: a date that a person set, or "about" one; there must be one.
  words::Value hold_end() const { return end_of(*holds_.hold()); }
  words::Value end_of(const Hold& hold) const;

 private:
  const Bench& bench_;
  const Settings& settings_;
  const HoldKeeper& holds_;
  Instant t_;
  Decisions& out_;
};

}  // namespace plainwater::feeding
