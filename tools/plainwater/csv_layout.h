// Where in a file what stands: found by its first lines and by what people say of its columns.
#pragma once

#include <cstdint>
#include <functional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "common/result.h"
#include "settings/csv_columns.h"

namespace plainwater::tool {

struct CsvLayout {
  struct Column {
    CsvColumn what;
    std::size_t at = 0;  ///< field, from 0
  };
  char separator = ',';
  std::vector<Column> columns;
  std::size_t header = 0;  ///< how many of the first lines belong to the header
  std::size_t fields = 0;  ///< in the header; 0: there is none

  /// The column of this use and of no single sensor; null when there is none.
  const Column* find(CsvColumn::Use use) const;
  bool wide() const;
};

/// Whether the settings have a sensor of this name.
using KnowsSensor = std::function<bool(std::string_view)>;

/// `lines`: the first of the file, bare. Without columns in `form`, those called time, sensor,
/// temperature_c, humidity_percent and place, or like sensors, are taken. The error names the
/// columns that the file has.
Result<CsvLayout> csv_layout(std::span<const std::string> lines, const CsvForm& form,
                             const KnowsSensor& knows);

}  // namespace plainwater::tool
