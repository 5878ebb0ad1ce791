// What the recorder does about the clock: how far it is believed, and setting time back.
#include <algorithm>
#include <utility>

#include "service/recorder.h"

namespace plainwater::service {

Status Recorder::take(store::Transaction& transaction, const replay::ClockRow& what, Instant now,
                      Written& written) {
  const auto seq =
      append(transaction, row_of(store::JournalKind::clock, now, replay::clock_body(what)));
  if (!seq) return seq.error();
  engine::Outcome outcome;
  replay::take_clock(state_.folded.engine, what, now, outcome);
  return record(transaction, std::move(outcome), written);
}

Result<Written> Recorder::settle_clock(ClockTrust trust, Instant now) {
  auto transaction = store_.begin();
  if (!transaction) return fail(transaction.error());
  Written written;
  if (auto done = take(*transaction, trust, now, written); !done) return fail(done.error());
  state_.folded.clock = trust;
  return finish(*transaction, std::move(written), true);
}

Result<Written> Recorder::set_back(Span by, Instant to) {
  auto transaction = store_.begin();
  if (!transaction) return fail(transaction.error());
  orders::OrderBook recorded = state_.book;
  Written written;
  auto stored = take(*transaction, by, to, written);
  if (stored) {
    state_.book.set_back(to);
    state_.desk.set_back(by);
    stored = transaction->raise_epoch_to(state_.book.epoch());
  }
  auto finished =
      stored ? finish(*transaction, std::move(written), true) : Result<Written>(stored.error());
  if (finished) return finished;
  state_.book = std::move(recorded);
  return fail(finished.error());
}

}  // namespace plainwater::service
