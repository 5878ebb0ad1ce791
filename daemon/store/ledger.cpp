#include "store/ledger.h"

#include <array>

#include "common/json_text.h"
#include "store/rows.h"

namespace plainwater::store {
namespace {

LedgerRow row_of(const Use& use) {
  return {use.integer(0), use.integer(1), use.integer(2), use.instant(3), use.text(4),
          use.text(5),    use.text(6),    use.text(7),    use.text(8)};
}

constexpr const char
    *kInsertLedger =
        "INSERT INTO ledger (journal_seq, ordinal, time_ms, bench, decision, cause, json, said) "
        "VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
    *kInsertCarried =
        "INSERT INTO carried (journal_seq, ordinal, time_ms, bench, decision, cause, json, said) "
        "VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)";

/// As a JSON array, for json_each.
std::string list_of(const std::vector<std::string>& kinds) {
  std::string list;
  for (const std::string& kind : kinds) list += (list.empty() ? "[" : ",") + json_string(kind);
  return list.empty() ? "[]" : list + "]";
}

}  // namespace

void record_decisions(Connection& c, std::int64_t seq,
                      std::span<const feeding::Decision> decisions) {
  if (decisions.empty()) return;
  std::int64_t ordinal = 0;
  {
    Use use(c,
            "SELECT MAX((SELECT COALESCE(MAX(ordinal) + 1, 0) FROM ledger WHERE journal_seq = ?1), "
            "(SELECT COALESCE(MAX(ordinal) + 1, 0) FROM carried WHERE journal_seq = ?1))");
    use.with(seq).next();
    ordinal = use.integer(0);
  }
  for (const feeding::Decision& d : decisions) {
    const std::string json = feeding::to_json(d), said = words::to_json(d.said);
    Use(c, d.passing ? kInsertCarried : kInsertLedger)
        .with(seq, ordinal++, d.time, d.bench, feeding::name_of(d.kind), feeding::name_of(d.cause),
              json, said)
        .run();
  }
}

const char* ledger_query(bool of_bench, bool newest_first) {
  const auto text = [](bool bench, bool newest) {
    return std::string(
               "SELECT id, journal_seq, ordinal, time_ms, bench, decision, cause, json, said FROM "
               "ledger "
               "WHERE ") +
           // A separate query, or SQLite would look at every row for one bench.
           (bench ? "bench = ?1" : "?1 IS NULL") +
           " AND time_ms >= ?2 AND time_ms < ?3 AND id > ?4 AND id < ?5 AND (?6 IS NULL OR "
           "decision IN (SELECT value FROM json_each(?6))) AND (?7 IS NULL OR cause = ?7) ORDER "
           "BY id" +
           (newest ? " DESC LIMIT ?8" : " LIMIT ?8");
  };
  static const std::array<std::string, 4> kQueries{text(false, false), text(false, true),
                                                   text(true, false), text(true, true)};
  return kQueries[(of_bench ? 2 : 0) + (newest_first ? 1 : 0)].c_str();
}

void walk_ledger(Connection& c, const LedgerFilter& filter, const LedgerVisitor& visit) {
  const auto kind_list =
      filter.decisions.empty() ? std::nullopt : std::optional(list_of(filter.decisions));
  Use use(c, ledger_query(filter.bench.has_value(), filter.newest_first));
  use.with(filter.bench, filter.since, filter.until, filter.after_id, filter.before_id, kind_list,
           filter.cause, filter.limit);
  while (use.next()) {
    if (!visit(row_of(use))) break;
  }
}

void walk_decisions_of(Connection& c, const std::vector<std::string>& kinds, std::string_view bench,
                       const LedgerVisitor& visit) {
  const std::string list = list_of(kinds), name(bench);
  Use use(
      c,
      "SELECT id, journal_seq, ordinal, time_ms, bench, decision, cause, json, said FROM ledger "
      "INDEXED BY ledger_decision "
      "WHERE decision IN (SELECT value FROM json_each(?1)) AND (?2 = '' OR bench = ?2) ORDER "
      "BY id");
  use.with(list, name);
  while (use.next()) {
    if (!visit(row_of(use))) break;
  }
}

std::vector<LedgerRow> ledger_page(Connection& c, std::int64_t seq, std::int64_t ordinal,
                                   std::int64_t limit) {
  std::vector<LedgerRow> rows;
  Use use(
      c,
      "SELECT id, journal_seq, ordinal, time_ms, bench, decision, cause, json, said FROM ledger "
      "WHERE (journal_seq, ordinal) > (?1, ?2) UNION ALL "
      "SELECT id, journal_seq, ordinal, time_ms, bench, decision, cause, json, said FROM carried "
      "WHERE (journal_seq, ordinal) > (?1, ?2) ORDER BY journal_seq, ordinal LIMIT ?3");
  use.with(seq, ordinal, limit);
  while (use.next()) rows.push_back(row_of(use));
  return rows;
}

std::int64_t count_decisions(Connection& c, std::int64_t until_seq) {
  Use use(c,
          "SELECT (SELECT COUNT(*) FROM ledger WHERE journal_seq <= ?1) + (SELECT COUNT(*) FROM "
          "carried WHERE journal_seq <= ?1)");
  use.with(until_seq).next();
  return use.integer(0);
}

std::optional<LedgerRow> decision_of_nothing(Connection& c, std::int64_t after_seq) {
  Use use(
      c,
      "SELECT id, journal_seq, ordinal, time_ms, bench, decision, cause, json, said FROM (SELECT * "
      "FROM ledger WHERE journal_seq > ?1 OR journal_seq < 1 UNION ALL SELECT * FROM carried "
      "WHERE journal_seq > ?1 OR journal_seq < 1) WHERE NOT EXISTS (SELECT 1 FROM journal WHERE "
      "seq = journal_seq) "
      "ORDER BY journal_seq, ordinal LIMIT 1");
  if (!use.with(after_seq).next()) return std::nullopt;
  return row_of(use);
}

}  // namespace plainwater::store
