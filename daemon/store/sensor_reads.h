// Reads one sensor's readings, raw and thinned. Thread-safe; store.h has the rules for callbacks.
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

  /// Raw readings measured in [from, to), in order of time. Of two at the same time the smaller
  /// counts.
  Status readings(std::string_view sensor, Quantity quantity, Instant from, Instant to,
                  const ReadingVisitor& visit);
  /// Thinned readings in [from, to), in order of hour.
  Status hourly(std::string_view sensor, Quantity quantity, Instant from, Instant to,
                const HourVisitor& visit);
  /// The sensor's number in the store; none when it never reported.
  Result<std::optional<std::int64_t>> id(std::string_view name);
  Result<std::optional<std::string>> name(std::int64_t id);

 private:
  ReadSide& side_;
};

}  // namespace plainwater::store
