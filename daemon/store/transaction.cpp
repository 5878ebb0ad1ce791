#include "store/transaction.h"

#include <algorithm>
#include <utility>

#include "store/access.h"
#include "store/rows.h"

namespace plainwater::store {

Transaction::Transaction(Transaction&& other) noexcept
    : store_(std::exchange(other.store_, nullptr)), failed_(std::move(other.failed_)) {}

Transaction::~Transaction() { roll_back(); }

void Transaction::roll_back() noexcept {
  if (!store_) return;
  store_->writer_->roll_back();
  store_->writing_.unlock();
  store_ = nullptr;
}

Result<Appended> Transaction::append(const JournalRow& row) {
  return attempt([&](Connection& c) -> Result<Appended> { return append_row(c, row); });
}

Status Transaction::keep_request_id(const std::string& id, Instant now) {
  return attempt([&](Connection& c) -> Status {
    store::keep_request_id(c, id, now);
    return Done{};
  });
}

Status Transaction::record(std::int64_t seq, std::span<const feeding::Decision> decisions) {
  return attempt([&](Connection& c) -> Status {
    record_decisions(c, seq, decisions);
    return Done{};
  });
}

Status Transaction::record(std::span<const engine::NightRow> nights) {
  return attempt([&](Connection& c) -> Status {
    record_nights(c, nights);
    return Done{};
  });
}

Status Transaction::save_snapshot(const Snapshot& snapshot) {
  return attempt([&](Connection& c) -> Status {
    write_snapshot(c, snapshot);
    return Done{};
  });
}

Result<std::int64_t> Transaction::put_outbox(const Effect& effect) {
  return attempt([&](Connection& c) -> Result<std::int64_t> { return write_effect(c, effect); });
}

Status Transaction::strike_off(std::int64_t effect_id, Instant at) {
  return attempt([&](Connection& c) -> Status {
    acknowledge_effect(c, effect_id, at);
    return Done{};
  });
}

Status Transaction::raise_epoch_to(std::int64_t epoch) {
  return attempt([&](Connection& c) -> Status {
    set_meta(c, "epoch", std::max(epoch, meta(c, "epoch")));
    return Done{};
  });
}

Status Transaction::put_notice(const notices::Item& item) {
  return attempt([&](Connection& c) -> Status {
    write_notice(c, item);
    return Done{};
  });
}

Status Transaction::drop_notice(const std::string& key) {
  return attempt([&](Connection& c) -> Status {
    store::drop_notice(c, key);
    return Done{};
  });
}

Result<std::int64_t> Transaction::keep_not_stored(const NotStored& input) {
  return attempt([&](Connection& c) -> Result<std::int64_t> { return write_not_stored(c, input); });
}

Status Transaction::commit() {
  const Status done = attempt([](Connection& c) -> Status {
    Use(c, "COMMIT").run();
    return Done{};
  });
  if (!done) {
    roll_back();
    return done;
  }
  if (auto why = store_->writer_->checkpoint_failure()) store_->latch(*why);
  store_->writing_.unlock();
  store_ = nullptr;
  return done;
}

}  // namespace plainwater::store
