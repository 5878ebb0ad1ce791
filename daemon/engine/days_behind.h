// Benches that lose by sharing a pump: on how many days each got less feed than it might have.
#pragma once

#include <map>
#include <string>

#include "engine/pump_share.h"

namespace plainwater::engine {

struct Turn;

class DaysBehind {
 public:
  /// Counts one more day of the pump with this share; asks the grower about benches that have lost
  /// for long.
  void count(const Pump& pump, const PumpShare& share, Instant t, const Turn& turn);
  /// Follows benches to their present names, and forgets those that the pump no longer waters. Of
  /// one that left the settings the days are kept until somebody says what became of it.
  void follow(const Pump& pump, const Settings& settings,
              const std::map<std::string, BenchState>& gone);
  std::map<std::string, int> days(const Pump& pump) const;  ///< by bench that it waters

  template <class A>
  void fields(A& a) {
    a(by_bench_);
  }

 private:
  struct Behind {
    std::int32_t days = 0, asked = 0;
    template <class A>
    void fields(A& a) {
      a(days);
      a(asked);
    }
  };
  std::map<std::string, Behind> by_bench_;
};

}  // namespace plainwater::engine
