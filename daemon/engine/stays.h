// Where a bench stood since when: its stays in the current cycle, and the one before that reaches
// into it.
#pragma once

#include <vector>

#include "common/instant.h"
#include "common/position.h"

namespace plainwater::engine {

class Stays {
 public:
  bool empty() const { return stays_.empty(); }
  /// The bench stands there from `from` on; replaces what was said about later times.
  void stand(Instant from, Position position);
  /// Where the bench stood for most of the night; forgets earlier stays.
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
