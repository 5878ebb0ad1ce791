// The fields of payloads, with the places that settings name.
#include "listen/fields.h"

#include <fmt/format.h>

#include <catch2/catch.hpp>

namespace plainwater::listen {
namespace {

/// "place=number|word unit", of each field.
std::string listed(std::string_view payload) {
  std::string out;
  for (const Field& field : fields_of(payload).fields)
    out += fmt::format("{}{}={}{}", out.empty() ? "" : " ", field.place,
                       field.number ? fmt::format("{:g}", *field.number) : field.word,
                       field.unit.empty() ? "" : ":" + field.unit);
  return out;
}

}  // namespace

TEST_CASE("A plain payload is a number or a word") {
  CHECK(listed(" 21.5\n") == "=21.5");
  CHECK(listed("open") == "=open");
  CHECK(listed("21.5 °C") == "=21.5 °C");
  CHECK_FALSE(fields_of("21.5 °C").fields.front().number);
  CHECK(fields_of("21.5").form == PayloadForm::number);
}

TEST_CASE("Members of JSON have pointers, and the unit beside them") {
  CHECK(listed(R"({"t":21.5,"air":{"rh":"55","a/b":1},"l":[1,{"x":2}]})") ==
        "/t=21.5 /air/rh=55 /air/a~1b=1 /l/0=1 /l/1/x=2");
  CHECK(listed(R"({"temperature":70,"temperature_unit":"F"})") ==
        "/temperature=70:F /temperature_unit=F");
  CHECK(listed(R"({"value":70,"unit":"F"})") == "/value=70:F /unit=F:F");
  CHECK(listed(R"({"open":true,"nothing":null})") == "/open=true");
}

TEST_CASE("Times are recognised as they are live") {
  const Fields fields =
      fields_of(R"({"a":"2026-09-14T05:31:00Z","b":1789363860,"c":1789363860000,"d":"5:31"})");
  REQUIRE(fields.fields.size() == 4);
  for (int i = 0; i < 3; ++i)
    CHECK(fields.fields[static_cast<std::size_t>(i)].time == from_seconds(1'789'363'860));
  CHECK(fields.fields[0].text_time);
  CHECK_FALSE(fields.fields[1].text_time);
  CHECK_FALSE(fields.fields[3].time);
}

TEST_CASE("SenML records have their names, units and devices") {
  const Fields one =
      fields_of(R"([{"bn":"dev:","n":"t","u":"Cel","v":21.5},{"n":"h","u":"%RH","v":55}])");
  CHECK(one.form == PayloadForm::senml);
  REQUIRE(one.fields.size() == 2);
  CHECK(one.fields[0].place == "t");
  CHECK(one.fields[0].unit == "Cel");
  CHECK(one.fields[0].device == "dev:");
  const Fields two = fields_of(R"([{"bn":"a:","n":"t","v":21.5},{"bn":"b:","n":"t","v":22}])");
  REQUIRE(two.fields.size() == 2);
  CHECK(two.fields[1].place == "b:t");
  CHECK(fields_of(R"([{"n":"t","v":1,"x_":2}])").refusal == intake::Refusal::not_senml);
}

TEST_CASE("What cannot be read says why, and the rest is bounded") {
  CHECK(fields_of("\xff\xfe").refusal == intake::Refusal::not_utf8);
  CHECK(fields_of("{\"t\":").refusal == intake::Refusal::not_json);
  CHECK(fields_of(std::string(70'000, '1')).refusal == intake::Refusal::too_large);
  std::string many = "{";
  for (int i = 0; i < 500; ++i) many += fmt::format("{}\"m{}\":{}", i ? "," : "", i, i);
  CHECK(fields_of(many + "}").fields.size() == kMostFields);
  CHECK(fields_of(many + "}").cut);
  CHECK(fields_of(R"({"a":{"a":{"a":{"a":{"a":{"a":{"a":{"a":{"a":{"t":1}}}}}}}}}})").cut);
}

}  // namespace plainwater::listen
