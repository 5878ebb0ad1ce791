#include "intake/senml.h"

#include <catch2/catch.hpp>
#include <string>

namespace plainwater::intake {
namespace {

SensorMapping mapping_of(std::string temperature, std::string humidity = {}) {
  SensorMapping mapping;
  mapping.form = PayloadForm::senml;
  mapping.temperature = std::move(temperature);
  mapping.humidity = std::move(humidity);
  return mapping;
}

Decoded decode_pack(const std::string& bytes, const SensorMapping& mapping) {
  return Payload(bytes).decode(mapping);
}
Measured at(Instant time, Quantity quantity, Milli value) {
  return {quantity, value, time, Span{0}};
}
Measured relative(Span from_arrival, Quantity quantity, Milli value) {
  return {quantity, value, std::nullopt, from_arrival};
}

constexpr auto T = Quantity::temperature;
constexpr auto H = Quantity::humidity;
const Instant kBase = from_seconds(1'789'363'860);

}  // namespace

TEST_CASE("SenML: base fields apply to the records that follow") {
  const Decoded decoded = decode_pack(R"([
      {"bn":"urn:dev:bench-7:","bt":1789363860,"bu":"Cel","bver":10,"n":"air","v":19.5},
      {"n":"air","t":60,"v":19.75},
      {"n":"rh","u":"%RH","t":60,"v":71},
      {"n":"soil","v":3}])",
                                      mapping_of("urn:dev:bench-7:air", "urn:dev:bench-7:rh"));
  CHECK(decoded == Decoded{{at(kBase, T, 19500), at(kBase + minutes(1), T, 19750),
                            at(kBase + minutes(1), H, 71000)},
                           {}});
}

TEST_CASE("SenML: the base value is added, and units are converted") {
  CHECK(
      decode_pack(
          R"([{"bn":"a","bv":20,"bu":"Cel","bt":1789363860,"v":0.5},{"v":-0.5},{"u":"K","bv":273.15,"v":1}])",
          mapping_of("a")) ==
      Decoded{{at(kBase, T, 20500), at(kBase, T, 19500), at(kBase, T, 1000)}, {}});
  SensorMapping mapping = mapping_of("a");
  mapping.unit = Unit::fahrenheit;
  mapping.offset_c = 1;
  CHECK(decode_pack(R"([{"n":"a","t":1789363860,"v":68}])", mapping) ==
        Decoded{{at(kBase, T, 21000)}, {}});
  CHECK(decode_pack(R"([{"n":"a","t":1789363860,"u":"Cel","v":20}])", mapping) ==
        Decoded{{at(kBase, T, 21000)}, {}});
}

TEST_CASE("SenML: times below 2^28 are relative to the arrival") {
  CHECK(decode_pack(R"([{"n":"a","v":1},{"n":"a","v":2,"t":-90.5},{"n":"a","v":3,"t":268435455}])",
                    mapping_of("a")) ==
        Decoded{{relative(Span{0}, T, 1000), relative(Span{-90'500}, T, 2000),
                 relative(Span{268'435'455'000}, T, 3000)},
                {}});
  CHECK(decode_pack(R"([{"bt":-60,"n":"a","v":1},{"n":"a","t":30,"v":2}])", mapping_of("a")) ==
        Decoded{{relative(Span{-60'000}, T, 1000), relative(Span{-30'000}, T, 2000)}, {}});
  CHECK(decode_pack(R"([{"n":"a","v":3,"t":268435456}])", mapping_of("a")) ==
        Decoded{{}, Refusal::bad_time});  // July 1978
}

TEST_CASE("SenML: a family shares one mapping by the record's own name") {
  CHECK(decode_pack(R"([{"bn":"urn:dev:1:","n":"air","v":20},{"n":"rh","v":50}])",
                    mapping_of("air", "rh"))
            .readings.size() == 2);
  SECTION("but not in a pack of several devices, where it would mix them") {
    const std::string two =
        R"([{"bn":"urn:dev:1:","n":"air","v":20},{"bn":"urn:dev:2:","n":"air","v":25}])";
    CHECK(decode_pack(two, mapping_of("air")) == Decoded{{}, Refusal::missing_field});
    CHECK(decode_pack(two, mapping_of("urn:dev:2:air")) ==
          Decoded{{relative(Span{0}, T, 25000)}, {}});
  }
}

TEST_CASE("SenML: faults are reported") {
  const auto refusal = [](const char* text) {
    return decode_pack(text, mapping_of("a", "h")).refusal;
  };
  for (const char* text :
       {"{}", "[]", "[5]", "[{\"n\":5,\"v\":1}]", "[{\"bn\":1}]",
        "[{\"bver\":11,\"n\":\"a\",\"v\":1}]", "[{\"n\":\"a\",\"v\":1,\"x_\":2}]",
        "[{\"bt\":\"now\"}]", "[{\"bv\":1e400}]"})
    CHECK(refusal(text) == Refusal::not_senml);
  CHECK(refusal(R"([{"n":"other","v":1}])") == Refusal::missing_field);
  CHECK(refusal(R"([{"n":"a"}])") == Refusal::missing_field);
  CHECK(refusal(R"([{"n":"a","vs":"21"}])") == Refusal::not_a_number);
  CHECK(refusal(R"([{"n":"a","v":"21"}])") == Refusal::not_a_number);
  CHECK(refusal(R"([{"n":"a","v":1e400}])") == Refusal::not_finite);
  CHECK(refusal(R"([{"n":"a","u":"m","v":1}])") == Refusal::bad_unit);
  CHECK(refusal(R"([{"n":"h","u":"Cel","v":1}])") == Refusal::bad_unit);
  CHECK(refusal(R"([{"n":"a","v":1,"t":"2026-09-14T05:31:00Z"}])") == Refusal::bad_time);
  CHECK(refusal(R"([{"n":"a","v":1,"t":1e200}])") == Refusal::bad_time);
  CHECK(refusal(R"([{"n":"a","v":5000}])") == Refusal::out_of_domain);
}

TEST_CASE("SenML: one bad record does not spoil the others") {
  CHECK(decode_pack(R"([{"n":"a","v":20},{"n":"a","u":"V","v":3},{"n":"a","t":1789363860,"v":21}])",
                    mapping_of("a")) ==
        Decoded{{relative(Span{0}, T, 20000), at(kBase, T, 21000)}, Refusal::bad_unit});
}

TEST_CASE("SenML: every prefix of a pack gives a reason") {
  const std::string pack =
      R"([{"bn":"d:","bt":1789363860,"bu":"Cel","n":"air","v":19.5},{"n":"rh","u":"%RH","v":71}])";
  for (std::size_t n = 0; n < pack.size(); ++n) {
    const Decoded decoded = decode_pack(pack.substr(0, n), mapping_of("air", "rh"));
    CHECK(decoded.readings.empty());
    CHECK(decoded.refusal == Refusal::not_json);
  }
  CHECK(decode_pack(pack, mapping_of("air", "rh")).readings.size() == 2);
}

}  // namespace plainwater::intake
