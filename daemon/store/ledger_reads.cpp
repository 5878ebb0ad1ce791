#include "store/ledger_reads.h"

#include "store/access.h"
#include "store/rows.h"

namespace plainwater::store {

LedgerReads::LedgerReads(Store& store) : side_(store.reads()) {}

Status LedgerReads::walk(const LedgerFilter& filter, const LedgerVisitor& visit) {
  return side_.read([&](Connection& c) -> Status {
    walk_ledger(c, filter, visit);
    return Done{};
  });
}

Status LedgerReads::walk_kinds(const std::vector<std::string>& kinds, std::string_view bench,
                               const LedgerVisitor& visit) {
  return side_.read([&](Connection& c) -> Status {
    walk_decisions_of(c, kinds, bench, visit);
    return Done{};
  });
}

Result<std::vector<LedgerRow>> LedgerReads::page(std::int64_t seq, std::int64_t ordinal,
                                                 std::int64_t limit) {
  return side_.read([&](Connection& c) -> Result<std::vector<LedgerRow>> {
    return store::ledger_page(c, seq, ordinal, limit);
  });
}

Result<std::int64_t> LedgerReads::count_until(std::int64_t seq) {
  return side_.read([&](Connection& c) -> Result<std::int64_t> { return count_decisions(c, seq); });
}

Result<std::optional<LedgerRow>> LedgerReads::decision_of_nothing(std::int64_t seq) {
  return side_.read([&](Connection& c) -> Result<std::optional<LedgerRow>> {
    return store::decision_of_nothing(c, seq);
  });
}

}  // namespace plainwater::store
