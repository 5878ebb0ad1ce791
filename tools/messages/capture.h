// Messages as a subscriber wrote them down.
#pragma once

#include <istream>
#include <string>
#include <vector>

namespace plainwater::tool {

struct Captured {
  std::size_t line = 0;  ///< where it begins, from 1
  std::string topic, payload;
  std::string fault{};  ///< not empty: the line is no message, and why
};

/// A line each: `topic payload`, or a JSON object with `topic` and `payload` (a string is the
/// payload itself, anything else is the JSON that was sent). Further lines of a placard, which has
/// several, follow as they are. Empty lines are passed over.
std::vector<Captured> read_capture(std::istream& in);

}  // namespace plainwater::tool
