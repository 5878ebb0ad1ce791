// Pump reports in foreign formats, and their round trip through the journal's body.
#include <cmath>

#include "common/json_text.h"
#include "fuzz.h"
#include "intake/dose_payload.h"
#include "outlet/dose_report.h"

using namespace plainwater;
using namespace plainwater::intake;
using fuzz::expect;

namespace {

PumpReport report(PayloadForm form, DoseField value = DoseField::litres) {
  PumpReport mapping;
  mapping.name = "meter";
  mapping.pump = "long";
  mapping.form = form;
  mapping.value = value;
  const std::string lead = form == PayloadForm::json ? "/" : "b:";
  if (form == PayloadForm::number) return mapping;
  mapping.litres = lead + "l";
  mapping.litres_total = lead + "lt";
  mapping.feed = lead + "f";
  mapping.feed_total = lead + "ft";
  mapping.strength = lead + "s";
  mapping.ec = lead + "ec";
  mapping.runoff_ec = lead + "r";
  mapping.water_temperature = lead + "w";
  if (form == PayloadForm::json) mapping.time = "/at";
  return mapping;
}

PumpReport scaled() {
  PumpReport mapping = report(PayloadForm::json);
  mapping.litres_scale = 3.785411784;
  mapping.feed_scale = 1e-3;
  mapping.ec_unit = EcUnit::us_per_cm;
  mapping.unit = Unit::fahrenheit;
  return mapping;
}

const PumpReport kMappings[] = {report(PayloadForm::json),
                                report(PayloadForm::senml),
                                scaled(),
                                report(PayloadForm::number, DoseField::litres_total),
                                report(PayloadForm::number, DoseField::strength),
                                report(PayloadForm::number, DoseField::ec)};

void check(const std::optional<double>& figure, double least, double most) {
  if (!figure) return;
  expect(std::isfinite(*figure) && *figure >= least && *figure <= most,
         "a figure lies within its range");
  expect(!std::signbit(*figure) || *figure < 0, "there is no negative zero");
  expect(rounded(*figure) == *figure, "a figure is rounded to a millionth");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::string_view bytes = fuzz::text_of(data, size);
  const PumpReport& mapping = kMappings[fuzz::choice(bytes, std::size(kMappings))];
  Payload payload(bytes);
  const DecodedDoses decoded = decode_doses(payload, mapping);
  expect(!decoded.reports.empty() || decoded.refusal, "what gives no report has a reason");
  expect(decode_doses(payload, mapping) == decoded,
         "a payload that is decoded twice says the same");
  for (std::size_t i = 0; i < decoded.reports.size(); ++i) {
    const ReportedDose& dose = decoded.reports[i];
    check(dose.litres, 0, kMostLitres);
    check(dose.litres_total, 0, kMostTotal);
    check(dose.feed_ml, 0, kMostFeedMl);
    check(dose.feed_ml_total, 0, kMostTotal);
    check(dose.strength_percent, 0, 100);
    check(dose.ec, 0, kMostEc);
    check(dose.runoff_ec, 0, kMostEc);
    check(dose.water_c, kColdestWater, kHottestWater);
    expect(dose.litres || dose.litres_total || dose.feed_ml || dose.feed_ml_total ||
               dose.strength_percent || dose.ec || dose.runoff_ec,
           "a report has more than a temperature");
    expect(!dose.time || dose.from_arrival == Span{0},
           "what has an own time does not count from its arrival");
    if (i > 0)
      expect(std::pair(decoded.reports[i - 1].time, decoded.reports[i - 1].from_arrival) <
                 std::pair(dose.time, dose.from_arrival),
             "reports come in the order of their times");
    const feeding::DoseReport report = outlet::report_of(
        dose, mapping, dose.time.value_or(from_seconds(1'789'363'860) + dose.from_arrival));
    const auto back = outlet::read_dose_body(outlet::to_json(report));
    expect(back && *back == report, "a report comes back from its journal body");
  }
  return 0;
}
