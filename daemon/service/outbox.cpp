#include "service/outbox.h"

#include <algorithm>
#include <optional>

#include "store/outbox_reads.h"

namespace plainwater::service {
namespace {

Status strike_off_rows(store::Store& store, const std::set<std::int64_t>& rows, Instant at) {
  if (rows.empty()) return Done{};
  auto transaction = store.begin();
  if (!transaction) return transaction.error();
  for (const auto row : rows)
    if (auto done = transaction->strike_off(row, at); !done) return done;
  return transaction->commit();
}

}  // namespace

Status strike_off_old_orders(store::Store& store, Instant at) {
  const auto pending = store::OutboxReads(store).pending();
  if (!pending) return pending.error();
  std::set<std::int64_t> orders;
  for (const auto& effect : *pending)
    if (effect.kind == kOrderKind) orders.insert(effect.id);
  return strike_off_rows(store, orders, at);
}

Status Outbox::count() {
  std::size_t count = 0;
  auto walked = store::OutboxReads(store_).pending(
      kNoticeKind, [&](const store::Effect&, std::optional<Instant>) {
        ++count;
        return true;
      });
  if (!walked) return walked.error();
  announcer_.dispatcher().leave(count);
  return Done{};
}

void Outbox::send(const OutgoingNotice& notice, bool timely, Instant now) {
  auto& dispatcher = announcer_.dispatcher();
  if (!timely || dispatcher.left() > 0) return dispatcher.leave(dispatcher.left() + 1);
  announcer_.notice(notice, now);
}

Result<Outbox::Pending> Outbox::pending(std::size_t most,
                                        const std::function<bool(const store::Effect&)>& wanted) {
  Pending found;
  auto walked = store::OutboxReads(store_).pending(
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

void Outbox::refill(Instant now, Span since_boot, Effects& out) {
  auto& dispatcher = announcer_.dispatcher();
  const std::size_t room = dispatcher.room_for_notices();
  if (dispatcher.left() == 0 || room < Dispatcher::kMostNotices / 2) return;
  if (!looking_ && !look_.due(since_boot)) return;
  std::size_t held_back = 0;
  const auto waiting = pending(room, [&](const store::Effect& effect) {
    if (dispatcher.is_on_the_way(effect.id) || dispatcher.to_strike_off().contains(effect.id))
      return false;
    held_back += dispatcher.is_held_back(effect.topic);
    return !dispatcher.is_held_back(effect.topic);
  });
  if (!waiting) return out.error(waiting.error().message());
  looking_ = !waiting->notices.empty();
  // Correct the count: a notice may have been replaced since.
  const std::size_t taken = waiting->notices.size();
  dispatcher.leave(waiting->all ? held_back : std::max(dispatcher.left(), taken + 1) - taken);
  for (const auto& notice : waiting->notices) announcer_.notice(notice, now);
}

void Outbox::strike_off(Instant now, Effects& out) {
  auto& dispatcher = announcer_.dispatcher();
  if (dispatcher.to_strike_off().empty()) return;
  if (const auto done = strike_off_rows(store_, dispatcher.to_strike_off(), now); !done)
    return out.error(done.error().message());
  dispatcher.struck_off();
}

void Outbox::strike_off_between_orders(Instant now, Effects& out) {
  if (!announcer_.dispatcher().orders_wait()) strike_off(now, out);
}

}  // namespace plainwater::service
