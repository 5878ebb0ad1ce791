// Pumps' reports: the form of `benches/<bench>/dosed` as it comes, the journal's body, and a line
// of an export. Described in config/schemas/dosed.json.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include "feeding/dose_report.h"
#include "intake/dose_payload.h"
#include "outlet/json_fields.h"
#include "settings/settings.h"

namespace plainwater::outlet {

/// Longer payloads are refused unread.
inline constexpr std::size_t kLargestDoseReport = 16 * 1024;

/// What a pump published. Bench, source and, without a time of its own, the time are for the caller
/// to fill in; a pump's name, when it is given, to be compared.
struct DoseMessage {
  feeding::DoseReport report;
  bool own_time = false;
};
/// {"time"?, "pump"?, "litres"? …}, numbers in the ranges of intake/dose_payload.h. Something given
/// must be told. Fields that are not known are refused by name. Words of faults: "too-long",
/// "not-json", and those of json_fields.h.
std::variant<DoseMessage, FieldFault> parse_dose_report(std::string_view json);

/// The body of a journal row: all that is set, in an order that never changes; equal reports give
/// equal bytes.
std::string to_json(const feeding::DoseReport& report);
/// Nothing when it is no such body.
std::optional<feeding::DoseReport> read_dose_body(std::string_view body);

/// What a mapped payload told, at the time to use; the mapping's name is the source.
feeding::DoseReport report_of(const intake::ReportedDose& told, const PumpReport& mapping,
                              Instant time);

/// {"now": …, …body…}: a report and the engine time at which it was taken, for export and
/// rehearsal.
struct TimedDose {
  Instant now{};
  feeding::DoseReport report;
};
std::string dose_line(Instant now, const feeding::DoseReport& report);
std::variant<TimedDose, FieldFault> read_dose_line(std::string_view line);

}  // namespace plainwater::outlet
