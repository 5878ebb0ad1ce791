// What the recorder does about orders of others: recorded before our answering orders go out.
#include <utility>

#include "service/recorder.h"
#include "store/order_numbers.h"

namespace plainwater::service {

Status Recorder::read_numbers() {
  const auto stored = store::OrderNumbers(store_).all();
  if (!stored) return stored.error();
  orders::HighestSeen::Numbers numbers;
  for (const auto& [bench, number] : *stored)
    numbers.emplace(bench, orders::OrderNumber{number.epoch, number.sequence});
  state_.book.orders_seen().highest() = orders::HighestSeen(std::move(numbers));
  return Done{};
}

Status Recorder::keep_numbers() {
  auto& seen = state_.book.orders_seen().highest();
  if (seen.not_stored().empty()) return Done{};
  store::OrderNumbers::ByBench numbers;
  for (const auto& [bench, number] : seen.not_stored())
    numbers.emplace(bench, store::OrderNumbers::Number{number.epoch, number.sequence});
  if (auto done = store::OrderNumbers(store_).keep(numbers); !done) return fail(done.error());
  seen.stored();
  return Done{};
}

Result<Written> Recorder::judge_orders(Instant now, bool believed, const TellOverruled& tell) {
  auto& book = state_.book;
  if (state_.now() == kNever) return Written{};
  if (believed ? !book.needs_judging(now) : !book.orders_seen().is_contradicted()) return Written{};
  auto transaction = store_.begin();
  if (!transaction) return fail(transaction.error());
  orders::OrderBook recorded = state_.book;
  std::vector<notices::Matter> matters;
  for (const auto& overruled : believed ? book.judge(now) : book.insist())
    if (auto matter = tell(overruled)) matters.push_back(std::move(*matter));
  Written written;
  Status stored = transaction->raise_epoch_to(state_.book.epoch());
  if (stored && state_.ordering)
    stored = put(*transaction, state_.book.changed(state_.engine(), {}), written);
  if (stored && !matters.empty()) {
    look(std::move(matters));
    stored = put(*transaction, due_messages(), written);
  }
  if (stored) stored = transaction->commit();
  if (stored) return written;
  state_.book = std::move(recorded);
  return fail(stored.error());
}

}  // namespace plainwater::service
