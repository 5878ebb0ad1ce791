// Readings as plain numbers, contacts' words and JSON objects.
#include "readings.h"

#include <cmath>

#include "common/json_text.h"
#include "fuzz.h"

using namespace plainwater;
using namespace plainwater::intake;
using fuzz::expect;

namespace {

SensorMapping number(Quantity quantity, Unit unit = Unit::celsius, double scale = 1) {
  SensorMapping mapping;
  mapping.quantity = quantity;
  mapping.unit = unit;
  mapping.scale = scale;
  return mapping;
}

SensorMapping object(Unit unit, std::string outdoors, std::string indoors) {
  SensorMapping mapping;
  mapping.form = PayloadForm::json;
  mapping.temperature = "/air/t";
  mapping.humidity = "/air/rh";
  mapping.time = "/at";
  mapping.place = "/in~1out/0";
  mapping.unit = unit;
  mapping.outdoors_word = std::move(outdoors);
  mapping.indoors_word = std::move(indoors);
  return mapping;
}

const SensorMapping kMappings[] = {number(Quantity::temperature),
                                   number(Quantity::humidity),
                                   number(Quantity::place),
                                   number(Quantity::temperature, Unit::fahrenheit),
                                   number(Quantity::temperature, Unit::kelvin, 1e300),
                                   object(Unit::celsius, "outdoors", "indoors"),
                                   object(Unit::kelvin, "true", "-1")};
constexpr std::size_t kNumber = 0, kFirstObject = 5;

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::string_view bytes = fuzz::text_of(data, size);
  const std::size_t which = fuzz::choice(bytes, std::size(kMappings));
  const Decoded decoded = fuzz::decode_checked(bytes, kMappings[which]);
  if (which >= kFirstObject) return 0;
  expect(decoded.readings.empty() == decoded.refusal.has_value(),
         "a plain payload is either read or refused");
  if (which == kNumber && !decoded.readings.empty()) {
    const std::string again = fixed(from_milli(decoded.readings[0].value), 3);
    expect(Payload(again).decode(kMappings[kNumber]) == decoded,
           "a number written out again is the same reading");
  }
  return 0;
}
