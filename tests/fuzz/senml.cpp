// Readings as SenML packs, by full names and by own names.
#include "intake/senml.h"

#include "fuzz.h"
#include "readings.h"

using namespace plainwater;

namespace {

SensorMapping pack(std::string temperature, std::string humidity, Unit unit) {
  SensorMapping mapping;
  mapping.form = PayloadForm::senml;
  mapping.temperature = std::move(temperature);
  mapping.humidity = std::move(humidity);
  mapping.unit = unit;
  return mapping;
}

const SensorMapping kMappings[] = {pack("t", "h", Unit::celsius), pack("b:t", "b:h", Unit::kelvin),
                                   pack("b:t", "", Unit::fahrenheit)};

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::string_view bytes = fuzz::text_of(data, size);
  const SensorMapping& mapping = kMappings[fuzz::choice(bytes, std::size(kMappings))];
  const intake::Decoded decoded = fuzz::decode_checked(bytes, mapping);
  for (const auto& reading : decoded.readings) {
    fuzz::expect(reading.quantity != Quantity::place, "SenML has no places");
    fuzz::expect(reading.quantity != Quantity::humidity || !mapping.humidity.empty(),
                 "nothing is read that the mapping does not name");
  }
  return 0;
}
