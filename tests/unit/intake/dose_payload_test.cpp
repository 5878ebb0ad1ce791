#include "intake/dose_payload.h"

#include <catch2/catch.hpp>
#include <string>

namespace plainwater::intake {
namespace {

PumpReport dose_json() {
  PumpReport mapping;
  mapping.name = "long-meter";
  mapping.litres = "/water/given";
  mapping.litres_total = "/water/total";
  mapping.feed = "/feed";
  mapping.feed_total = "/feed_total";
  mapping.strength = "/percent";
  mapping.ec = "/ec";
  mapping.runoff_ec = "/drain";
  mapping.water_temperature = "/t";
  mapping.time = "/at";
  return mapping;
}

PumpReport number_form(DoseField value) {
  PumpReport mapping;
  mapping.form = PayloadForm::number;
  mapping.value = value;
  return mapping;
}

PumpReport dose_senml() {
  PumpReport mapping;
  mapping.form = PayloadForm::senml;
  mapping.litres = "water";
  mapping.feed = "feed";
  mapping.strength = "strength";
  mapping.ec = "ec";
  mapping.water_temperature = "warmth";
  return mapping;
}

DecodedDoses decode_dose(const std::string& bytes, const PumpReport& mapping) {
  Payload payload(bytes);
  return decode_doses(payload, mapping);
}
DecodedDoses refused_dose(Refusal reason) { return {{}, reason}; }
DecodedDoses just_dose(ReportedDose dose) { return {{std::move(dose)}, {}}; }

const Instant kDoseMorning = parse_rfc3339("2026-09-14T05:31:00Z").value();

}  // namespace

TEST_CASE("a pump's plain number means what the mapping says") {
  CHECK(decode_dose(" 12.5\n", number_form(DoseField::litres)) == just_dose({.litres = 12.5}));
  CHECK(decode_dose("12.5", number_form(DoseField::litres_total)) ==
        just_dose({.litres_total = 12.5}));
  CHECK(decode_dose("12.5", number_form(DoseField::feed)) == just_dose({.feed_ml = 12.5}));
  CHECK(decode_dose("12.5", number_form(DoseField::feed_total)) ==
        just_dose({.feed_ml_total = 12.5}));
  CHECK(decode_dose("12.5", number_form(DoseField::strength)) ==
        just_dose({.strength_percent = 12.5}));
  CHECK(decode_dose("1.25", number_form(DoseField::ec)) == just_dose({.ec = 1.25}));
  CHECK(decode_dose("0", number_form(DoseField::litres)) == just_dose({.litres = 0}));
  CHECK(decode_dose("0.12345649", number_form(DoseField::litres)) ==
        just_dose({.litres = 0.123456}));
}

TEST_CASE("pulses become litres and millilitres, and EC comes in either unit") {
  PumpReport mapping = number_form(DoseField::litres_total);
  mapping.litres_scale = 0.25;
  mapping.feed_scale = 2;
  CHECK(decode_dose("4001", mapping) == just_dose({.litres_total = 1000.25}));
  mapping.value = DoseField::litres;
  CHECK(decode_dose("3", mapping) == just_dose({.litres = 0.75}));
  mapping.value = DoseField::feed_total;
  CHECK(decode_dose("3", mapping) == just_dose({.feed_ml_total = 6}));
  mapping.value = DoseField::feed;
  CHECK(decode_dose("3", mapping) == just_dose({.feed_ml = 6}));
  mapping.value = DoseField::ec;
  mapping.ec_unit = EcUnit::us_per_cm;
  CHECK(decode_dose("1250", mapping) == just_dose({.ec = 1.25}));
  mapping.value = DoseField::strength;
  CHECK(decode_dose("50", mapping) == just_dose({.strength_percent = 50}));
}

TEST_CASE("an impossible number from a pump is refused with the right reason") {
  for (const char* text : {"", " ", "12,5", "5 L", "{}", "five"})
    CHECK(decode_dose(text, number_form(DoseField::litres)) == refused_dose(Refusal::not_a_number));
  for (const char* text : {"nan", "inf", "1e400"})
    CHECK(decode_dose(text, number_form(DoseField::litres)) == refused_dose(Refusal::not_finite));
  CHECK(decode_dose("-0.5", number_form(DoseField::litres)) ==
        refused_dose(Refusal::out_of_domain));
  CHECK(decode_dose("100000.5", number_form(DoseField::litres)) ==
        refused_dose(Refusal::out_of_domain));
  CHECK(decode_dose("100000.5", number_form(DoseField::litres_total)) ==
        just_dose({.litres_total = 100'000.5}));
  CHECK(decode_dose("1000000001", number_form(DoseField::litres_total)) ==
        refused_dose(Refusal::out_of_domain));
  CHECK(decode_dose("10000001", number_form(DoseField::feed)) ==
        refused_dose(Refusal::out_of_domain));
  CHECK(decode_dose("101", number_form(DoseField::strength)) ==
        refused_dose(Refusal::out_of_domain));
  CHECK(decode_dose("20.5", number_form(DoseField::ec)) == refused_dose(Refusal::out_of_domain));
  CHECK(decode_dose("\xff", number_form(DoseField::ec)) == refused_dose(Refusal::not_utf8));
  PumpReport huge = number_form(DoseField::litres);
  huge.litres_scale = 1e300;
  CHECK(decode_dose("1e300", huge) == refused_dose(Refusal::not_finite));
}

TEST_CASE("a pump's JSON is read by the pointers") {
  CHECK(
      decode_dose(
          R"({"water":{"given":5,"total":"1205.5"},"feed":25,"feed_total":6000,"percent":50,"ec":0.85,"drain":1.2,"t":18.5,)"
          R"("at":"2026-09-14T05:31:00Z","more":[1]})",
          dose_json()) == just_dose({.litres = 5,
                                     .litres_total = 1205.5,
                                     .feed_ml = 25,
                                     .feed_ml_total = 6000,
                                     .strength_percent = 50,
                                     .ec = 0.85,
                                     .runoff_ec = 1.2,
                                     .water_c = 18.5,
                                     .time = kDoseMorning}));
  CHECK(decode_dose(R"({"water":{"given":null},"ec":0.85,"at":null})", dose_json()) ==
        just_dose({.ec = 0.85}));
  PumpReport mapping = dose_json();
  mapping.unit = Unit::fahrenheit;
  mapping.ec_unit = EcUnit::us_per_cm;
  CHECK(decode_dose(R"({"ec":850,"drain":1200,"t":68})", mapping) ==
        just_dose({.ec = 0.85, .runoff_ec = 1.2, .water_c = 20}));
  mapping.unit = Unit::kelvin;
  CHECK(decode_dose(R"({"ec":850,"t":293.15})", mapping) == just_dose({.ec = 0.85, .water_c = 20}));
}

TEST_CASE("a pump's time is text, seconds or milliseconds; an unreadable one spoils the report") {
  const auto with_time = [](const std::string& time) {
    return decode_dose(R"({"feed":1,"at":)" + time + "}", dose_json());
  };
  const std::string seconds = std::to_string(to_seconds(kDoseMorning));
  CHECK(with_time(seconds) == just_dose({.feed_ml = 1, .time = kDoseMorning}));
  CHECK(with_time(seconds + "000") == just_dose({.feed_ml = 1, .time = kDoseMorning}));
  CHECK(with_time(R"("2026-09-14T06:31:00+01:00")") ==
        just_dose({.feed_ml = 1, .time = kDoseMorning}));
  for (const char* bad :
       {"\"yesterday\"", "35", "0", "-5", "true", "[]", "1e400", "\"1969-01-01T00:00:00Z\""})
    CHECK(with_time(bad) == refused_dose(Refusal::bad_time));
}

TEST_CASE("a pump's bad fields are reported, and the rest counts") {
  CHECK(decode_dose(R"({"water":{"given":-1},"feed":25})", dose_json()) ==
        DecodedDoses{{{.feed_ml = 25}}, Refusal::out_of_domain});
  CHECK(decode_dose(R"({"water":{"given":"n/a"},"feed":true,"ec":0.5})", dose_json()) ==
        DecodedDoses{{{.ec = 0.5}}, Refusal::not_a_number});
  CHECK(decode_dose(R"({"ec":65535,"feed":25})", dose_json()) ==
        DecodedDoses{{{.feed_ml = 25}}, Refusal::out_of_domain});
  CHECK(decode_dose(R"({"feed":1e400})", dose_json()) == refused_dose(Refusal::not_finite));
  CHECK(decode_dose(R"({"feed":1,"t":200})", dose_json()) ==
        DecodedDoses{{{.feed_ml = 1}}, Refusal::out_of_domain});
  for (const char* text :
       {"{}", "[]", "7", R"({"t":18})", R"({"at":"2026-09-14T05:31:00Z"})", R"({"feed":null})"})
    CHECK(decode_dose(text, dose_json()) == refused_dose(Refusal::missing_field));
}

TEST_CASE("a pump's payload is limited as a sensor's is") {
  for (const char* text : {"", "{", "nope", "{\"feed\":NaN}", "{\"feed\":1,}"})
    CHECK(decode_dose(text, dose_json()) == refused_dose(Refusal::not_json));
  CHECK(decode_dose("{\"feed\":\"\xff\"}", dose_json()) == refused_dose(Refusal::not_utf8));
  CHECK(decode_dose(std::string(17, '[') + std::string(17, ']'), dose_json()) ==
        refused_dose(Refusal::too_deep));
  CHECK(decode_dose(std::string(30'000, '['), dose_senml()) == refused_dose(Refusal::too_deep));
  std::string wide = R"({"feed":1})";
  wide.resize(kLargestPayload, ' ');
  CHECK(decode_dose(wide, dose_json()) == just_dose({.feed_ml = 1}));
  CHECK(decode_dose(wide + " ", dose_json()) == refused_dose(Refusal::too_large));
  CHECK(decode_dose(wide + " ", dose_senml()) == refused_dose(Refusal::too_large));
  CHECK(decode_dose(std::string(kLargestPayload + 1, '7'), number_form(DoseField::litres)) ==
        refused_dose(Refusal::too_large));
}

TEST_CASE("every prefix of a pump's payload gives figures or a reason") {
  const std::string json =
      R"({"water":{"given":5.5},"feed":"25","at":"2026-09-14T05:31:00.5Z","note":"é\u00e9"})";
  for (std::size_t n = 0; n < json.size(); ++n) {
    const auto decoded = decode_dose(json.substr(0, n), dose_json());
    CHECK(decoded.reports.empty());
    CHECK((decoded.refusal == Refusal::not_json || decoded.refusal == Refusal::not_utf8));
  }
  CHECK(decode_dose(json, dose_json()) ==
        just_dose({.litres = 5.5, .feed_ml = 25, .time = kDoseMorning + milliseconds(500)}));
  const std::string pack =
      R"([{"bn":"d:","bt":1789363860,"bu":"l","n":"water","v":5.5},{"n":"ec","u":"S/m","v":0.1}])";
  for (std::size_t n = 0; n < pack.size(); ++n)
    CHECK(decode_dose(pack.substr(0, n), dose_senml()) == refused_dose(Refusal::not_json));
  CHECK(decode_dose(pack, dose_senml()).reports.size() == 1);
  const std::string number = " 21.4e0 ";
  for (std::size_t n = 0; n <= number.size(); ++n) {
    const auto decoded = decode_dose(number.substr(0, n), number_form(DoseField::litres));
    CHECK(decoded.reports.empty() == decoded.refusal.has_value());
  }
}

TEST_CASE("SenML: records of one time are one report, and units are converted") {
  CHECK(
      decode_dose(
          R"([{"bn":"pump-3:","bt":1789363860,"n":"water","u":"m3","v":0.005},{"n":"feed","u":"l","v":0.025},
                   {"n":"strength","u":"/","v":0.5},{"n":"ec","u":"S/m","v":0.085},{"n":"warmth","u":"K","v":291.65},{"n":"noise","v":1}])",
          dose_senml()) == just_dose({.litres = 5,
                                      .feed_ml = 25,
                                      .strength_percent = 50,
                                      .ec = 0.85,
                                      .water_c = 18.5,
                                      .time = kDoseMorning}));
  PumpReport mapping = dose_senml();
  mapping.litres_scale = 0.5;
  mapping.feed_scale = 2;
  mapping.ec_unit = EcUnit::us_per_cm;
  CHECK(
      decode_dose(
          R"([{"n":"water","u":"count","v":10},{"n":"feed","v":3},{"n":"strength","u":"%","v":50},{"n":"ec","v":850},
                   {"n":"warmth","u":"Cel","v":18}])",
          mapping) ==
      just_dose({.litres = 5, .feed_ml = 6, .strength_percent = 50, .ec = 0.85, .water_c = 18}));
}

TEST_CASE("SenML: each time in a pack is a report, in order; the first of two values counts") {
  CHECK(
      decode_dose(
          R"([{"n":"water","t":1789363920,"v":2},{"n":"water","t":1789363860,"v":1},{"n":"water","t":1789363860,"v":9},
                   {"n":"ec","t":1789363920,"v":0.9},{"n":"warmth","t":1789363800,"v":18}])",
          dose_senml()) ==
      DecodedDoses{{{.litres = 1, .time = kDoseMorning},
                    {.litres = 2, .ec = 0.9, .time = kDoseMorning + minutes(1)}},
                   {}});
  CHECK(decode_dose(R"([{"n":"water","v":2},{"n":"water","t":-60,"v":1}])", dose_senml()) ==
        DecodedDoses{{{.litres = 1, .from_arrival = Span(-60'000)}, {.litres = 2}}, {}});
}

TEST_CASE("SenML: a fault in one pump record is reported, and the others count") {
  const auto refusal = [](const char* text) { return decode_dose(text, dose_senml()).refusal; };
  for (const char* text :
       {"{}", "[]", "[5]", R"([{"bver":11,"n":"water","v":1}])", R"([{"n":"water","v":1},5])"})
    CHECK(decode_dose(text, dose_senml()) == refused_dose(Refusal::not_senml));
  CHECK(refusal(R"([{"n":"other","v":1}])") == Refusal::missing_field);
  CHECK(refusal(R"([{"n":"warmth","v":18}])") == Refusal::missing_field);
  CHECK(refusal(R"([{"n":"water"}])") == Refusal::missing_field);
  CHECK(refusal(R"([{"n":"water","vs":"5"}])") == Refusal::not_a_number);
  CHECK(refusal(R"([{"n":"water","v":1e400}])") == Refusal::not_finite);
  CHECK(refusal(R"([{"n":"water","t":"now","v":1}])") == Refusal::bad_time);
  CHECK(refusal(R"([{"n":"water","v":-1}])") == Refusal::out_of_domain);
  for (const char* text :
       {R"([{"n":"water","u":"Cel","v":1}])", R"([{"n":"feed","u":"kg","v":1}])",
        R"([{"n":"strength","u":"count","v":1}])", R"([{"n":"ec","u":"mS/cm","v":1}])",
        R"([{"n":"ec","v":1},{"n":"warmth","u":"Far","v":1}])"})
    CHECK(refusal(text) == Refusal::bad_unit);
  CHECK(decode_dose(R"([{"n":"water","u":"V","v":3},{"n":"feed","v":25}])", dose_senml()) ==
        DecodedDoses{{{.feed_ml = 25}}, Refusal::bad_unit});
  CHECK(decode_dose(R"([{"bn":"1:","n":"water","v":20},{"bn":"2:","n":"water","v":25}])",
                    dose_senml()) == refused_dose(Refusal::missing_field));
}

TEST_CASE("sensors and pumps can share a payload") {
  const std::string bytes = R"({"air":20,"feed":25})";
  Payload payload(bytes);
  SensorMapping sensor;
  sensor.form = PayloadForm::json;
  sensor.temperature = "/air";
  CHECK(payload.decode(sensor).readings.size() == 1);
  CHECK(decode_doses(payload, dose_json()) == just_dose({.feed_ml = 25}));
  CHECK(payload.decode(sensor).readings.size() == 1);
}

}  // namespace plainwater::intake
