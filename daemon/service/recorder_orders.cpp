// What the recorder does about orders of others, recorded before ours that answer them go out.
#include <utility>

#include "service/recorder.h"

namespace plainwater::service {

Result<Written> Recorder::judge_orders(Instant now, bool believed, const TellOverruled& tell) {
  auto& book = state_.book;
  if (state_.now() == kNever) return Written{};
  if (believed ? !book.needs_judging(now) : !book.is_contradicted()) return Written{};
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
