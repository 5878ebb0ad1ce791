#include "service/remembered_time.h"

#include "store/journal_reads.h"

namespace plainwater::service {

Result<std::optional<clock::EngineClock::Memory>> remembered_time(store::Store& store,
                                                                  ClockTrust trust) {
  using Memory = clock::EngineClock::Memory;
  const auto last = store::JournalReads(store).last_now();
  if (!last) return last.error();
  if (!*last || **last < clock::EngineClock::kFloor) return std::optional<Memory>();
  return std::optional(Memory{**last, trust == ClockTrust::settled});
}

}  // namespace plainwater::service
