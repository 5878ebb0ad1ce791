#include "store/sensor_reads.h"

#include "store/access.h"
#include "store/rows.h"

namespace plainwater::store {

SensorReads::SensorReads(Store& store) : side_(store.reads()) {}

Status SensorReads::readings(std::string_view sensor, Quantity quantity, Instant from, Instant to,
                             const ReadingVisitor& visit) {
  return side_.read([&](Connection& c) -> Status {
    walk_readings(c, sensor, quantity, from, to, visit);
    return Done{};
  });
}

Status SensorReads::hourly(std::string_view sensor, Quantity quantity, Instant from, Instant to,
                           const HourVisitor& visit) {
  return side_.read([&](Connection& c) -> Status {
    walk_hours(c, sensor, quantity, from, to, visit);
    return Done{};
  });
}

Result<std::optional<std::int64_t>> SensorReads::id(std::string_view name) {
  return side_.read(
      [&](Connection& c) -> Result<std::optional<std::int64_t>> { return c.known_sensor(name); });
}

Result<std::optional<std::string>> SensorReads::name(std::int64_t id) {
  return side_.read([&](Connection& c) -> Result<std::optional<std::string>> {
    Use use(c, "SELECT name FROM sensors WHERE id = ?1");
    if (!use.with(id).next()) return std::optional<std::string>();
    return std::optional(use.text(0));
  });
}

}  // namespace plainwater::store
