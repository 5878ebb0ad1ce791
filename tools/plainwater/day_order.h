// Whether the day or the month comes first in the dates of a file.
#pragma once

#include <fmt/format.h>

#include <cstdint>

#include "common/result.h"
#include "plainwater/local_times.h"

namespace plainwater::tool {

/// What the pairs of numbers in front of dates prove of their order.
struct DayOrder {
  std::uint64_t day_first = 0, month_first = 0, any = 0;  ///< lines that show it; 0: none
  std::uint64_t short_year = 0;                           ///< a line whose year has two digits

  bool needed() const { return any != 0 || short_year != 0; }
  void take(const DayPair& pair, std::uint64_t line) {
    if (pair.short_year) return void(short_year = line);
    if (any == 0) any = line;
    if (pair.first > 12 && pair.second <= 12 && day_first == 0) day_first = line;
    if (pair.second > 12 && pair.first <= 12 && month_first == 0) month_first = line;
  }
  Result<CsvTimes> order() const {
    const char* remedy = "say --times day-first or --times month-first";
    if (any == 0)
      return Error{fmt::format("years have two digits, so that any number of a date may be the day "
                               "(see line {})",
                               short_year),
                   "", remedy};
    if (day_first != 0 && month_first != 0)
      return Error{fmt::format("line {} has the day before the month, line {} after it", day_first,
                               month_first),
                   "", remedy};
    if (day_first == 0 && month_first == 0)
      return Error{fmt::format("whether the day or the month comes first cannot be told from this "
                               "file (see line {})",
                               any),
                   "", remedy};
    return day_first != 0 ? CsvTimes::day_first : CsvTimes::month_first;
  }
};

}  // namespace plainwater::tool
