// What this room remembers of one bench.
#pragma once

#include "season/acclimation.h"
#include "season/move_watch.h"
#include "season/position_watch.h"
#include "season/sharp_drop.h"

namespace plainwater::season {

struct BenchSeason {
  Acclimation acclimation;
  SharpDrop drop;
  PositionWatch position;
  MoveWatch moves;
  template <class A>
  void fields(A& a) {
    a(acclimation);
    a(drop);
    a(position);
    a(moves);
  }
};

}  // namespace plainwater::season
