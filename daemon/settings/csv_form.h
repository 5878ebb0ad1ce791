// How people's CSV files of readings are written: the settings' section csv, and the options of the
// commands that read such files.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace plainwater {

enum class CsvSeparator : std::uint8_t { guess, comma, semicolon, tab };
/// guess: a point, or a comma too where fields are not separated by commas.
enum class DecimalMark : std::uint8_t { guess, point, comma };
/// Forms of a time; guess: any that can be told apart, with the order of day and month proven by
/// the file.
enum class CsvTimes : std::uint8_t { guess, rfc3339, year_first, day_first, month_first, unix };

struct CsvForm {
  std::vector<std::string> columns;  ///< "time=Zeit", "mist-a=T1": see csv_columns.h
  CsvSeparator separator = CsvSeparator::guess;
  DecimalMark decimal = DecimalMark::guess;
  CsvTimes times = CsvTimes::guess;
  std::string zone;  ///< of times without one: IANA name, "site", UTC or +01:00; empty: none

  bool operator==(const CsvForm&) const = default;
};

}  // namespace plainwater
