#include "store/access.h"
#include "store/rows.h"

namespace plainwater::store {

Result<std::optional<Snapshot>> Store::latest_snapshot() {
  return read([](Connection& c) -> Result<std::optional<Snapshot>> { return newest_snapshot(c); });
}

Result<std::optional<Snapshot>> Store::audit_start() {
  return read([](Connection& c) -> Result<std::optional<Snapshot>> { return snapshot_at_cut(c); });
}

Result<std::optional<Snapshot>> Store::snapshot_at(std::int64_t seq) {
  return read(
      [&](Connection& c) -> Result<std::optional<Snapshot>> { return snapshot_of(c, seq); });
}

Status Store::journal_since(std::int64_t seq, const JournalVisitor& visit) {
  return read([&](Connection& c) -> Status {
    walk_journal(c, seq, visit);
    return Done{};
  });
}

Result<std::int64_t> Store::last_seq() {
  return read([](Connection& c) -> Result<std::int64_t> { return last_journal_seq(c); });
}

Result<std::int64_t> Store::thinned_seq() {
  return read([](Connection& c) -> Result<std::int64_t> { return meta(c, "thinned_seq"); });
}

Result<bool> Store::holds(Quantity quantity) {
  return read([&](Connection& c) -> Result<bool> { return journal_holds(c, quantity); });
}

Result<std::optional<Instant>> Store::last_now() {
  return read([](Connection& c) -> Result<std::optional<Instant>> { return largest_now(c); });
}

Result<std::optional<Instant>> Store::began() {
  return read([](Connection& c) -> Result<std::optional<Instant>> { return first_settings(c); });
}

Result<std::optional<SettingsInForce>> Store::settings_in_force(std::int64_t until_seq) {
  return read([&](Connection& c) -> Result<std::optional<SettingsInForce>> {
    return last_settings(c, until_seq);
  });
}

Status Store::ledger(const LedgerFilter& filter, const LedgerVisitor& visit) {
  return read([&](Connection& c) -> Status {
    walk_ledger(c, filter, visit);
    return Done{};
  });
}

Status Store::decisions_of(const std::vector<std::string>& kinds, std::string_view bench,
                           const LedgerVisitor& visit) {
  return read([&](Connection& c) -> Status {
    walk_decisions_of(c, kinds, bench, visit);
    return Done{};
  });
}

Result<std::vector<LedgerRow>> Store::ledger_page(std::int64_t seq, std::int64_t ordinal,
                                                  std::int64_t limit) {
  return read([&](Connection& c) -> Result<std::vector<LedgerRow>> {
    return store::ledger_page(c, seq, ordinal, limit);
  });
}

Result<std::int64_t> Store::decisions_until(std::int64_t seq) {
  return read([&](Connection& c) -> Result<std::int64_t> { return count_decisions(c, seq); });
}

Result<std::optional<LedgerRow>> Store::decision_of_nothing(std::int64_t seq) {
  return read([&](Connection& c) -> Result<std::optional<LedgerRow>> {
    return store::decision_of_nothing(c, seq);
  });
}

Result<std::vector<engine::NightRow>> Store::nights(std::string_view bench, std::string_view from,
                                                    std::string_view to) {
  return read([&](Connection& c) -> Result<std::vector<engine::NightRow>> {
    return read_nights(c, bench, from, to);
  });
}

Result<std::optional<std::pair<std::string, std::string>>> Store::nights_span() {
  return read([](Connection& c) -> Result<std::optional<std::pair<std::string, std::string>>> {
    return span_of_nights(c);
  });
}

Status Store::readings(std::string_view sensor, Quantity quantity, Instant from, Instant to,
                       const ReadingVisitor& visit) {
  return read([&](Connection& c) -> Status {
    walk_readings(c, sensor, quantity, from, to, visit);
    return Done{};
  });
}

Result<std::vector<DoseRow>> Store::doses(std::string_view bench, std::string_view pump,
                                          std::int64_t limit) {
  return read([&](Connection& c) -> Result<std::vector<DoseRow>> {
    return read_doses(c, bench, pump, limit);
  });
}

Status Store::effects(std::string_view topic, const EffectVisitor& visit) {
  return read([&](Connection& c) -> Status {
    walk_effects(c, topic, visit);
    return Done{};
  });
}

Status Store::hourly(std::string_view sensor, Quantity quantity, Instant from, Instant to,
                     const HourVisitor& visit) {
  return read([&](Connection& c) -> Status {
    walk_hours(c, sensor, quantity, from, to, visit);
    return Done{};
  });
}

Result<std::optional<std::int64_t>> Store::sensor_id(std::string_view name) {
  return read(
      [&](Connection& c) -> Result<std::optional<std::int64_t>> { return c.known_sensor(name); });
}

Result<std::optional<std::string>> Store::sensor_name(std::int64_t id) {
  return read([&](Connection& c) -> Result<std::optional<std::string>> {
    Use use(c, "SELECT name FROM sensors WHERE id = ?1");
    if (!use.with(id).next()) return std::optional<std::string>();
    return std::optional(use.text(0));
  });
}

Result<std::vector<Effect>> Store::outbox_pending() {
  return read([](Connection& c) -> Result<std::vector<Effect>> { return pending_effects(c); });
}

Result<std::vector<notices::Item>> Store::notices() {
  return read([](Connection& c) -> Result<std::vector<notices::Item>> { return read_notices(c); });
}

Result<std::int64_t> Store::epoch() {
  return read([](Connection& c) -> Result<std::int64_t> { return meta(c, "epoch"); });
}

}  // namespace plainwater::store
