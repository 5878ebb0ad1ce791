#include "service/outbox.h"

#include <utility>

#include "store/outbox_reads.h"

namespace plainwater::service {

Result<std::vector<OutgoingNotice>> pending_notices(store::Store& store) {
  auto pending = store::OutboxReads(store).pending();
  if (!pending) return pending.error();
  std::vector<OutgoingNotice> notices;
  for (auto& effect : *pending)
    if (effect.kind == kNoticeKind)
      notices.push_back({effect.id, std::move(effect.topic), std::move(effect.payload),
                         effect.expires.value_or(kForever)});
  return notices;
}

Status strike_off(store::Store& store, const std::set<std::int64_t>& rows, Instant at) {
  if (rows.empty()) return Done{};
  auto transaction = store.begin();
  if (!transaction) return transaction.error();
  for (const auto row : rows)
    if (auto done = transaction->strike_off(row, at); !done) return done;
  return transaction->commit();
}

Status strike_off_old_orders(store::Store& store, Instant at) {
  const auto pending = store::OutboxReads(store).pending();
  if (!pending) return pending.error();
  std::set<std::int64_t> orders;
  for (const auto& effect : *pending)
    if (effect.kind == kOrderKind) orders.insert(effect.id);
  return strike_off(store, orders, at);
}

}  // namespace plainwater::service
