#include "outlet/dose_report.h"

#include <algorithm>
#include <array>
#include <boost/json.hpp>

#include "common/json_text.h"
#include "common/quoted.h"
#include "intake/arrival.h"

namespace plainwater::outlet {
namespace {

using feeding::DoseReport;

// 2020-01-01: a pump's clock before it was never set

struct Figure {
  const char* key;
  std::optional<double> DoseReport::* figure;
  NumberRange range;
  bool tells;  ///< of something given, so that it makes a report by itself
};
constexpr std::array kFigures = {
    Figure{"litres", &DoseReport::litres, {0, intake::kMostLitres}, true},
    Figure{"litres_total", &DoseReport::litres_total, {0, intake::kMostTotal}, true},
    Figure{"feed_ml", &DoseReport::feed_ml, {0, intake::kMostFeedMl}, true},
    Figure{"feed_ml_total", &DoseReport::feed_ml_total, {0, intake::kMostTotal}, true},
    Figure{"strength_percent", &DoseReport::strength_percent, {0, 100}, true},
    Figure{"ec", &DoseReport::ec, {0, intake::kMostEc}, true},
    Figure{"water_c", &DoseReport::water_c, {intake::kColdestWater, intake::kHottestWater}, false},
    Figure{"runoff_ec", &DoseReport::runoff_ec, {0, intake::kMostEc}, true},
};

/// What beside the figures may stand in the object.
enum class Form { wire, body, line };

bool known(std::string_view key, Form form) {
  if (std::any_of(kFigures.begin(), kFigures.end(), [&](const Figure& f) { return key == f.key; }))
    return true;
  if (key == "time" || key == "began" || key == "pump" || key == "ec_compensated" ||
      key == "epoch" || key == "sequence")
    return true;
  if (form != Form::wire && (key == "bench" || key == "source")) return true;
  return form == Form::line && key == "now";
}

struct Read {
  DoseReport report;
  std::optional<Instant> time, now;
};

std::variant<Read, FieldFault> read(std::string_view json, Form form) {
  if (json.size() > kLargestDoseReport)
    return FieldFault{"too-long",
                      words::say("report.too-long", {{"most", words::count(kLargestDoseReport)}})};
  boost::system::error_code broken;
  const auto value = boost::json::parse({json.data(), json.size()}, broken);
  if (broken)
    return FieldFault{"not-json",
                      words::say("report.not-json", {{"why", words::name(broken.message())}})};
  if (!value.is_object()) return FieldFault{"not-json", words::say("report.no-object")};

  JsonFields fields(value.get_object(), words::say("report.the-report"),
                    form == Form::wire ? Source::wire : Source::record);
  for (const auto& member : value.get_object()) {
    const std::string_view key(member.key().data(), member.key().size());
    if (!known(key, form))
      fields.fail("unknown-field",
                  words::say("report.no-field", {{"field", words::name(quoted(key, 60))}}));
  }
  Read out;
  DoseReport& report = out.report;
  if (form == Form::line) out.now = fields.time("now", true);
  out.time = fields.time("time", form != Form::wire);
  report.began = fields.time("began", false);
  if (form == Form::wire && out.time && !intake::time_by_pump(out.time))
    out.time = report.began = std::nullopt;
  report.time = out.time.value_or(Instant{});
  report.pump = fields.text("pump", false);
  report.bench = fields.text("bench", false);
  report.source = fields.text("source", false);
  bool tells = false;
  for (const Figure& f : kFigures) {
    report.*f.figure = fields.number(f.key, false, f.range);
    tells = tells || (f.tells && report.*f.figure);
  }
  report.ec_compensated = fields.flag("ec_compensated", true);
  report.epoch = fields.count("epoch");
  report.sequence = fields.count("sequence");
  if (!tells)
    fields.fail("missing-field",
                words::say("report.nothing-given", {{"litres", words::name("litres")},
                                                    {"feed", words::name("feed_ml")},
                                                    {"strength", words::name("strength_percent")},
                                                    {"ec", words::name("ec")},
                                                    {"runoff", words::name("runoff_ec")}}));
  if (fields.fault()) return *fields.fault();
  return out;
}

void put_report(JsonObject& json, const DoseReport& report) {
  json.text("time", format_rfc3339(report.time));
  if (report.began) json.text("began", format_rfc3339(*report.began));
  for (const auto& [key, text] :
       {std::pair("pump", &report.pump), std::pair("bench", &report.bench),
        std::pair("source", &report.source)})
    if (!text->empty()) json.text(key, *text);
  for (const Figure& f : kFigures)
    if (report.*f.figure) json.raw(f.key, plain_number(*(report.*f.figure)));
  if (!report.ec_compensated) json.boolean("ec_compensated", false);
  if (report.epoch) json.integer("epoch", *report.epoch);
  if (report.sequence) json.integer("sequence", *report.sequence);
}

}  // namespace

std::variant<DoseMessage, FieldFault> parse_dose_report(std::string_view json) {
  auto parsed = read(json, Form::wire);
  if (const auto* fault = std::get_if<FieldFault>(&parsed)) return *fault;
  auto& found = std::get<Read>(parsed);
  return DoseMessage{std::move(found.report), found.time.has_value()};
}

std::string to_json(const DoseReport& report) {
  JsonObject json;
  put_report(json, report);
  return json.str();
}

std::optional<DoseReport> read_dose_body(std::string_view body) {
  auto parsed = read(body, Form::body);
  if (auto* found = std::get_if<Read>(&parsed)) return std::move(found->report);
  return std::nullopt;
}

DoseReport report_of(const intake::ReportedDose& told, const PumpReport& mapping, Instant time) {
  DoseReport report;
  report.pump = mapping.pump;
  report.bench = mapping.bench;
  report.source = mapping.name;
  report.time = time;
  report.litres = told.litres;
  report.litres_total = told.litres_total;
  report.feed_ml = told.feed_ml;
  report.feed_ml_total = told.feed_ml_total;
  report.strength_percent = told.strength_percent;
  report.ec = told.ec;
  report.ec_compensated = mapping.ec_compensated;
  report.water_c = told.water_c;
  report.runoff_ec = told.runoff_ec;
  return report;
}

std::string dose_line(Instant now, const DoseReport& report) {
  JsonObject json;
  json.text("now", format_rfc3339(now));
  put_report(json, report);
  return json.str();
}

std::variant<TimedDose, FieldFault> read_dose_line(std::string_view line) {
  auto parsed = read(line, Form::line);
  if (const auto* fault = std::get_if<FieldFault>(&parsed)) return *fault;
  auto& found = std::get<Read>(parsed);
  return TimedDose{*found.now, std::move(found.report)};
}

}  // namespace plainwater::outlet
