// Streams a CSV file of any layout that people describe: see csv_layout.h and local_times.h.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/reading.h"
#include "common/result.h"
#include "plainwater/csv_fields.h"
#include "plainwater/csv_layout.h"
#include "plainwater/local_times.h"
#include "plainwater/refused_rows.h"
#include "plainwater/text_lines.h"

namespace plainwater::tool {

/// What one line of a file says.
struct CsvLine {
  struct Value {
    std::string_view sensor;  ///< valid until the next line
    Quantity quantity = Quantity::temperature;
    Milli value = 0;
  };
  Instant time{};
  std::uint64_t line = 0;  ///< from 1
  std::vector<Value> values{};
};

class MappedCsv {
 public:
  /// Opens the file and finds its columns. What cannot be told, such as the order of day and month
  /// or the zone of times without one, is an error that says what to state.
  static Result<MappedCsv> open(const std::string& path, const CsvForm& form, const Site& site,
                                const KnowsSensor& knows);

  /// The next line with a value; false at the end. Others are skipped, and counted if they should
  /// have had one.
  bool next(CsvLine& line);
  double progress() const { return lines_->progress(); }
  const std::string& read_error() const { return lines_->read_error(); }
  /// After the last line: why none of the file can be used.
  Status fault() const;

  const CsvLayout& layout() const { return layout_; }
  RefusedRows& refused() { return refused_; }
  std::uint64_t twice() const { return local_.twice(); }  ///< local times that occur twice

 private:
  MappedCsv(TextLines lines, CsvLayout layout, const CsvForm& form, LocalTimes local);

  /// Goes back to the first line after the header.
  void rewind();
  /// The next line with something in it, and its fields.
  bool next_fields(std::vector<std::string_view>& fields);
  /// The text of a row's time, from one column or two.
  std::string_view time_text(const std::vector<std::string_view>& fields);
  /// Finds the order of day and month, and sees that times have a zone.
  Status look_at_times(const CsvForm& form);
  bool read_time_of(const std::vector<std::string_view>& fields, std::string_view sensor,
                    int quantity, Instant& out);
  void read_wide(const std::vector<std::string_view>& fields, CsvLine& line);
  void read_long(const std::vector<std::string_view>& fields, CsvLine& line);
  struct Measured {
    Quantity quantity;
    std::optional<Unit> unit;  ///< of a temperature; none: °C
  };
  void read_value(const CsvLayout::Column& column, const Measured& kind, std::string_view sensor,
                  std::string_view text, CsvLine& line);
  std::string name_of(const CsvLayout::Column& column) const;
  bool read_number(std::string_view text, Milli& out);

  std::unique_ptr<TextLines> lines_;
  CsvLayout layout_;
  CsvTimes times_;
  bool commas_ = false, points_ = true;  ///< decimal marks that count
  std::size_t needed_ = 0;               ///< fields that a row must have
  std::uint64_t line_ = 0;
  CsvFields fields_{};
  std::string joined_{}, number_{};
  LocalTimes local_;
  bool order_proven_ = false;               ///< of day and month, by years of four digits
  std::map<std::size_t, Milli> dampest_{};  ///< largest humidity so far, by field; no shares of 1
  RefusedRows refused_{};
};

}  // namespace plainwater::tool
