// The journal: every input that the engine took, in that order.
#pragma once

#include <cstdint>
#include <functional>
#include <string>

#include "common/instant.h"
#include "common/reading.h"

namespace plainwater::store {

/// These numbers are in the file; never give one a new meaning.
enum class JournalKind : std::uint8_t {
  reading = 0,
  request = 1,   ///< body: the grower's request as it arrived
  settings = 2,  ///< body: settings text and rules revision, as the service wrote them
  clock = 3,     ///< body: a fact about the clock that was accepted
  tick = 4,      ///< time passed and something was due; body empty
  dose = 5,      ///< body: a pump's report, with its own time; an equal body is the same report
};

struct JournalRow {
  JournalKind kind = JournalKind::tick;
  Instant now{};       ///< engine time when it was taken
  std::string sensor;  ///< name; only for readings, as are the next three
  Quantity quantity = Quantity::temperature;
  Instant time{};  ///< when it was measured
  Milli value = 0;
  std::string body;  ///< empty for readings
  bool operator==(const JournalRow&) const = default;
};

struct Appended {
  std::int64_t seq = 0;  ///< of the row, or of the equal reading or dose already there
  bool is_new = true;    ///< false: this reading or dose was already journaled; nothing was written
};

/// The content of a settings row.
struct SettingsInForce {
  std::int64_t seq = 0;
  Instant now{};
  std::string body;  ///< as journaled
};

/// Called for each row; false ends the walk.
using JournalVisitor = std::function<bool(std::int64_t seq, const JournalRow& row)>;
/// Called before the first row of a walk. Of the readings up to `thinned_seq` only those of
/// contacts are left. False: skip the walk.
using JournalBeginning = std::function<bool(std::int64_t thinned_seq)>;

/// A pump report as journaled.
struct DoseRow {
  Instant now{};  ///< engine time when it was taken
  std::string body;
};

/// Called for each reading; false ends the walk.
using ReadingVisitor = std::function<bool(Instant time, Milli value)>;

/// The summary of one clock hour (UTC) of raw readings after thinning; never of a contact.
struct HourRow {
  std::string sensor;
  Quantity quantity = Quantity::temperature;
  Instant hour{};   ///< start of the hour
  double mean = 0;  ///< °C or %RH, as are the next two
  double minimum = 0, maximum = 0;
  std::int64_t count = 0;  ///< number of readings
};
using HourVisitor = std::function<bool(const HourRow& row)>;

}  // namespace plainwater::store
