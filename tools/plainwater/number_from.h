// Options that are numbers: within a range, and told in words when they are not.
#pragma once

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <string>

#include "settings/scalar.h"

namespace plainwater::tool {

/// CLI11 accepts "nan" as a number, and no comparison would reject it.
inline CLI::Validator number_from(double least, double most) {
  return CLI::Validator(
      [least, most](const std::string& text) {
        const auto value = read_number(text);
        if (value && *value >= least && *value <= most) return std::string();
        std::string fault =
            fmt::format("expected a number from {} to {}, found {}", least, most, text);
        std::string with_point = text;
        std::replace(with_point.begin(), with_point.end(), ',', '.');
        if (with_point != text && read_number(with_point))
          fault += fmt::format("; write it with a point, as {}", with_point);
        return fault;
      },
      "NUMBER");
}

}  // namespace plainwater::tool
