// What tests of moves ask of a bench's decisions.
#pragma once

#include "test_bench.h"

namespace plainwater::feeding {

inline constexpr Position kIn = Position::indoors, kOut = Position::outdoors;

inline bool says(const Decision& d, const std::string& text) {
  return d.evidence.json().find(text) != std::string::npos;
}
inline int with_cause(const TestBench& b, DecisionKind kind, Cause cause) {
  return static_cast<int>(std::count_if(b.out.begin(), b.out.end(), [=](const Decision& d) {
    return d.kind == kind && d.cause == cause;
  }));
}
inline int holds(const TestBench& b) {
  return b.count(DecisionKind::hold_placed) + b.count(DecisionKind::hold_extended);
}

/// A bench of an ordinary autumn on full feed. The guard would let pass what lands at 17 °C.
inline TestBench fed(double night_c = 18) {
  TestBench b;
  b.nights(40, night_c);
  REQUIRE(b.share().feeding == Feeding::full);
  return b;
}

}  // namespace plainwater::feeding
