#include "store/rows.h"

namespace plainwater::store {
namespace {

/// Engine time between two snapshots kept for ever.
constexpr Span kKeptEvery = 30 * kDay;

/// Compares with the last kept one, not the latest: time may have been set back meanwhile.
bool is_to_be_kept(Connection& c, Instant now) {
  Use use(c, "SELECT now_ms FROM snapshots WHERE kept = 1 ORDER BY journal_seq DESC LIMIT 1");
  if (!use.next()) return true;
  const Instant last = use.instant(0);
  return last > now || last <= now - kKeptEvery;
}

Snapshot snapshot_of(const Use& use) {
  return {use.integer(0), possible_time(use, 1, "a snapshot", true), use.small(2), use.text(3),
          use.small(4) != 0};
}

}  // namespace

void write_snapshot(Connection& c, const Snapshot& snapshot) {
  bool keep = snapshot.now != kNever;  // an engine that has not begun has nothing to audit
  if (keep && !snapshot.for_ever) keep = is_to_be_kept(c, snapshot.now);
  Use(c,
      "INSERT INTO snapshots (journal_seq, now_ms, revision, kept, bytes) VALUES (?1, ?2, ?3, ?4, "
      "?5) "
      "ON CONFLICT (journal_seq) DO UPDATE SET now_ms = excluded.now_ms, revision = "
      "excluded.revision, bytes = excluded.bytes, "
      "kept = MAX(kept, excluded.kept)")
      .with(snapshot.journal_seq, snapshot.now, snapshot.revision, keep, blob(snapshot.bytes))
      .run();
  Use(c,
      "DELETE FROM snapshots WHERE kept = 0 AND journal_seq NOT IN "
      "(SELECT journal_seq FROM snapshots ORDER BY journal_seq DESC LIMIT 3)")
      .run();
}

std::optional<Snapshot> newest_snapshot(Connection& c) {
  Use use(c,
          "SELECT journal_seq, now_ms, revision, bytes, kept FROM snapshots ORDER BY journal_seq "
          "DESC LIMIT 1");
  if (!use.next()) return std::nullopt;
  return snapshot_of(use);
}

std::optional<Snapshot> snapshot_at_cut(Connection& c) {
  Use use(c,
          "SELECT journal_seq, now_ms, revision, bytes, kept FROM snapshots "
          "WHERE journal_seq = (SELECT value FROM meta WHERE key = 'cut_seq') AND kept = 1");
  if (!use.next()) return std::nullopt;
  return snapshot_of(use);
}

std::optional<Snapshot> snapshot_of(Connection& c, std::int64_t seq) {
  Use use(
      c, "SELECT journal_seq, now_ms, revision, bytes, kept FROM snapshots WHERE journal_seq = ?1");
  if (!use.with(seq).next()) return std::nullopt;
  return snapshot_of(use);
}

}  // namespace plainwater::store
