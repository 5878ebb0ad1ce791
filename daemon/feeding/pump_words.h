// The sentences about pumps, and the figures behind them.
#pragma once

#include <string>

#include "feeding/dose_check.h"
#include "feeding/pump_watch.h"

namespace plainwater::feeding::words {

Evidence report_evidence(const DoseReport& report, const Given& given, int allowed_percent, const DoseCheck& check, const PumpContext& context);
std::string disobeyed(Cause cause, const DoseReport& report, const Given& given, int allowed_percent, const DoseCheck& check, const Pump& pump);
/// To follow what `disobeyed` says.
std::string followed_replaced_order();
std::string cap_passed(const Pump& pump, double litres, double feed_ml, bool feed);
std::string untrusted(const Pump& pump, int reports);

}  // namespace plainwater::feeding::words
