// Pump reports in our own format, the journal's bodies, and lines of an export.
#include "common/utf8.h"
#include "fuzz.h"
#include "intake/arrival.h"
#include "outlet/dose_report.h"

using namespace plainwater;
using namespace plainwater::outlet;
using fuzz::expect;

namespace {

void check(const FieldFault& fault) {
  expect(!fault.problem.empty() && !fault.text().empty(), "a refusal says what is wrong");
  expect(is_utf8(fault.text()), "a refusal is text, whatever it quotes");
}

void check(const feeding::DoseReport& report) {
  const std::string body = to_json(report);
  const auto back = read_dose_body(body);
  expect(back.has_value(), "a report's body can be read");
  expect(*back == report, "a report comes back from its body");
  expect(to_json(*back) == body, "equal reports have equal bodies");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text = fuzz::text_of(data, size);
  const auto wire = parse_dose_report(text);
  if (const auto* message = std::get_if<DoseMessage>(&wire)) {
    check(message->report);
    expect(message->own_time == intake::time_by_pump(message->report.time).has_value() ||
               !message->own_time,
           "an own time is one of a clock that was set");
    expect(message->report.bench.empty() && message->report.source.empty(),
           "the wire form names neither bench nor source");
  } else {
    check(std::get<FieldFault>(wire));
  }
  if (const auto body = read_dose_body(text)) check(*body);
  const auto line = read_dose_line(text);
  if (const auto* timed = std::get_if<TimedDose>(&line)) {
    check(timed->report);
    const auto back = read_dose_line(dose_line(timed->now, timed->report));
    const auto* again = std::get_if<TimedDose>(&back);
    expect(again != nullptr && again->now == timed->now && again->report == timed->report,
           "an exported line can be read");
  } else {
    check(std::get<FieldFault>(line));
  }
  return 0;
}
