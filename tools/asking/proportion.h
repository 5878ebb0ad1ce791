// Whether an amount is out of proportion to the bench that it is said of: perhaps a mistyped one.
#pragma once

#include "settings/settings.h"

namespace plainwater::asking {

/// A thorough watering fills what the pots hold and lets as much again drain; flushing salts takes
/// two or three times the volume of the pots. More than this many times is no watering.
inline constexpr double kMostPotVolumes = 5;
/// Where the settings name no pots: a cubic metre, more than is carried to a bench by hand.
inline constexpr double kMostByHand_l = 1000;

/// More litres than this for one watering of the whole bench should be asked about.
inline double most_litres(const Bench& bench) {
  const double pots_l = bench.pots * bench.pot_l;
  return pots_l > 0 ? kMostPotVolumes * pots_l : kMostByHand_l;
}

}  // namespace plainwater::asking
