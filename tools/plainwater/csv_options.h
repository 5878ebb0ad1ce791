// How the files that a command reads are written, as its options say.
#pragma once

#include <CLI/CLI.hpp>
#include <optional>
#include <string>
#include <vector>

#include "settings/settings.h"

namespace plainwater::tool {

struct CsvOptions {
  std::vector<std::string> columns{};
  std::string separator{}, decimal{}, times{}, zone{};  ///< empty: not given

  bool given() const;
  /// What they say, and for the rest what the settings say.
  CsvForm over(const CsvForm& settings) const;
};
/// --columns, --separator, --decimal, --times and --zone.
void add_csv_options(CLI::App& command, CsvOptions& options);

/// How this file is written; none: it is of our own form.
std::optional<CsvForm> form_of(const std::string& path, const CsvOptions& options,
                               const CsvForm& settings);

}  // namespace plainwater::tool
