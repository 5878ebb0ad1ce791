// Splits a line of a CSV file into fields (RFC 4180, but no field goes over the end of a line).
#pragma once

#include <deque>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace plainwater::tool {

class CsvFields {
 public:
  static constexpr std::size_t kMost = 4096;

  /// Fields without quotes and the spaces around them; valid while the line is, and until the next
  /// call. None: a quote is not closed, or there are too many.
  std::optional<std::vector<std::string_view>> split(std::string_view line, char separator);

 private:
  bool quoted_field(std::string_view& line, char separator, std::string_view& field);

  std::deque<std::string> unescaped_;  ///< fields that held doubled quotes
};

/// A line without its carriage return, and the first one without the byte order mark.
std::string_view bare_line(std::string_view line, bool first);
/// Blank, or a comment.
bool says_nothing(std::string_view line);

}  // namespace plainwater::tool
