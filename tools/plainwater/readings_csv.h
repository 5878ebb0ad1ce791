// Streams a rehearsal CSV, plain or gzipped: `time,sensor,temperature_c,humidity_percent,place`,
// columns found by name; the last two are optional. Place is a contact's reading: indoors, outdoors
// or empty.
#pragma once

#include <zlib.h>

#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "common/reading.h"
#include "common/result.h"

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

class ReadingsCsv {
 public:
  /// Called for each unreadable row with its line and the reason.
  using BadRow = std::function<void(std::uint64_t line, const std::string& why)>;

  /// Opens the file and reads the header; the error names a missing column.
  static Result<ReadingsCsv> open(const std::string& path, BadRow bad_row);
  ReadingsCsv(ReadingsCsv&& other) noexcept;
  ReadingsCsv& operator=(ReadingsCsv&&) = delete;
  ~ReadingsCsv();

  /// The next good row; false at the end. Bad rows are reported and skipped.
  bool next(CsvRow& row);
  /// Continues at a row that `next` returned before.
  void seek(std::uint64_t offset, std::uint64_t line);
  /// Share of the file read so far, 0..1.
  double progress() const;
  /// A read error of the file (truncated gzip, disk); empty: none.
  const std::string& read_error() const { return read_error_; }

 private:
  ReadingsCsv(gzFile file, std::string path, BadRow bad_row);
  bool next_line(std::string_view& line);
  bool parse(std::string_view line, CsvRow& row, std::string& why) const;

  gzFile file_;
  std::string path_;
  BadRow bad_row_;
  std::uint64_t size_ = 1;
  std::vector<char> buffer_;
  std::size_t begin_ = 0, end_ = 0;
  bool at_end_ = false;
  std::uint64_t offset_ = 0;  ///< of buffer_[begin_]
  std::uint64_t line_ = 0;
  std::string read_error_;
  int time_at_ = -1, sensor_at_ = -1, temperature_at_ = -1, humidity_at_ = -1, place_at_ = -1,
      columns_ = 0;
};

/// Parses a decimal as thousandths, rounded half away from zero; false when it is not a number
/// within ±2e6.
bool parse_milli(std::string_view text, Milli& out);

}  // namespace plainwater::tool
