// The SQL statements of Store and Transaction, one file per table. All may throw SQLite::Exception.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "engine/engine.h"
#include "feeding/decision.h"
#include "notices/item.h"
#include "store/connection.h"
#include "store/journal.h"
#include "store/ledger.h"
#include "store/not_stored.h"
#include "store/outbox.h"
#include "store/seal.h"
#include "store/snapshot.h"
#include "store/store.h"

namespace plainwater::store {

// journal.cpp
Appended append_row(Connection& c, const JournalRow& row);
void walk_journal(Connection& c, std::int64_t after_seq, const JournalVisitor& visit,
                  const JournalBeginning& begins = {});
void walk_journal_of(Connection& c, JournalKind kind, const JournalVisitor& visit,
                     bool newest_first = false);
std::int64_t last_journal_seq(Connection& c);
bool journal_holds(Connection& c, Quantity quantity);
void walk_readings(Connection& c, std::string_view sensor, Quantity quantity, Instant from,
                   Instant to, const ReadingVisitor& visit);
std::vector<DoseRow> read_doses(Connection& c, std::string_view bench, std::string_view pump,
                                std::int64_t limit);
std::optional<Instant> latest_now(Connection& c);
std::optional<Instant> first_settings(Connection& c);
std::optional<SettingsInForce> last_settings(Connection& c, std::int64_t until_seq);
void keep_request_id(Connection& c, const std::string& id, Instant now);
std::optional<Instant> first_answered(Connection& c, const std::string& id);

// ledger.cpp
void record_decisions(Connection& c, std::int64_t seq,
                      std::span<const feeding::Decision> decisions);
/// Its parameters are the fields of LedgerFilter, in order.
const char* ledger_query(bool of_bench, bool newest_first);
void walk_ledger(Connection& c, const LedgerFilter& filter, const LedgerVisitor& visit);
void walk_decisions_of(Connection& c, const std::vector<std::string>& kinds, std::string_view bench,
                       const LedgerVisitor& visit);
std::vector<LedgerRow> ledger_page(Connection& c, std::int64_t seq, std::int64_t ordinal,
                                   std::int64_t limit);
std::int64_t count_decisions(Connection& c, std::int64_t until_seq);
std::optional<LedgerRow> decision_of_nothing(Connection& c, std::int64_t after_seq);

// nights.cpp
void record_nights(Connection& c, std::span<const engine::NightRow> nights);
std::vector<engine::NightRow> read_nights(Connection& c, std::string_view bench,
                                          std::string_view from, std::string_view to);
std::optional<std::pair<std::string, std::string>> span_of_nights(Connection& c);

// snapshots.cpp
void write_snapshot(Connection& c, const Snapshot& snapshot);
std::optional<Snapshot> newest_snapshot(Connection& c);
std::optional<Snapshot> snapshot_at_cut(Connection& c);
std::optional<Snapshot> snapshot_of(Connection& c, std::int64_t seq);

// outbox.cpp
std::int64_t write_effect(Connection& c, const Effect& effect);
std::vector<Effect> pending_effects(Connection& c);
void walk_pending(Connection& c, std::string_view kind, const EffectVisitor& visit);
void walk_effects(Connection& c, std::string_view topic, const EffectVisitor& visit);
void acknowledge_effect(Connection& c, std::int64_t id, Instant at);
/// Deletes effects that were acknowledged before `before`, or expired unsent before it, and older
/// ones whose acknowledgement has a time that was set back since. True: call again, some are left.
bool drop_old_effects(Connection& c, Instant before, Instant now);

// retention.cpp
/// Snapshots taken before the last `raw` up to `now`.
Retained thin_readings(Connection& c, Instant now, Span raw);
void walk_hours(Connection& c, std::string_view sensor, Quantity quantity, Instant from, Instant to,
                const HourVisitor& visit);

// notices.cpp
void write_notice(Connection& c, const notices::Item& item);
void drop_notice(Connection& c, const std::string& key);
std::vector<notices::Item> read_notices(Connection& c);

// not_stored.cpp
/// Returns its id. Deletes the oldest beyond a limit.
std::int64_t write_not_stored(Connection& c, const NotStored& input);
std::int64_t count_not_stored(Connection& c);
void walk_not_stored(Connection& c, const NotStoredVisitor& visit);

// seal.cpp
void write_seal(Connection& c, const Seal& seal);
std::optional<Seal> last_seal(Connection& c);
std::optional<Seal> seal_after(Connection& c, std::int64_t seq);
/// The next seal, of at most so many rows; none: all rows are sealed. Opens a read transaction.
std::optional<Seal> next_seal(Connection& c, std::int64_t rows);

// damage.cpp: throws, with advice, when a row holds what no program of ours writes, even if SQLite
// can read it.
[[noreturn]] void refuse_damage(const std::string& what);
/// A possible time: from 1900 to the year 9999, or kNever where `or_never`. `what` names the row.
Instant possible_time(const Use& use, int column, const char* what, bool or_never = false);

// meta.cpp
std::int64_t meta(Connection& c, const char* key);
void set_meta(Connection& c, const char* key, std::int64_t value);
std::optional<std::int64_t> find_meta(Connection& c, const char* key);
void add_meta(Connection& c, const char* key, std::int64_t value);
/// All rows whose keys have this prefix.
void drop_meta(Connection& c, const char* prefix);

}  // namespace plainwater::store
