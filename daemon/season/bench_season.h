// What season keeps for one bench.
#pragma once

#include "season/acclimation.h"
#include "season/sharp_drop.h"

namespace plainwater::season {

struct BenchSeason {
  Acclimation acclimation;
  SharpDrop drop;
  template <class A>
  void fields(A& a) { a(acclimation); a(drop); }
};

}  // namespace plainwater::season
