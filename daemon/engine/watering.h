// The watering of one bench: the salts in its pots, the days without water, and the flush advised.
#pragma once

#include <optional>

#include "feeding/request.h"
#include "feeding/salts.h"

namespace plainwater::engine {

struct Turn;

/// Where a turn is given, `bench` is the index of this watering's bench.
class Watering {
 public:
  const feeding::SaltBalance& salts() const { return salts_; }
  Instant watered() const { return watered_; }      ///< newest reported watering; kNever: none
  Instant dry_since() const { return dry_since_; }  ///< the days without water count from here
  double flush_l() const { return flush_l_; }       ///< of the advice in force, L; 0: none

  /// Starts counting the days without water at `now`, unless they are already being counted.
  void watch_from(Instant now);
  /// Water of `ec` mS/cm went over the pots; no `litres`: nobody knows how much.
  void water(std::optional<double> litres, double ec, Instant t, const Bench& bench);
  void runoff(double ec, Instant t, const Bench& bench) { salts_.runoff(ec, t, bench); }

  /// When the bench will have been without water for too long; kForever: the settings set no limit.
  Instant dry_due(const Bench& bench) const;
  void tell_dry(std::size_t bench, const Turn& turn);
  /// Called on the morning `t`, with air of `air_c` (NaN: unknown).
  void advise_flush(std::size_t bench, Instant t, double air_c, const Turn& turn);

  feeding::Reply take_watered(const feeding::Request& request, std::size_t bench, const Turn& turn);
  feeding::Reply take_runoff(const feeding::Request& request, std::size_t bench, const Turn& turn);

  template <class A>
  void fields(A& a) {
    a(salts_);
    a(watered_);
    a(dry_since_);
    a(flush_advised_);
    a(flush_l_);
    a(opened_hold_);
  }

 private:
  /// Advises a flush now; `opens`: because a hold has begun.
  void tell_flush(std::size_t bench, Instant t, bool opens, double air_c, const Turn& turn);
  words::Sentence flush_in_words(const feeding::FlushAdvice& advice, double water_ec, bool opens,
                                 double warm_c) const;

  feeding::SaltBalance salts_;
  Instant watered_{kNever};
  Instant dry_since_{kNever};
  Instant flush_advised_{kNever};
  double flush_l_ = 0;
  std::uint32_t opened_hold_ = 0;  ///< id of the hold whose opening flush was advised
};

}  // namespace plainwater::engine
