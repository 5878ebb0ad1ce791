// What a pump gave, from reports that may come twice, out of order, or as totals of counters that
// are reset.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "feeding/dose_report.h"

namespace plainwater::feeding {

/// Reports this much older than engine time are history: longer than the longest plain water
/// between two looks.
inline constexpr Span kReportsKept = 35 * kDay;

/// What one report adds.
struct Given {
  std::optional<double> litres;  ///< none: not told, or the first total of a counter
  std::optional<double> feed_ml;
  Instant time{};        ///< the report's; one from the future counts as now
  Instant from{};        ///< water was given after this; the same as `time` when nothing tells
  Instant stock_from{};  ///< stock was
  Instant moment{};  ///< when the watering began that `time` ended; the same as `time` when nothing
                     ///< tells
  bool reset = false;  ///< a counter began anew
};

class PumpCounters {
 public:
  /// True when a report of this source and time was taken before.
  bool seen(const DoseReport& report) const;
  /// A total older than the last one of its source adds nothing.
  Given take(const DoseReport& report, Instant now);

  template <class A>
  void fields(A& a) {
    a(sources_);
  }

 private:
  struct Counter {
    Instant time{kNever};  ///< of its last total
    std::optional<double> total;
    /// What was added since, and from when on; nothing for a total that is older, or the first.
    std::optional<double> grown(const std::optional<double>& now, Instant at, Instant& from,
                                bool& reset);
    template <class A>
    void fields(A& a) {
      a(time);
      a(total);
    }
  };
  struct Source {
    std::vector<Instant> times;  ///< of reports taken, sorted
    Counter litres, feed_ml;
    template <class A>
    void fields(A& a) {
      a(times);
      a(litres);
      a(feed_ml);
    }
  };
  std::map<std::string, Source> sources_;
};

}  // namespace plainwater::feeding
