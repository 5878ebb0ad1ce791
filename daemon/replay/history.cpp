#include "replay/history.h"

#include <algorithm>
#include <variant>

#include "replay/fold.h"
#include "store/journal_reads.h"

namespace plainwater::replay {

Result<std::optional<Instant>> history_since(store::Store& store) {
  auto since = store::JournalReads(store).began();
  if (!since || !*since) return since;
  const auto walked = store::JournalReads(store).of(
      store::JournalKind::clock, [&](std::int64_t, const store::JournalRow& row) {
        if (std::holds_alternative<Span>(read_clock_body(row.body)))
          *since = std::min(**since, row.now);
        return true;
      });
  if (!walked) return walked.error();
  return since;
}

}  // namespace plainwater::replay
