// Readings from the future, each waiting for its time. Each sensor has its own room, so that none
// can take another's. When that is full, the reading that would wait longest is dropped, so that a
// sensor whose clock was far ahead for a while is heard again once it is right.
#pragma once

#include <compare>
#include <cstddef>
#include <map>
#include <optional>
#include <vector>

#include "common/bytes.h"
#include "common/reading.h"
#include "settings/settings.h"

namespace plainwater::engine {

class Quarantine {
 public:
  /// How many readings of one sensor may wait, in a house with `sensors` of them: 3,000 (a day
  /// ahead, air and humidity each minute), fewer beyond 133 sensors, at least 100.
  static std::size_t room(std::size_t sensors);

  /// Returns when the reading falls due; none if `room`, the sensor's, is full of readings due no
  /// later.
  std::optional<Instant> add(const Reading& reading, std::size_t room);
  /// kForever: nothing waits.
  Instant due() const;
  /// Removes and returns the next one; there must be one.
  Reading take();

  /// Sensors are saved by name, so that settings may change in between.
  void save(ByteWriter& out, const Settings& settings) const;
  void load(ByteReader& in, const Settings& settings);

 private:
  struct Waiting {
    Instant due{};
    Reading reading;
    auto operator<=>(const Waiting&) const = default;
  };
  /// The next one over all sensors; null when nothing waits.
  const Waiting* first() const;
  void put(const Waiting& waiting);

  std::map<SensorId, std::vector<Waiting>> by_sensor_;  ///< no list is empty; the next one is last
};

}  // namespace plainwater::engine
