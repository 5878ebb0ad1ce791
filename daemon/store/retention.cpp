// Thins old readings. The journal is cut only at a kept snapshot, never by the readings' own times:
// an audit folds every row after its snapshot, so none of those may be missing. Readings of
// contacts (quantity 2) stay: they are few, and their mean says nothing.
#include <algorithm>

#include "store/rows.h"

namespace plainwater::store {
namespace {

/// Journal rows per call; keeps the writer busy for some tens of milliseconds.
constexpr std::int64_t kRowsAtMost = 4096;
constexpr std::int64_t kHourMs = 3'600'000;

/// The last kept snapshot that is old enough, in order of creation: everything before it is older,
/// even rows with a wrong future time that was set back since. But rows within the raw window may
/// be as young as they say: perhaps setting the time back was the mistake.
std::int64_t cut_snapshot(Connection& c, Instant now, Span raw) {
  Use use(c,
          "SELECT journal_seq FROM snapshots AS cut WHERE kept = 1 AND now_ms <= ?1 AND NOT EXISTS "
          "(SELECT 1 FROM snapshots WHERE journal_seq < cut.journal_seq AND now_ms > ?1 AND now_ms "
          "<= ?2) ORDER BY journal_seq DESC LIMIT 1");
  return use.with(now - raw, now).next() ? use.integer(0) : 0;
}

}  // namespace

Retained thin_readings(Connection& c, Instant now, Span raw) {
  const auto thinned = meta(c, "thinned_seq");
  // The snapshot's own row stays, so that its number is never given again.
  const auto last = cut_snapshot(c, now, raw) - 1;
  if (last <= thinned) return {};
  const auto until = std::min(last, thinned + kRowsAtMost);
  Use(c,
      "INSERT INTO hourly (sensor_id, quantity, hour, sum_milli, min_milli, max_milli, count) "
      "SELECT sensor_id, quantity, (time_ms - (time_ms % 3600000 + 3600000) % 3600000) / 3600000 "
      "AS h, "
      "SUM(value_milli), MIN(value_milli), MAX(value_milli), COUNT(*) "
      "FROM journal WHERE seq > ?1 AND seq <= ?2 AND kind = 0 AND quantity <> 2 GROUP BY "
      "sensor_id, quantity, h "
      "ON CONFLICT (sensor_id, quantity, hour) DO UPDATE SET sum_milli = sum_milli + "
      "excluded.sum_milli, "
      "min_milli = MIN(min_milli, excluded.min_milli), max_milli = MAX(max_milli, "
      "excluded.max_milli), count = count + excluded.count")
      .with(thinned, until)
      .run();
  const int gone =
      Use(c, "DELETE FROM journal WHERE seq > ?1 AND seq <= ?2 AND kind = 0 AND quantity <> 2")
          .with(thinned, until)
          .run();
  set_meta(c, "thinned_seq", until);
  set_meta(c, "cut_seq", last + 1);
  return {gone, until < last};
}

void walk_hours(Connection& c, std::string_view sensor, Quantity quantity, Instant from, Instant to,
                const HourVisitor& visit) {
  HourRow row;
  row.sensor = sensor;
  row.quantity = quantity;
  Use use(c,
          "SELECT hour, sum_milli, min_milli, max_milli, count FROM hourly JOIN sensors ON "
          "sensors.id = sensor_id "
          "WHERE sensors.name = ?1 AND quantity = ?2 AND hour * 3600000 >= ?3 AND hour * 3600000 < "
          "?4 ORDER BY hour");
  use.with(row.sensor, static_cast<int>(quantity), from, to);
  while (use.next()) {
    row.hour = from_ms(use.integer(0) * kHourMs);
    row.count = use.integer(4);
    row.mean = static_cast<double>(use.integer(1)) / static_cast<double>(row.count) / 1000.0;
    row.minimum = from_milli(use.small(2));
    row.maximum = from_milli(use.small(3));
    if (!visit(row)) break;
  }
}

}  // namespace plainwater::store
