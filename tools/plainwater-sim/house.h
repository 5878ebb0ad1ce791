// The air at each place of Tern Bank: heated benches behind glass, a bench on wheels, a parlour.
#pragma once

#include "plainwater-sim/weather.h"

namespace plainwater::sim {

enum class Place { mist, long_bench, cold_end, courtyard, outdoors, parlour };

/// The story, the same every year:
///   to 3 September     the courtyard bench stands outdoors; then on mild days only, else in the porch
///   14 September       a front; the cold end leaks and the porch is cool: both see sharply cooler nights
///   1 November         the courtyard bench moves into the parlour; from 10 May it stands out on mild days
///   12 to 14 January   the long bench's heating fails for two nights
class House {
 public:
  explicit House(Weather weather) : weather_(weather) {}
  Air air(Place place, Instant t) const;

 private:
  struct Glass;
  Air behind_glass(const Glass& glass, Instant t) const;
  Air parlour(Instant t) const;
  Air courtyard(Instant t) const;
  Weather weather_;
};

}  // namespace plainwater::sim
