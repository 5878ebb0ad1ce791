// Reads of what one sensor measured, raw and thinned. Thread-safe; store.h tells about
// callbacks.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "common/result.h"
#include "store/journal.h"

namespace plainwater::store {

class ReadSide;
class Store;

class SensorReads {
 public:
  /// The store must outlive it.
  explicit SensorReads(Store& store);

  /// Readings measured in [from, to), in order of time, as far as they are not thinned yet. Of two
  /// of one time the smaller counts.
  Status readings(std::string_view sensor, Quantity quantity, Instant from, Instant to,
                  const ReadingVisitor& visit);
  /// Thinned readings in [from, to), in order of hour.
  Status hourly(std::string_view sensor, Quantity quantity, Instant from, Instant to,
                const HourVisitor& visit);
  /// The store's own number of a sensor; none when it never reported.
  Result<std::optional<std::int64_t>> id(std::string_view name);
  Result<std::optional<std::string>> name(std::int64_t id);

 private:
  ReadSide& side_;
};

}  // namespace plainwater::store
