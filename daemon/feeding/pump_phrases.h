// What people read about pumps, and the figures behind it.
#pragma once

#include "feeding/dose_check.h"
#include "feeding/pump_watch.h"
#include "words/sentence.h"

namespace plainwater::feeding {

/// What a pump gave on one day of the site's clocks.
struct DayGiven {
  std::int64_t local_day = 0;  ///< since 1970
  double litres = 0, feed_ml = 0;
  double flush_l = 0;  ///< the part of `litres` that an advised flush may account for
};

namespace phrases {

/// As a person would write it: no more figures than a meter has.
words::Value amount(double value);
Evidence report_evidence(const DoseReport& report, const Given& given, int allowed_percent,
                         const DoseCheck& check, const PumpContext& context);
words::Sentence disobeyed(Cause cause, const DoseReport& report, const Given& given,
                          int allowed_percent, const DoseCheck& check, const Pump& pump);
/// Goes after what `disobeyed` says.
words::Sentence followed_replaced_order();
Evidence day_evidence(const DayGiven& day, const Pump& pump);
words::Sentence water_cap_passed(const DayGiven& day, const Pump& pump);
words::Sentence feed_cap_passed(const DayGiven& day, const Pump& pump);
words::Sentence untrusted(const Pump& pump, int reports);

}  // namespace phrases
}  // namespace plainwater::feeding
