// The journal: every input the engine took, in the order in which it took them.
#pragma once

#include <cstdint>
#include <functional>
#include <string>

#include "common/instant.h"
#include "common/reading.h"

namespace plainwater::store {

/// The numbers stand in the file; never give one a new meaning.
enum class JournalKind : std::uint8_t {
  reading = 0,
  request = 1,   ///< body: the grower's request as it came
  settings = 2,  ///< body: settings text and rules revision, as the service wrote them
  clock = 3,     ///< body: a fact about the clock that was accepted
  tick = 4,      ///< time passed and something was due; body empty
  dose = 5,  ///< body: a pump's report, with its own time; the same body again is the same report
};

struct JournalRow {
  JournalKind kind = JournalKind::tick;
  Instant now{};       ///< engine time at which it was taken
  std::string sensor;  ///< name; reading only, as are the next three
  Quantity quantity = Quantity::temperature;
  Instant time{};  ///< when it was measured
  Milli value = 0;
  std::string body;  ///< not for readings
};

struct Appended {
  std::int64_t seq = 0;  ///< of the row, or of the equal reading or dose that was there already
  bool is_new = true;    ///< false: this very reading or dose is journaled; nothing was written
};

/// A settings row.
struct SettingsInForce {
  std::int64_t seq = 0;
  Instant now{};
  std::string body;  ///< as journaled
};

/// Called row by row; false ends the walk.
using JournalVisitor = std::function<bool(std::int64_t seq, const JournalRow& row)>;
/// Called before the first row of a walk: of the readings up to `thinned_seq` only contacts' words
/// come in it. False: no row is wanted.
using JournalBeginning = std::function<bool(std::int64_t thinned_seq)>;

/// A pump's report as journaled.
struct DoseRow {
  Instant now{};  ///< engine time at which it was taken
  std::string body;
};

/// Called reading by reading; false ends the walk.
using ReadingVisitor = std::function<bool(Instant time, Milli value)>;

/// What is left of the raw readings of one clock hour (UTC) once they are thinned; never of a
/// place.
struct HourRow {
  std::string sensor;
  Quantity quantity = Quantity::temperature;
  Instant hour{};   ///< its beginning
  double mean = 0;  ///< °C or %RH, as are the next two
  double minimum = 0, maximum = 0;
  std::int64_t count = 0;  ///< readings
};
using HourVisitor = std::function<bool(const HourRow& row)>;

}  // namespace plainwater::store
