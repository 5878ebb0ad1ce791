// Decodes messages into measured values. Pure: no clock, no state beyond the bytes.
//
//   Payload payload(message.payload);
//   for (const Match& m : catalogue.match(message.topic)) {
//     const Decoded d = payload.decode(*m.mapping);
//     for (const Measured& value : d.readings) …       // see arrival.h for the time to use
//     if (d.refusal) refusals.count(*d.refusal, message.topic);
//   }
#pragma once

#include <array>
#include <boost/json/monotonic_resource.hpp>
#include <boost/json/value.hpp>
#include <optional>
#include <string_view>
#include <variant>
#include <vector>

#include "common/instant.h"
#include "common/reading.h"
#include "intake/refusals.h"
#include "settings/settings.h"

namespace plainwater::intake {

inline constexpr std::size_t kLargestPayload = 64 * 1024;  ///< bytes
inline constexpr std::size_t kDeepestJson = 16;
inline constexpr double kDomain = 1000;  ///< °C and %RH either side of zero

struct Measured {
  Quantity quantity = Quantity::temperature;
  Milli value = 0;              ///< °C or %RH, converted and corrected; for a place see `place_of`
  std::optional<Instant> time;  ///< the reading's own time
  Span from_arrival{
      0};  ///< only without an own time: added to the arrival time (SenML relative time)

  bool operator==(const Measured&) const = default;
};

struct Decoded {
  std::vector<Measured> readings;
  std::optional<Refusal>
      refusal;  ///< why the first unusable part was refused; `readings` are valid all the same

  bool operator==(const Decoded&) const = default;
};

/// A payload, parsed at most once however many mappings read it. Refers to `bytes`, which must
/// outlive it.
class Payload {
 public:
  explicit Payload(std::string_view bytes) : bytes_(bytes) {}
  Payload(const Payload&) = delete;
  Payload& operator=(const Payload&) = delete;

  /// Decodes what the mapping names. Absent or null quantities are no fault while at least one is
  /// there. An own time that is absent or null leaves the reading untimed; one that cannot be read
  /// refuses the payload.
  Decoded decode(const SensorMapping& mapping);

  /// The bytes as text, or why they are refused.
  std::variant<std::string_view, Refusal> text() const;
  /// The bytes as JSON, or why they are refused.
  std::variant<const boost::json::value*, Refusal> document();

 private:
  std::optional<Refusal> parse();

  std::string_view bytes_;
  std::array<unsigned char, 2048> buffer_{};
  boost::json::monotonic_resource memory_{buffer_.data(), buffer_.size()};
  std::variant<std::monostate, Refusal, boost::json::value> document_;
};

/// Building blocks, shared with SenML and dose reports.
/// A decimal number with optional surrounding blanks, nothing else.
std::variant<double, Refusal> parse_number(std::string_view text);
/// The value at a JSON Pointer; null when the pointer is empty or finds nothing or null.
const boost::json::value* find(const boost::json::value& document, std::string_view pointer);
/// A finite JSON number, or a string that holds one.
std::variant<double, Refusal> number_of(const boost::json::value& value);
/// A finite JSON number; none for anything else, even a string.
std::optional<double> finite_number(const boost::json::value& value);
/// RFC 3339 text, or seconds or milliseconds since 1970.
std::variant<Instant, Refusal> time_of(const boost::json::value& value);
double celsius_of(double value, Unit unit);
/// °C from the mapping's (or the given) unit, scale and offset applied; rounded to a thousandth.
std::variant<Milli, Refusal> temperature_of(double value, Unit unit, const SensorMapping& mapping);
/// %RH with scale and offset applied; rounded to a thousandth.
std::variant<Milli, Refusal> humidity_of(double value, const SensorMapping& mapping);
/// The value of a contact: 0 indoors, 1000 outdoors. Blanks around the word are ignored; case
/// matters.
std::variant<Milli, Refusal> place_of(std::string_view word, const SensorMapping& mapping);
/// Seconds since 1970 as an instant; `bad_time` outside the years 2000 to 9999.
std::variant<Instant, Refusal> instant_of(double seconds_since_1970);

}  // namespace plainwater::intake
