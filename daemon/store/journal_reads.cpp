#include "store/journal_reads.h"

#include "store/access.h"
#include "store/rows.h"

namespace plainwater::store {

JournalReads::JournalReads(Store& store) : side_(store.reads()) {}

Status JournalReads::since(std::int64_t seq, const JournalVisitor& visit) {
  return side_.read([&](Connection& c) -> Status {
    walk_journal(c, seq, visit);
    return Done{};
  });
}

Status JournalReads::since(std::int64_t seq, const JournalBeginning& begins,
                           const JournalVisitor& visit) {
  return side_.read([&](Connection& c) -> Status {
    walk_journal(c, seq, visit, begins);
    return Done{};
  });
}

Status JournalReads::of(JournalKind kind, const JournalVisitor& visit) {
  return side_.read([&](Connection& c) -> Status {
    walk_journal_of(c, kind, visit);
    return Done{};
  });
}

Status JournalReads::newest_of(JournalKind kind, const JournalVisitor& visit) {
  return side_.read([&](Connection& c) -> Status {
    walk_journal_of(c, kind, visit, true);
    return Done{};
  });
}

Result<std::int64_t> JournalReads::last_seq() {
  return side_.read([](Connection& c) -> Result<std::int64_t> { return last_journal_seq(c); });
}

Result<std::int64_t> JournalReads::thinned_seq() {
  return side_.read([](Connection& c) -> Result<std::int64_t> { return meta(c, "thinned_seq"); });
}

Result<bool> JournalReads::holds(Quantity quantity) {
  return side_.read([&](Connection& c) -> Result<bool> { return journal_holds(c, quantity); });
}

Result<std::optional<Instant>> JournalReads::last_now() {
  return side_.read([](Connection& c) -> Result<std::optional<Instant>> { return latest_now(c); });
}

Result<std::optional<Instant>> JournalReads::began() {
  return side_.read(
      [](Connection& c) -> Result<std::optional<Instant>> { return first_settings(c); });
}

Result<std::optional<SettingsInForce>> JournalReads::settings_in_force(std::int64_t until_seq) {
  return side_.read([&](Connection& c) -> Result<std::optional<SettingsInForce>> {
    return last_settings(c, until_seq);
  });
}

Result<std::optional<Instant>> JournalReads::first_answered(const std::string& id) {
  return side_.read([&](Connection& c) -> Result<std::optional<Instant>> {
    return store::first_answered(c, id);
  });
}

Status JournalReads::not_stored(const NotStoredVisitor& visit) {
  return side_.read([&](Connection& c) -> Status {
    walk_not_stored(c, visit);
    return Done{};
  });
}

Result<std::int64_t> JournalReads::count_not_stored() {
  return side_.read(
      [](Connection& c) -> Result<std::int64_t> { return store::count_not_stored(c); });
}

Status JournalReads::check() {
  return side_.read_apart([&](Connection& own) -> Status {
    for (const char* table : {"journal", "hourly"}) {
      const std::string found =
          own.database()
              .execAndGet(std::string("PRAGMA integrity_check('") + table + "')")
              .getString();
      if (found != "ok")
        return Error{std::string("table ") + table + " is damaged: " + found, own.where(),
                     "stop the service, keep a copy of the file and restore the last backup with "
                     "plainwater restore"};
    }
    return Done{};
  });
}

}  // namespace plainwater::store
