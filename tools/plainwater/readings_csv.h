// Streams a rehearsal CSV, plain or gzipped: `time,sensor,temperature_c,humidity_percent,place`,
// columns found by name; the last two are optional. Place is a contact's reading: indoors, outdoors
// or empty.
#pragma once

#include <functional>
#include <string>
#include <string_view>

#include "common/reading.h"
#include "common/result.h"
#include "plainwater/text_lines.h"

namespace plainwater::tool {

/// What the error of `open` says of a file without a byte: an answer about the readings, where the
/// others are about the command line.
inline constexpr const char* kNothingInIt = "the file is empty";

inline constexpr Milli kMissing = INT32_MIN;

struct CsvRow {
  Instant time{};
  std::string_view sensor;       ///< valid until the next row
  Milli temperature = kMissing;  ///< thousandths of °C
  Milli humidity = kMissing;     ///< thousandths of %RH
  Milli place = kMissing;        ///< as a reading of Quantity::place
  std::uint64_t offset = 0;      ///< of the row's first byte in the (inflated) text
  std::uint64_t line = 0;        ///< from 1; the header is line 1
};

/// Whether a header names the columns that ReadingsCsv needs.
bool is_readings_header(std::string_view line);

class ReadingsCsv {
 public:
  /// Called for each unreadable row with its line and the reason.
  using BadRow = std::function<void(std::uint64_t line, const std::string& why)>;

  /// Opens the file and reads the header; the error names a missing column.
  static Result<ReadingsCsv> open(const std::string& path, BadRow bad_row);

  /// The next good row; false at the end. Bad rows are reported and skipped.
  bool next(CsvRow& row);
  /// Continues at a row that `next` returned before.
  void seek(std::uint64_t offset, std::uint64_t line) { lines_.seek(offset, line); }
  /// Share of the file read so far, 0..1.
  double progress() const { return lines_.progress(); }
  /// A read error of the file (truncated gzip, disk); empty: none.
  const std::string& read_error() const { return lines_.read_error(); }

  /// Which field is what, from 0; -1: none.
  struct Columns {
    int time = -1, sensor = -1, temperature = -1, humidity = -1, place = -1, count = 0;
    /// Finds them by the header's names; the name of one that is needed and missing, else null.
    const char* find(std::string_view header);
  };

 private:
  ReadingsCsv(TextLines lines, BadRow bad_row)
      : lines_(std::move(lines)), bad_row_(std::move(bad_row)) {}
  bool parse(std::string_view line, CsvRow& row, std::string& why) const;

  TextLines lines_;
  BadRow bad_row_;
  Columns columns_;
};

/// Parses a decimal as thousandths, rounded half away from zero; false when it is not a number
/// within ±2e6.
bool parse_milli(std::string_view text, Milli& out);

}  // namespace plainwater::tool
