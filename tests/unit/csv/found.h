// All that a described file gives, as text.
#pragma once

#include <string>
#include <vector>

#include "file.h"
#include "plainwater/mapped_csv.h"

namespace plainwater::testing {

using namespace plainwater::tool;
using Texts = std::vector<std::string>;

struct Found {
  std::string refused, remedy;
  std::vector<std::string> values, told;
  std::uint64_t skipped = 0, twice = 0;
};

inline bool is_ours(std::string_view name) { return name == "mist-a" || name == "long-a"; }

inline Found found_in(const File& file, const CsvForm& form = {}) {
  Found out;
  Site site;
  site.time_zone = "Europe/London";
  auto csv = MappedCsv::open(file.path(), form, site, is_ours);
  if (!csv) {
    out.refused = csv.error().what;
    out.remedy = csv.error().remedy;
    return out;
  }
  CsvLine line;
  while (csv->next(line))
    for (const auto& v : line.values)
      out.values.push_back(std::to_string(line.line) + " " + format_rfc3339(line.time) + " " +
                           std::string(v.sensor) + " " +
                           std::to_string(static_cast<int>(v.quantity)) + " " +
                           std::to_string(v.value));
  if (const auto whole = csv->fault(); !whole) {
    out.refused = whole.error().what;
    out.remedy = whole.error().remedy;
  }
  csv->refused().tell("f", [&](const std::string& text) { out.told.push_back(text); });
  out.skipped = csv->refused().count();
  out.twice = csv->twice();
  return out;
}

inline CsvForm form(std::vector<std::string> columns, std::string zone = "") {
  CsvForm made;
  made.columns = std::move(columns);
  made.zone = std::move(zone);
  return made;
}

}  // namespace plainwater::testing
