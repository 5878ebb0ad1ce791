// Messages as written down by a subscriber.
#pragma once

#include <istream>
#include <string>
#include <vector>

namespace plainwater::tool {

struct Captured {
  std::size_t line = 0;  ///< where it begins, from 1
  std::string topic, payload;
  std::string fault{};  ///< why the line is not a message; empty: it is one
};

/// One message per line: `topic payload`, or a JSON object with `topic` and `payload` (a string is
/// the payload itself, anything else is the JSON that was sent). The further lines of a placard
/// follow unchanged. Empty lines are skipped.
std::vector<Captured> read_capture(std::istream& in);

}  // namespace plainwater::tool
