// The air at each place of Tern Bank: heated benches behind glass, a bench on wheels, a parlour.
#pragma once

#include "plainwater-sim/weather.h"

namespace plainwater::sim {

enum class Place { mist, long_bench, cold_end, courtyard, outdoors, parlour };

/// The story, the same every year:
///
/// - To 3 September the courtyard bench is outdoors; then only on mild days, with nights in the
/// parlour.
///
/// - On 14 September a front arrives: the cold end leaks, and its nights turn sharply cooler.
///
/// - From 1 November the courtyard bench stays in the parlour; from 10 May it is out on mild days,
/// from 1 June for good.
///
/// - From 12 to 14 January the long bench's heating fails for two nights.
class House {
 public:
  explicit House(Weather weather) : weather_(weather) {}
  Air air(Place place, Instant t) const;

 private:
  struct Glass;
  Air behind_glass(const Glass& glass, Instant t) const;
  Air parlour(Instant t) const;
  bool rolled_out(Instant t) const;
  Air courtyard_place(bool out, Instant t) const;
  Air courtyard(Instant t) const;
  Weather weather_;
};

}  // namespace plainwater::sim
