#include "service/outbox.h"

#include <optional>

#include "store/outbox_reads.h"

namespace plainwater::service {

Result<PendingNotices> pending_notices(store::Store& store, std::size_t most,
                                       const std::function<bool(const store::Effect&)>& wanted) {
  PendingNotices found;
  auto walked = store::OutboxReads(store).pending(
      kNoticeKind, [&](const store::Effect& effect, std::optional<Instant>) {
        if (!wanted(effect)) return true;
        found.all = found.notices.size() < most;
        if (found.all)
          found.notices.push_back(
              {effect.id, effect.topic, effect.payload, effect.expires.value_or(kForever)});
        return found.all;
      });
  if (!walked) return walked.error();
  return found;
}

Result<std::size_t> count_pending_notices(store::Store& store) {
  std::size_t count = 0;
  auto walked = store::OutboxReads(store).pending(
      kNoticeKind, [&](const store::Effect&, std::optional<Instant>) {
        ++count;
        return true;
      });
  if (!walked) return walked.error();
  return count;
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
