#include "intake/payload.h"

#include <catch2/catch.hpp>
#include <string>

namespace plainwater::intake {
namespace {

SensorMapping number_form() { return {}; }

SensorMapping json_form() {
  SensorMapping mapping;
  mapping.form = PayloadForm::json;
  mapping.temperature = "/air/temperature";
  mapping.humidity = "/air/humidity";
  mapping.time = "/at";
  return mapping;
}

Decoded decode(const std::string& bytes, const SensorMapping& mapping) {
  return Payload(bytes).decode(mapping);
}

Measured temperature(Milli value, std::optional<Instant> time = {}) {
  return {Quantity::temperature, value, time, Span{0}};
}
Measured place(Milli value, std::optional<Instant> time = {}) {
  return {Quantity::place, value, time, Span{0}};
}
Measured humidity(Milli value, std::optional<Instant> time = {}) {
  return {Quantity::humidity, value, time, Span{0}};
}
Decoded refused(Refusal reason) { return {{}, reason}; }
Decoded just(std::vector<Measured> readings) { return {std::move(readings), std::nullopt}; }

const Instant kMorning = parse_rfc3339("2026-09-14T05:31:00Z").value();

}  // namespace
}  // namespace plainwater::intake

namespace Catch {
template <>
struct StringMaker<plainwater::intake::Decoded> {
  static std::string convert(const plainwater::intake::Decoded& decoded) {
    std::string text;
    for (const auto& r : decoded.readings)
      text += "THP"[static_cast<int>(r.quantity)] + (" " + std::to_string(r.value)) +
              (r.time ? " at " + plainwater::format_rfc3339(*r.time) : "") + " + " +
              std::to_string(r.from_arrival.count()) + " ms; ";
    return text + (decoded.refusal ? plainwater::intake::name_of(*decoded.refusal) : "no refusal");
  }
};
}  // namespace Catch

namespace plainwater::intake {

TEST_CASE("a plain number is a reading of the mapping's quantity") {
  CHECK(decode("21.4", number_form()) == just({temperature(21400)}));
  CHECK(decode(" +21.4\r\n", number_form()) == just({temperature(21400)}));
  CHECK(decode("-3", number_form()) == just({temperature(-3000)}));
  CHECK(decode("2.14e1", number_form()) == just({temperature(21400)}));
  SensorMapping mapping = number_form();
  mapping.quantity = Quantity::humidity;
  mapping.humidity_offset = -2;
  CHECK(decode("61", mapping) == just({humidity(59000)}));
  mapping.humidity_scale = 100;
  CHECK(decode("0.61", mapping) == just({humidity(59000)}));
}

TEST_CASE("text that is not a plain number is refused with the right reason") {
  for (const char* text :
       {"", " ", "21,4", "21.4 C", "0x15", "++1", "+-1", "twenty", "{}", "1 2", "-", "."})
    CHECK(decode(text, number_form()) == refused(Refusal::not_a_number));
  for (const char* text : {"nan", "inf", "-Infinity", "1e400", "-1e400"})
    CHECK(decode(text, number_form()) == refused(Refusal::not_finite));
  CHECK(decode("1000.001", number_form()) == refused(Refusal::out_of_domain));
  CHECK(decode("-1000", number_form()) == just({temperature(-1'000'000)}));
  CHECK(decode(std::string("21\0", 3), number_form()) == refused(Refusal::not_a_number));
}

TEST_CASE("units become degrees Celsius, then scale, then offset") {
  SensorMapping mapping = number_form();
  mapping.unit = Unit::fahrenheit;
  CHECK(decode("68", mapping) == just({temperature(20000)}));
  mapping.unit = Unit::kelvin;
  CHECK(decode("293.15", mapping) == just({temperature(20000)}));
  mapping.scale = 0.1;
  mapping.offset_c = 0.5;
  CHECK(decode("293.15", mapping) == just({temperature(2500)}));
  mapping.scale = 1e300;
  CHECK(decode("1e300", mapping) == refused(Refusal::not_finite));
}

TEST_CASE("a JSON object is read by the pointers") {
  CHECK(decode(R"({"air":{"temperature":21.4,"humidity":61},"at":"2026-09-14T05:31:00Z"})",
               json_form()) == just({temperature(21400, kMorning), humidity(61000, kMorning)}));
  CHECK(decode(R"({"air":{"temperature":"21.4","humidity":" 61 "}})", json_form()) ==
        just({temperature(21400), humidity(61000)}));
  SECTION("array elements and escaped names") {
    SensorMapping mapping = json_form();
    mapping.temperature = "/a~1b/1";
    mapping.humidity.clear();
    CHECK(decode(R"({"a/b":[1,18446744073709551615,2]})", mapping) ==
          refused(Refusal::out_of_domain));
    CHECK(decode(R"({"a/b":[1,7,2]})", mapping) == just({temperature(7000)}));
  }
}

TEST_CASE("a missing quantity is no fault while the other one is there") {
  CHECK(decode(R"({"air":{"temperature":null,"humidity":61}})", json_form()) ==
        just({humidity(61000)}));
  CHECK(decode(R"({"air":{"temperature":21}})", json_form()) == just({temperature(21000)}));
  CHECK(decode(R"({"air":{"temperature":null}})", json_form()) == refused(Refusal::missing_field));
  CHECK(decode(R"({"air":5})", json_form()) == refused(Refusal::missing_field));
  CHECK(decode("[]", json_form()) == refused(Refusal::missing_field));
  CHECK(decode("7", json_form()) == refused(Refusal::missing_field));
}

TEST_CASE("a bad quantity is reported, the good one counts") {
  CHECK(decode(R"({"air":{"temperature":"n/a","humidity":61}})", json_form()) ==
        Decoded{{humidity(61000)}, Refusal::not_a_number});
  CHECK(decode(R"({"air":{"temperature":true,"humidity":{}}})", json_form()) ==
        refused(Refusal::not_a_number));
  CHECK(decode(R"({"air":{"temperature":1e400}})", json_form()) == refused(Refusal::not_finite));
  CHECK(decode(R"({"air":{"temperature":"NaN"}})", json_form()) == refused(Refusal::not_finite));
  CHECK(decode(R"({"air":{"temperature":21,"humidity":1001}})", json_form()) ==
        Decoded{{temperature(21000)}, Refusal::out_of_domain});
}

TEST_CASE("a reading's own time: text, seconds, milliseconds") {
  const auto with_time = [](const std::string& time) {
    return decode(R"({"air":{"temperature":21},"at":)" + time + "}", json_form());
  };
  const std::string seconds = std::to_string(to_seconds(kMorning));
  CHECK(with_time(seconds) == just({temperature(21000, kMorning)}));
  CHECK(with_time(seconds + ".25") == just({temperature(21000, kMorning + milliseconds(250))}));
  CHECK(with_time(seconds + "000") == just({temperature(21000, kMorning)}));
  CHECK(with_time("\"" + seconds + "\"") == just({temperature(21000, kMorning)}));
  CHECK(with_time(R"("2026-09-14T06:31:00+01:00")") == just({temperature(21000, kMorning)}));
  CHECK(with_time("null") == just({temperature(21000)}));
  for (const char* bad : {"\"yesterday\"", "\"\"", "35", "0", "-5", "true", "[]", "1e300", "1e400",
                          "\"1e400\"", "\"1969-01-01T00:00:00Z\""})
    CHECK(with_time(bad) == refused(Refusal::bad_time));
}

TEST_CASE("bytes that are not JSON are refused with the right reason") {
  for (const char* text : {"", "{", "nope", "{\"air\":NaN}", "{\"air\":Infinity}", "{}{}",
                           "{'air':1}", "{\"air\":1,}"})
    CHECK(decode(text, json_form()) == refused(Refusal::not_json));
  CHECK(decode("{\"air\":\"\xff\"}", json_form()) == refused(Refusal::not_utf8));
  CHECK(decode("\xc0\xae", number_form()) == refused(Refusal::not_utf8));
  CHECK(decode("{\"air\":\"\xed\xa0\x80\"}", json_form()) == refused(Refusal::not_utf8));
  CHECK(decode(R"({"air":{"temperature":21},"place":"Tëtbury 🌿"})", json_form()) ==
        just({temperature(21000)}));
}

TEST_CASE("deep and large payloads are refused without being parsed") {
  CHECK(decode(std::string(30'000, '['), json_form()) == refused(Refusal::too_deep));
  CHECK(decode(std::string(17, '[') + std::string(17, ']'), json_form()) ==
        refused(Refusal::too_deep));
  CHECK(decode(std::string(16, '[') + std::string(16, ']'), json_form()) ==
        refused(Refusal::missing_field));
  std::string bomb;
  for (int i = 0; i < 9'000; ++i) bomb += "{\"a\":";
  CHECK(decode(bomb, json_form()) == refused(Refusal::too_deep));

  std::string wide = R"({"air":{"temperature":21}})";
  wide.resize(kLargestPayload, ' ');
  CHECK(decode(wide, json_form()) == just({temperature(21000)}));
  CHECK(decode(wide + " ", json_form()) == refused(Refusal::too_large));
  CHECK(decode(std::string(kLargestPayload + 1, '7'), number_form()) ==
        refused(Refusal::too_large));
}

TEST_CASE("every prefix of a valid payload gives a value or a reason") {
  const std::string json =
      R"({"air":{"temperature":21.4,"humidity":"61"},"at":"2026-09-14T05:31:00.5Z","note":"é\u00e9"})";
  for (std::size_t n = 0; n < json.size(); ++n) {
    const Decoded decoded = decode(json.substr(0, n), json_form());
    INFO(json.substr(0, n));
    CHECK(decoded.readings.empty());
    CHECK((decoded.refusal == Refusal::not_json || decoded.refusal == Refusal::not_utf8));
  }
  CHECK(decode(json, json_form()).readings.size() == 2);
  const std::string number = " -21.4e0 ";
  for (std::size_t n = 0; n <= number.size(); ++n) {
    const Decoded decoded = decode(number.substr(0, n), number_form());
    CHECK(decoded.readings.empty() == decoded.refusal.has_value());
  }
}

TEST_CASE("a contact's plain word is a place") {
  SensorMapping mapping;
  mapping.quantity = Quantity::place;
  CHECK(decode("outdoors", mapping) == just({place(1000)}));
  CHECK(decode(" indoors\r\n", mapping) == just({place(0)}));
  for (const char* text :
       {"", " ", "Outdoors", "OUTDOORS", "outdoor", "in doors", "\"outdoors\"", "1", "true", "0"})
    CHECK(decode(text, mapping) == refused(Refusal::unknown_word));
  CHECK(decode("outdoors\xff", mapping) == refused(Refusal::not_utf8));
  mapping.outdoors_word = "0";
  mapping.indoors_word = "im Haus";
  mapping.offset_c = 5;  // only for temperatures
  CHECK(decode("0", mapping) == just({place(1000)}));
  CHECK(decode("im Haus", mapping) == just({place(0)}));
  for (const char* text : {"0.0", "00", "-0", "imHaus", "indoors"})
    CHECK(decode(text, mapping) == refused(Refusal::unknown_word));
}

TEST_CASE("a contact's word in JSON is text, a whole number or a truth value") {
  SensorMapping mapping = json_form();
  mapping.place = "/where";
  const auto with_place = [&](const std::string& word) {
    return decode(R"({"at":"2026-09-14T05:31:00Z","where":)" + word + "}", mapping);
  };
  CHECK(with_place(R"("outdoors")") == just({place(1000, kMorning)}));
  CHECK(with_place(R"(" indoors ")") == just({place(0, kMorning)}));
  for (const char* word :
       {R"("Indoors")", R"("")", "true", "1", "0.5", "[]", "{}", R"(["outdoors"])", "1e400"})
    CHECK(with_place(word) == refused(Refusal::unknown_word));
  CHECK(with_place("null") == refused(Refusal::missing_field));

  mapping.outdoors_word = "true";
  mapping.indoors_word = "false";
  CHECK(with_place("true") == just({place(1000, kMorning)}));
  CHECK(with_place("false") == just({place(0, kMorning)}));
  CHECK(with_place(R"("false")") == just({place(0, kMorning)}));
  CHECK(with_place("1") == refused(Refusal::unknown_word));

  mapping.outdoors_word = "18446744073709551615";
  mapping.indoors_word = "-1";
  CHECK(with_place("18446744073709551615") == just({place(1000, kMorning)}));
  CHECK(with_place("-1") == just({place(0, kMorning)}));
  CHECK(with_place("-1.0") == refused(Refusal::unknown_word));
}

TEST_CASE("an unknown word does not affect the air beside it, and a missing one is no fault") {
  SensorMapping mapping = json_form();
  mapping.place = "/where";
  CHECK(decode(R"({"air":{"temperature":21,"humidity":61},"where":"outdoors"})", mapping) ==
        just({temperature(21000), humidity(61000), place(1000)}));
  CHECK(decode(R"({"air":{"temperature":21},"where":"nowhere"})", mapping) ==
        Decoded{{temperature(21000)}, Refusal::unknown_word});
  CHECK(decode(R"({"air":{"temperature":"n/a"},"where":"indoors"})", mapping) ==
        Decoded{{place(0)}, Refusal::not_a_number});
  CHECK(decode(R"({"air":{"temperature":21},"where":null})", mapping) ==
        just({temperature(21000)}));
  CHECK(decode(R"({"where":"indoors","at":"yesterday"})", mapping) == refused(Refusal::bad_time));
}

TEST_CASE("several mappings can read one payload") {
  const std::string bytes = R"({"near":20,"far":22})";
  Payload payload(bytes);
  SensorMapping near = json_form(), far = json_form();
  near.temperature = "/near";
  far.temperature = "/far";
  CHECK(payload.decode(near) == just({temperature(20000)}));
  CHECK(payload.decode(far) == just({temperature(22000)}));
  CHECK(payload.decode(number_form()) == refused(Refusal::not_a_number));
}

}  // namespace plainwater::intake
