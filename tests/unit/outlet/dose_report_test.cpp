#include "outlet/dose_report.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "common/json_text.h"

using namespace plainwater;
using namespace plainwater::outlet;
using feeding::DoseReport;

namespace {

DoseMessage good(const std::string& json) {
  const auto parsed = parse_dose_report(json);
  if (const auto* fault = std::get_if<FieldFault>(&parsed))
    FAIL(json << ": " << fault->problem << ": " << fault->text());
  return std::get<DoseMessage>(parsed);
}

FieldFault bad(const std::string& json) {
  const auto parsed = parse_dose_report(json);
  INFO(json);
  REQUIRE(std::holds_alternative<FieldFault>(parsed));
  return std::get<FieldFault>(parsed);
}

const Instant kMorning = parse_rfc3339("2026-09-14T05:31:00Z").value();
const std::string kWhole =
    R"({"time":"2026-09-14T06:31:00+01:00","pump":"long","litres":5.5,"litres_total":1205.5,"feed_ml":27.5,"feed_ml_total":6000,)"
    R"("strength_percent":50,"ec":0.85,"ec_compensated":false,"water_c":18.25,"runoff_ec":1.2,"epoch":2,"sequence":1789363860})";

}  // namespace

TEST_CASE("a report with everything") {
  const auto [report, own_time] = good(kWhole);
  CHECK(own_time);
  CHECK(report.time == kMorning);
  CHECK(report.pump == "long");
  CHECK(report.bench.empty());
  CHECK(report.source.empty());
  CHECK(report.litres == 5.5);
  CHECK(report.litres_total == 1205.5);
  CHECK(report.feed_ml == 27.5);
  CHECK(report.feed_ml_total == 6000);
  CHECK(report.strength_percent == 50);
  CHECK(report.ec == 0.85);
  CHECK_FALSE(report.ec_compensated);
  CHECK(report.water_c == 18.25);
  CHECK(report.runoff_ec == 1.2);
  CHECK(report.epoch == 2);
  CHECK(report.sequence == 1'789'363'860);
}

TEST_CASE("one figure is enough, but a temperature is none of what was given") {
  for (const char* key : {"litres", "litres_total", "feed_ml", "feed_ml_total", "strength_percent",
                          "ec", "runoff_ec"}) {
    const auto [report, own_time] = good("{\"" + std::string(key) + "\":0}");
    CHECK_FALSE(own_time);
    CHECK(report.ec_compensated);
  }
  for (const char* json :
       {"{}", R"({"water_c":18})", R"({"pump":"long","time":"2026-09-14T05:31:00Z"})",
        R"({"epoch":1,"sequence":2})"})
    CHECK(bad(json).problem == "missing-field");
}

TEST_CASE("a field that is not known is refused by its name") {
  for (const char* key : {"liters", "litre", "feed", "bench", "source", "now", "x"}) {
    const auto fault = bad("{\"litres\":5,\"" + std::string(key) + "\":\"mist\"}");
    CHECK(fault.problem == "unknown-field");
    CHECK(fault.text().find('"' + std::string(key) + '"') != std::string::npos);
  }
}

TEST_CASE("figures out of range, or no numbers, are refused by name") {
  for (const auto& [key, most] :
       {std::pair("litres", "100000"), std::pair("litres_total", "1000000000"),
        std::pair("feed_ml", "10000000"), std::pair("feed_ml_total", "1000000000"),
        std::pair("strength_percent", "100"), std::pair("ec", "20"), std::pair("runoff_ec", "20"),
        std::pair("water_c", "100")}) {
    const std::string begin = R"({"litres":1,")" + std::string(key) + "\":";
    good(begin + most + "}");
    for (const std::string& value :
         {std::string(most) + ".001", std::string("-5.001"), std::string("1e400"),
          std::string("-1e400"), std::string("\"1\""), std::string("null"), std::string("true"),
          std::string("[1]"), std::string("{}")}) {
      const auto fault = bad(begin + value + "}");
      CHECK(fault.problem == "bad-value");
      CHECK(fault.text().find(key) == 0);
    }
  }
}

TEST_CASE("times, names and numbers of orders are checked") {
  for (const char* time : {"\"yesterday\"", "1789363860", "null"})
    CHECK(bad("{\"litres\":1,\"time\":" + std::string(time) + "}").problem == "bad-value");
  for (const char* time :
       {"1970-01-01T00:00:10Z", "2001-03-04T05:06:07Z", "2019-12-31T23:59:59Z"}) {
    const auto unset = parse_dose_report(R"({"litres":1,"time":")" + std::string(time) +
                                         R"(","began":")" + time + "\"}");
    REQUIRE(std::holds_alternative<DoseMessage>(unset));
    CHECK_FALSE(std::get<DoseMessage>(unset).own_time);  // a clock that nobody has set
    CHECK_FALSE(std::get<DoseMessage>(unset).report.began);
  }
  CHECK(bad(R"({"litres":1,"pump":7})").problem == "bad-value");
  CHECK(bad(R"({"litres":1,"pump":")" + std::string(501, 'x') + "\"}").problem == "bad-value");
  CHECK(bad(R"({"litres":1,"ec_compensated":1})").problem == "bad-value");
  for (const char* number :
       {"-1", "1.5", "9007199254740992", "18446744073709551615", "1e3", "\"1\"", "null"}) {
    CHECK(bad("{\"litres\":1,\"epoch\":" + std::string(number) + "}").problem == "bad-value");
    CHECK(bad("{\"litres\":1,\"sequence\":" + std::string(number) + "}").problem == "bad-value");
  }
  CHECK(good(R"({"litres":1,"epoch":9007199254740991})").report.epoch == 9'007'199'254'740'991);
}

TEST_CASE("what is no report is refused for what it is") {
  for (const char* text : {"", "{", "[]", "null", "5", "\"5\"", "{\"litres\":NaN}",
                           "{\"litres\":1}{}", "{\"pump\":\"\xff\",\"litres\":1}"})
    CHECK(bad(text).problem == "not-json");
  CHECK(bad(std::string(5000, '{')).problem == "not-json");
  CHECK(bad("{\"litres\":1}" + std::string(kLargestDoseReport, ' ')).problem == "too-long");
}

TEST_CASE("every beginning of a good report is refused") {
  for (std::size_t length = 0; length < kWhole.size(); ++length)
    CHECK(bad(kWhole.substr(0, length)).problem == "not-json");
}

TEST_CASE("a journal body, to the byte") {
  auto report = good(kWhole).report;
  report.bench = "cold-end";
  report.source = "dosed";
  CHECK(
      to_json(report) ==
      R"({"time":"2026-09-14T05:31:00Z","pump":"long","bench":"cold-end","source":"dosed","litres":5.5,)"
      R"("litres_total":1205.5,"feed_ml":27.5,"feed_ml_total":6000,"strength_percent":50,"ec":0.85,)"
      R"("water_c":18.25,"runoff_ec":1.2,"ec_compensated":false,"epoch":2,"sequence":1789363860})");
  CHECK(read_dose_body(to_json(report)) == report);
  DoseReport small;
  small.time = kMorning + milliseconds(250);
  small.litres_total = 0;
  CHECK(to_json(small) == R"({"time":"2026-09-14T05:31:00.250Z","litres_total":0})");
  CHECK(read_dose_body(to_json(small)) == small);
  for (const char* body :
       {"", "dose", "{}", R"({"litres":1})", R"({"time":"2026-09-14T05:31:00Z"})",
        R"({"time":"2026-09-14T05:31:00Z","litres":1,"now":1})"})
    CHECK_FALSE(read_dose_body(body));
}

TEST_CASE("any report comes back from its body equal, and its body equal from it") {
  std::mt19937_64 chance(20260914);
  const auto number = [&](double most) {
    std::uniform_real_distribution<double> scale(-7, std::log10(most));
    return rounded(std::min(most, std::pow(10.0, scale(chance))), 6);
  };
  const auto perhaps = [&](double most) {
    return chance() % 3 == 0 ? std::nullopt : std::optional(number(most));
  };
  for (int i = 0; i < 20'000; ++i) {
    DoseReport report;
    report.time = kMorning + Span(static_cast<std::int64_t>(chance() % 1'000'000'000));
    report.pump = i % 2 == 0 ? "long" : "p\u00fc\"\\\n";
    if (i % 3 == 0) report.bench = "cold-end";
    report.source = std::string(i % 5, 's');
    report.runoff_ec = number(intake::kMostEc);
    report.litres = perhaps(intake::kMostLitres);
    report.litres_total = perhaps(intake::kMostTotal);
    report.feed_ml = perhaps(intake::kMostFeedMl);
    report.feed_ml_total = perhaps(intake::kMostTotal);
    report.strength_percent = perhaps(100);
    report.ec = perhaps(intake::kMostEc);
    report.water_c = i % 4 == 0 ? std::optional(-number(5)) : perhaps(100);
    if (report.water_c == 0) report.water_c = 0;  // no negative zero
    report.ec_compensated = i % 7 != 0;
    if (i % 2 == 0) report.sequence = static_cast<std::int64_t>(chance() % 9'007'199'254'740'992);
    if (i % 5 == 0) report.epoch = i;
    const auto back = read_dose_body(to_json(report));
    if (!back || !(*back == report))
      FAIL(to_json(report) << " came back as " << (back ? to_json(*back) : "nothing"));
    const auto line = read_dose_line(dose_line(kMorning, report));
    REQUIRE(std::holds_alternative<TimedDose>(line));
    if (!(std::get<TimedDose>(line).report == report)) FAIL(dose_line(kMorning, report));
  }
}

TEST_CASE("a line of an export tells when the report was taken") {
  DoseReport report;
  report.time = kMorning;
  report.pump = "long";
  report.litres = 5;
  const std::string text = dose_line(kMorning + minutes(1), report);
  CHECK(text ==
        R"({"now":"2026-09-14T05:32:00Z","time":"2026-09-14T05:31:00Z","pump":"long","litres":5})");
  CHECK(std::get<TimedDose>(read_dose_line(text)).now == kMorning + minutes(1));
  const auto problem = [](const char* line) {
    return std::get<FieldFault>(read_dose_line(line)).problem;
  };
  CHECK(problem(R"({"time":"2026-09-14T05:31:00Z","litres":5})") == "missing-field");
  CHECK(problem(R"({"now":"2026-09-14T05:31:00Z","litres":5})") == "missing-field");
  CHECK(problem(R"({"now":"soon","time":"2026-09-14T05:31:00Z","litres":5})") == "bad-value");
}

TEST_CASE("what a mapping read becomes a report under the mapping's name") {
  PumpReport mapping;
  mapping.name = "long-meter";
  mapping.pump = "long";
  mapping.bench = "cold-end";
  mapping.ec_compensated = false;
  intake::ReportedDose told{.litres = 1,
                            .litres_total = 2,
                            .feed_ml = 3,
                            .feed_ml_total = 4,
                            .strength_percent = 5,
                            .ec = 6,
                            .runoff_ec = 7,
                            .water_c = 8};
  CHECK(
      to_json(report_of(told, mapping, kMorning)) ==
      R"({"time":"2026-09-14T05:31:00Z","pump":"long","bench":"cold-end","source":"long-meter","litres":1,"litres_total":2,)"
      R"("feed_ml":3,"feed_ml_total":4,"strength_percent":5,"ec":6,"water_c":8,"runoff_ec":7,"ec_compensated":false})");
}
