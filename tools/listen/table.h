// What was recognised, as a table for the terminal.
#pragma once

#include <string>
#include <vector>

#include "listen/entries.h"
#include "listen/recognise.h"

namespace plainwater::listen {

inline constexpr std::size_t kTableWidth = 100;  ///< columns
inline constexpr std::size_t kMostRows = 60;     ///< of sources; and of what was left out, 20

/// "2.5 s", "40 s", "15 min"; empty for 0.
std::string interval_text(Span span);
/// A row a sensor: topic, what, unit, last value, interval, how sure; doubts below it.
std::string table_of(const std::vector<Entry>& entries);
/// What was not taken, by reason, topics of one shape together.
std::string left_out_of(const Recognised& recognised);

}  // namespace plainwater::listen
