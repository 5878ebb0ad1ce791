// How much a pump gave, from reports that may come twice, out of order, or as totals of counters
// that get reset.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "feeding/dose_report.h"

namespace plainwater::feeding {

/// Reports older than this against engine time are history. Longer than plain water ever lasts
/// between two looks.
inline constexpr Span kReportsKept = 35 * kDay;

/// What one report adds.
struct Given {
  std::optional<double> litres;  ///< none: not reported, or the first total of a counter
  std::optional<double> feed_ml;
  Instant time{};        ///< the report's time; one from the future counts as now
  Instant from{};        ///< water was given after this; equals `time` when unknown
  Instant stock_from{};  ///< stock was given after this
  Instant moment{};    ///< when the watering that ended at `time` began; equals `time` when unknown
  bool reset = false;  ///< a counter started again
};

class PumpCounters {
 public:
  /// Whether a report of this source and time was already taken.
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
    /// How much was added, and since when (`from`); none for an older or a first total.
    std::optional<double> grown(const std::optional<double>& now, Instant at, Instant& from,
                                bool& reset);
    template <class A>
    void fields(A& a) {
      a(time);
      a(total);
    }
  };
  struct Source {
    std::vector<Instant> times;  ///< of the reports taken, sorted
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
