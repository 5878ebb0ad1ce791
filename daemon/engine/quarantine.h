// Readings from the future, each waiting for its time. Each sensor has room of its own, so that no
// sensor takes another's; what would wait longest goes first, so that a sensor whose clock was far
// ahead for a while is heard again once it is right.
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
  /// Readings of one sensor that may wait, in a house of so many sensors: 3,000 (a day ahead, air
  /// and humidity each minute), fewer from 133 sensors on, at least 100.
  static std::size_t room(std::size_t sensors);

  /// When it falls due; none when the sensor has as many that fall due no later. `room` is the
  /// sensor's.
  std::optional<Instant> add(const Reading& reading, std::size_t room);
  /// kForever: nothing waits.
  Instant due() const;
  /// The next one, which waits no more; there must be one.
  Reading take();

  /// Sensors go by name, so that settings may change between.
  void save(ByteWriter& out, const Settings& settings) const;
  void load(ByteReader& in, const Settings& settings);

 private:
  struct Waiting {
    Instant due{};
    Reading reading;
    auto operator<=>(const Waiting&) const = default;
  };
  /// The next one of all; null when nothing waits.
  const Waiting* first() const;
  void put(const Waiting& waiting);

  std::map<SensorId, std::vector<Waiting>> by_sensor_;  ///< none empty; the next one stands last
};

}  // namespace plainwater::engine
