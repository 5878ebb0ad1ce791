// Columns of CSV files: what they name must fit together.
#include "settings/check.h"
#include "settings/csv_columns.h"

namespace plainwater {

void check_csv(const Draft& draft, Findings& findings) {
  const auto& given = draft.settings.csv.columns;
  if (given.empty()) return;
  const char* key = "csv.columns";
  const auto fault = [&](const Error& error) {
    findings.problems.push_back({draft.line(key), key, error.what, error.remedy});
  };
  std::vector<CsvColumn> columns;
  for (const std::string& text : given) {
    auto column = read_csv_column(text);
    if (!column) return fault(column.error());
    columns.push_back(std::move(*column));
  }
  if (const auto wrong = fault_of(columns)) fault(*wrong);
}

}  // namespace plainwater
