// Properties of any payload's readings, whatever the format.
#pragma once

#include <cstdlib>

#include "fuzz.h"
#include "intake/payload.h"

namespace plainwater::fuzz {

inline void check_reading(const intake::Measured& reading) {
  constexpr Instant kEarliest = from_seconds(946'684'800),
                    kAfter = from_seconds(253'402'300'800);  // years 2000 and 10000
  if (reading.quantity == Quantity::place)
    expect(reading.value == 0 || reading.value == 1000, "a place is indoors or outdoors");
  else
    expect(std::abs(static_cast<double>(reading.value)) <= intake::kDomain * 1000,
           "a value lies within its domain");
  if (reading.time) {
    expect(*reading.time >= kEarliest && *reading.time < kAfter,
           "an own time lies in the years 2000 to 9999");
    expect(reading.from_arrival == Span{0}, "what has an own time does not count from its arrival");
    expect(parse_rfc3339(format_rfc3339(*reading.time)).value() == *reading.time,
           "a time written out again is the same");
  }
  expect(std::abs(reading.from_arrival.count()) <= 268'435'456'000,
         "relative times are below 2^28 s");
}

/// Decodes under the mapping and checks the promises common to all formats.
inline intake::Decoded decode_checked(std::string_view bytes, const SensorMapping& mapping) {
  intake::Payload payload(bytes);
  const intake::Decoded decoded = payload.decode(mapping);
  for (const intake::Measured& reading : decoded.readings) check_reading(reading);
  expect(!decoded.readings.empty() || decoded.refusal, "what gives no reading has a reason");
  if (decoded.refusal)
    expect(std::string_view(intake::name_of(*decoded.refusal)).size() > 2, "a reason has a name");
  expect(payload.decode(mapping) == decoded, "a payload that is decoded twice says the same");
  expect(intake::Payload(bytes).decode(mapping) == decoded, "equal payloads say the same");
  return decoded;
}

}  // namespace plainwater::fuzz
