// Where a bench stood since when: the stays of the running cycle, and the one before it that still
// lasts.
#pragma once

#include <vector>

#include "common/instant.h"
#include "common/position.h"

namespace plainwater::engine {

class Stays {
 public:
  bool empty() const { return stays_.empty(); }
  /// It stands there from then on; what was told of a later time is taken back.
  void stand(Instant from, Position position);
  /// Where it stood for most of the night; stays of before are forgotten.
  Position take_night(Instant sunset, Instant sunrise);

  template <class A>
  void fields(A& a) {
    a(stays_);
  }

 private:
  struct Stay {
    Instant from{};
    Position position = Position::unknown;
    template <class A>
    void fields(A& a) {
      a(from);
      a(position);
    }
  };
  std::vector<Stay> stays_;  ///< in order of time
};

}  // namespace plainwater::engine
