// What the columns of a CSV file hold, as people say it: WHAT=COLUMN, where WHAT is
//
//   time, date           when; with a date column, time is the time of the day
//   sensor               whose the row is, in a long file
//   temperature, humidity, place      of that sensor
//   quantity, value      which of these, and its value; without quantity it is the temperature
//   SENSOR, SENSOR.humidity, SENSOR.place     of one sensor, in a wide file
//
// and may end in a unit: .celsius, .fahrenheit, .kelvin, .percent, .fraction (0..1). COLUMN is the
// name in the header, or where no column is called so, its number from 1.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "common/result.h"
#include "settings/settings.h"

namespace plainwater {

struct CsvColumn {
  enum class Use : std::uint8_t {
    time,
    date,
    sensor,
    quantity,
    value,
    temperature,
    humidity,
    place
  };
  Use use = Use::time;
  std::string sensor;        ///< of a wide file; empty: the row's
  std::optional<Unit> unit;  ///< of a temperature, where it is stated
  bool fraction = false;     ///< a humidity is 0..1 rather than percent
  std::string column;        ///< its name or number
};

/// The error says what was expected, without a place.
Result<CsvColumn> read_csv_column(std::string_view text);
/// What is missing from, or twice in, the columns of one file; none when they can be used.
std::optional<Error> fault_of(std::span<const CsvColumn> columns);

/// "+01:00" in seconds; none when it is no offset from UTC.
std::optional<int> read_utc_offset(std::string_view text);
/// Looks like a zone of CsvForm: an IANA name, "site", UTC or an offset.
bool is_csv_zone(std::string_view text);

}  // namespace plainwater
