// What the pots of one bench got: their salts, the days without water, the flush that is advised.
#pragma once

#include <optional>

#include "feeding/request.h"
#include "feeding/salts.h"

namespace plainwater::engine {

struct Turn;

/// `bench` is the index of its own bench wherever a turn is given.
class Watering {
 public:
  const feeding::SaltBalance& salts() const { return salts_; }
  Instant watered() const { return watered_; }      ///< newest watering told; kNever: none
  Instant dry_since() const { return dry_since_; }  ///< from when the days without water count
  double flush_l() const { return flush_l_; }       ///< of the advice that stands, L; 0: none

  /// The days without water count from `now`, if they do not count yet.
  void watch_from(Instant now);
  /// Water of `ec` mS/cm went over the pots; without `litres` nobody knows how much.
  void water(std::optional<double> litres, double ec, Instant t, const Bench& bench);
  void runoff(double ec, Instant t, const Bench& bench) { salts_.runoff(ec, t, bench); }

  /// When the bench has been without water for too long; kForever: never by the settings.
  Instant dry_due(const Bench& bench) const;
  void tell_dry(std::size_t bench, const Turn& turn);
  /// On the morning `t`, when the air is `air_c` (NaN: unknown).
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
  /// A flush is advised now; `opens`: because a hold has begun.
  void tell_flush(std::size_t bench, Instant t, bool opens, double air_c, const Turn& turn);
  words::Sentence flush_in_words(const feeding::FlushAdvice& advice, double water_ec, bool opens,
                                 double warm_c) const;

  feeding::SaltBalance salts_;
  Instant watered_{kNever};
  Instant dry_since_{kNever};
  Instant flush_advised_{kNever};
  double flush_l_ = 0;
  std::uint32_t opened_hold_ = 0;  ///< the hold whose opening flush was advised
};

}  // namespace plainwater::engine
