// Every prefix of every payload format, and every small damage to it, gives a value or a reason.
#include "damage.h"

#include <catch2/catch.hpp>
#include <set>

#include "intake/dose_payload.h"
#include "intake/payload.h"

namespace plainwater::intake {
namespace {

SensorMapping json_mapping() {
  SensorMapping mapping;
  mapping.form = PayloadForm::json;
  mapping.temperature = "/air/temperature";
  mapping.humidity = "/air/humidity";
  mapping.time = "/at";
  return mapping;
}

SensorMapping senml_mapping() {
  SensorMapping mapping = json_mapping();
  mapping.form = PayloadForm::senml;
  mapping.temperature = "b:air";
  mapping.humidity = "b:rh";
  mapping.time.clear();
  return mapping;
}

PumpReport dose_form(PayloadForm form) {
  const std::string lead = form == PayloadForm::json ? "/" : "b:";
  PumpReport mapping;
  mapping.form = form;
  mapping.litres = lead + "litres";
  mapping.feed_total = lead + "feed";
  mapping.ec = lead + "ec";
  if (form == PayloadForm::json) mapping.time = "/at";
  return mapping;
}

Decoded decode_bytes(const std::string& bytes, const SensorMapping& mapping) {
  return Payload(bytes).decode(mapping);
}
DecodedDoses decode_bytes(const std::string& bytes, const PumpReport& mapping) {
  Payload payload(bytes);
  return decode_doses(payload, mapping);
}

const std::string kJson =
    R"({"air":{"temperature":21.4,"humidity":"61"},"at":"2026-09-14T05:31:00.5Z","note":"é\u00e9"})";
const std::string kSenml =
    R"([{"bn":"b:","bt":1789363860,"bu":"Cel","bver":10,"n":"air","v":19.5},{"n":"rh","u":"%RH","t":60,"v":71}])";
const std::string kDoses = R"({"litres":5.5,"feed":"6000","ec":0.85,"at":1789363860})";
const std::string kDosePack =
    R"([{"bn":"b:","bt":1789363860,"n":"litres","u":"l","v":5.5},{"n":"ec","u":"S/m","v":0.085},{"n":"feed","t":60,"v":9}])";

/// No proper prefix of a JSON object or list is JSON.
template <class Mapping>
void check_prefixes(const std::string& whole, const Mapping& mapping) {
  REQUIRE_FALSE(decode_bytes(whole, mapping).refusal);
  for_every_prefix(whole, [&](const std::string& text) {
    const auto decoded = decode_bytes(text, mapping);
    INFO(text);
    REQUIRE((decoded.refusal == Refusal::not_json || decoded.refusal == Refusal::not_utf8));
    REQUIRE(decoded == decltype(decoded){{}, decoded.refusal});
  });
}

template <class Mapping>
void check_damage(const std::string& whole, const Mapping& mapping) {
  std::size_t read = 0, refused = 0;
  for_every_damage(whole, [&](const std::string& text) {
    const auto decoded = decode_bytes(text, mapping);
    INFO(text);
    const bool nothing = decoded == decltype(decoded){{}, decoded.refusal};
    REQUIRE((!nothing || decoded.refusal));
    REQUIRE(decode_bytes(text, mapping) == decoded);
    ++(nothing ? refused : read);
  });
  CHECK(read > 0);
  CHECK(refused > 0);
}

}  // namespace

TEST_CASE("no prefix of a JSON payload is valid") {
  check_prefixes(kJson, json_mapping());
  check_prefixes(kSenml, senml_mapping());
  check_prefixes(kDoses, dose_form(PayloadForm::json));
  check_prefixes(kDosePack, dose_form(PayloadForm::senml));
}

TEST_CASE("damaged payloads are read or refused, with the same result twice") {
  check_damage(kJson, json_mapping());
  check_damage(kSenml, senml_mapping());
  check_damage(kDoses, dose_form(PayloadForm::json));
  check_damage(kDosePack, dose_form(PayloadForm::senml));
}

TEST_CASE("exactly the prefixes of a plain number that are numbers are read") {
  const auto read = [](const std::string& whole) {
    std::set<std::string> accepted;
    for_every_prefix(whole, [&](const std::string& text) {
      const Decoded decoded = decode_bytes(text, SensorMapping{});
      INFO(text);
      REQUIRE(decoded.readings.empty() == decoded.refusal.has_value());
      if (decoded.refusal) REQUIRE(decoded.refusal == Refusal::not_a_number);
      if (!decoded.refusal) accepted.insert(text);
    });
    return accepted;
  };
  CHECK(read("21.4") == std::set<std::string>{"2", "21", "21."});
  CHECK(read(" -21.4e0 ") == std::set<std::string>{" -2", " -21", " -21.", " -21.4", " -21.4e0"});
  // A human reader could not notice the missing digits either; JSON mappings notice truncation, a
  // plain number cannot.
  CHECK(read("1000") == std::set<std::string>{"1", "10", "100"});

  PumpReport meter;
  meter.form = PayloadForm::number;
  for_every_prefix("12.5", [&](const std::string& text) {
    CHECK(decode_bytes(text, meter).reports.size() == (text.empty() ? 0u : 1u));
  });
}

TEST_CASE("no prefix of a contact's word is a word") {
  SensorMapping contact;
  contact.quantity = Quantity::place;
  for (const std::string word : {"outdoors", "indoors"}) {
    CHECK(decode_bytes(word, contact).readings.size() == 1);
    for_every_prefix(word, [&](const std::string& text) {
      CHECK(decode_bytes(text, contact) == Decoded{{}, Refusal::unknown_word});
    });
    for_every_damage(word, [&](const std::string& text) {
      CHECK(decode_bytes(text, contact).readings.empty());
    });
  }
}

}  // namespace plainwater::intake
