#include "store/journal.h"

#include <map>

#include "store/rows.h"

namespace plainwater::store {
namespace {

Appended append_reading(Connection& c, const JournalRow& row) {
  const auto sensor = c.sensor(row.sensor);
  const auto quantity = static_cast<int>(row.quantity);
  Use insert(c,
             "INSERT INTO journal (kind, now_ms, sensor_id, quantity, time_ms, value_milli) VALUES "
             "(0, ?1, ?2, ?3, ?4, ?5) "
             "ON CONFLICT (sensor_id, quantity, time_ms, value_milli) WHERE kind = 0 DO NOTHING");
  if (insert.with(row.now, sensor, quantity, row.time, row.value).run() == 1)
    return {c.database().getLastInsertRowid(), true};
  Use find(c,
           "SELECT seq FROM journal WHERE kind = 0 AND sensor_id = ?1 AND quantity = ?2 AND "
           "time_ms = ?3 AND value_milli = ?4");
  find.with(sensor, quantity, row.time, row.value).next();
  return {find.integer(0), false};
}

Appended append_dose(Connection& c, const JournalRow& row) {
  Use insert(c,
             "INSERT INTO journal (kind, now_ms, body) VALUES (5, ?1, ?2) ON CONFLICT (body) WHERE "
             "kind = 5 DO NOTHING");
  if (insert.with(row.now, row.body).run() == 1) return {c.database().getLastInsertRowid(), true};
  Use find(c, "SELECT seq FROM journal WHERE kind = 5 AND body = ?1");
  find.with(row.body).next();
  return {find.integer(0), false};
}

/// ±1000 °C or %RH: the most that intake accepts.
constexpr std::int64_t kLargest = 1'000'000;

std::map<std::int64_t, std::string> sensor_names(Connection& c) {
  std::map<std::int64_t, std::string> names;
  Use use(c, "SELECT id, name FROM sensors");
  while (use.next()) names.emplace(use.integer(0), use.text(1));
  return names;
}

/// The table's CHECKs and the range of our readings, checked again: in a file changed by hand,
/// relying on them could stop the program or make it loop for ever.
void read_row(const Use& use, const std::map<std::int64_t, std::string>& names, JournalRow& row) {
  const auto refuse = [&](const std::string& what) {
    refuse_damage("row " + std::to_string(use.integer(0)) + " of the journal " + what);
  };
  const auto kind = use.integer(1);
  if (kind < 0 || kind > static_cast<int>(JournalKind::dose)) refuse("is of no kind that we know");
  row.kind = static_cast<JournalKind>(kind);
  row.now = possible_time(use, 2, "a row of the journal");
  row.sensor.clear();
  row.quantity = Quantity::temperature;
  row.time = Instant{};
  row.value = 0;
  row.body.clear();
  if (row.kind != JournalKind::reading) {
    row.body = use.text(7);
    return;
  }
  const auto name = names.find(use.integer(3));
  if (name == names.end()) refuse("names a sensor that the table of sensors does not have");
  row.sensor = name->second;
  const auto quantity = use.integer(4);
  if (quantity < 0 || quantity > static_cast<int>(Quantity::place))
    refuse("is a reading of no quantity that we know");
  row.quantity = static_cast<Quantity>(quantity);
  row.time = possible_time(use, 5, "a reading of the journal");
  const auto value = use.integer(6);
  if (value < -kLargest || value > kLargest) refuse("holds a value beyond a million thousandths");
  row.value = static_cast<Milli>(value);
}

}  // namespace

Appended append_row(Connection& c, const JournalRow& row) {
  if (row.kind == JournalKind::reading) return append_reading(c, row);
  if (row.kind == JournalKind::dose) return append_dose(c, row);
  Use(c, "INSERT INTO journal (kind, now_ms, body) VALUES (?1, ?2, ?3)")
      .with(static_cast<int>(row.kind), row.now, row.body)
      .run();
  return {c.database().getLastInsertRowid(), true};
}

void walk_journal(Connection& c, std::int64_t after_seq, const JournalVisitor& visit,
                  const JournalBeginning& begins) {
  // One read transaction, or a sensor could be added between reading names and rows, or readings
  // thinned before them.
  SQLite::Transaction same_moment(c.database());
  if (begins && !begins(meta(c, "thinned_seq"))) return;
  const auto names = sensor_names(c);
  Use use(c,
          "SELECT seq, kind, now_ms, sensor_id, quantity, time_ms, value_milli, body FROM journal "
          "WHERE seq > ?1 ORDER BY seq");
  use.with(after_seq);
  JournalRow row;
  while (use.next()) {
    read_row(use, names, row);
    if (!visit(use.integer(0), row)) break;
  }
}

void walk_journal_of(Connection& c, JournalKind kind, const JournalVisitor& visit,
                     bool newest_first) {
  static const std::string kRows =
      "SELECT seq, kind, now_ms, NULL, NULL, NULL, NULL, body FROM journal WHERE kind = ?1 AND "
      "kind <> 0 ORDER BY seq";
  static const std::string kNewest = kRows + " DESC";
  Use use(c, (newest_first ? kNewest : kRows).c_str());
  use.with(static_cast<int>(kind));
  JournalRow row;
  while (use.next()) {
    read_row(use, {}, row);
    if (!visit(use.integer(0), row)) break;
  }
}

std::int64_t last_journal_seq(Connection& c) {
  Use use(c, "SELECT COALESCE(MAX(seq), 0) FROM journal");
  use.next();
  return use.integer(0);
}

bool journal_holds(Connection& c, Quantity quantity) {
  // One index look-up per sensor, however long the journal is.
  Use use(c,
          "SELECT 1 FROM sensors WHERE EXISTS (SELECT 1 FROM journal WHERE kind = 0 AND sensor_id "
          "= sensors.id AND quantity = ?1) LIMIT 1");
  return use.with(static_cast<int>(quantity)).next();
}

void walk_readings(Connection& c, std::string_view sensor, Quantity quantity, Instant from,
                   Instant to, const ReadingVisitor& visit) {
  const auto id = c.known_sensor(sensor);
  if (!id) return;
  Use use(c,
          "SELECT time_ms, MIN(value_milli) FROM journal WHERE kind = 0 AND sensor_id = ?1 AND "
          "quantity = ?2 AND time_ms >= ?3 AND time_ms < ?4 "
          "GROUP BY time_ms ORDER BY time_ms");
  use.with(*id, static_cast<int>(quantity), from, to);
  while (use.next())
    if (!visit(use.instant(0), use.small(1))) break;
}

std::vector<DoseRow> read_doses(Connection& c, std::string_view bench, std::string_view pump,
                                std::int64_t limit) {
  // Bounded, however many reports of other benches have been stored over the years.
  const std::string bench_name(bench), pump_name(pump);
  Use use(c,
          "SELECT now_ms, body FROM (SELECT seq, now_ms, body FROM journal WHERE kind = 5 AND kind "
          "<> 0 ORDER BY seq DESC LIMIT 20000) "
          "WHERE COALESCE(body ->> 'bench', '') = ?1 OR (COALESCE(body ->> 'bench', '') = '' AND "
          "?2 <> '' AND body ->> 'pump' = ?2) "
          "ORDER BY seq DESC LIMIT ?3");
  use.with(bench_name, pump_name, limit);
  std::vector<DoseRow> rows;
  while (use.next()) rows.push_back({use.instant(0), use.text(1)});
  return rows;
}

std::optional<Instant> latest_now(Connection& c) {
  // Not the largest: time may have been set back.
  Use use(c,
          "SELECT COALESCE((SELECT now_ms FROM journal WHERE seq > (SELECT "
          "COALESCE(MAX(journal_seq), 0) FROM snapshots) ORDER BY seq DESC LIMIT 1), "
          "(SELECT now_ms FROM snapshots ORDER BY journal_seq DESC LIMIT 1))");
  if (!use.next() || use.null(0)) return std::nullopt;
  return possible_time(use, 0, "the latest row of journal and snapshots", true);
}

std::optional<Instant> first_settings(Connection& c) {
  Use use(c, "SELECT now_ms FROM journal WHERE kind = 2 AND kind <> 0 ORDER BY seq LIMIT 1");
  if (!use.next()) return std::nullopt;
  return possible_time(use, 0, "the first settings of the journal");
}

std::optional<SettingsInForce> last_settings(Connection& c, std::int64_t until_seq) {
  Use use(c,
          "SELECT seq, now_ms, body FROM journal WHERE kind = 2 AND kind <> 0 AND seq <= ?1 ORDER "
          "BY seq DESC LIMIT 1");
  if (!use.with(until_seq).next()) return std::nullopt;
  return SettingsInForce{use.integer(0), possible_time(use, 1, "the last settings of the journal"),
                         use.text(2)};
}

void keep_request_id(Connection& c, const std::string& id, Instant now) {
  Use(c, "INSERT OR IGNORE INTO request_ids (id, now_ms) VALUES (?1, ?2)").with(id, now).run();
}

std::optional<Instant> first_answered(Connection& c, const std::string& id) {
  Use use(c, "SELECT now_ms FROM request_ids WHERE id = ?1");
  if (!use.with(id).next()) return std::nullopt;
  return use.instant(0);
}

}  // namespace plainwater::store
