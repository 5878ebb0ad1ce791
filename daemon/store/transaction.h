// One write: everything in it is stored together or not at all.
//
//   auto t = store.begin();
//   if (!t) ...
//   auto row = t->append(reading);
//   ... t->record(row->seq, outcome.decisions) ... t->put_outbox(order) ...
//   if (auto done = t->commit(); !done) ...
//
// Each call may fail because of the world (a full disk); after that the transaction is lost:
// further calls and commit() give the same error, and the store is unhealthy until
// Store::try_recover() succeeds.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <type_traits>

#include "common/result.h"
#include "feeding/decision.h"
#include "store/journal.h"
#include "store/not_stored.h"
#include "store/outbox.h"
#include "store/snapshot.h"

namespace plainwater::engine {
struct NightRow;
}

namespace plainwater::notices {
struct Item;
}

namespace plainwater::store {

class Connection;
class Store;

class Transaction {
 public:
  Transaction(Transaction&& other) noexcept;
  Transaction(const Transaction&) = delete;
  Transaction& operator=(const Transaction&) = delete;
  Transaction& operator=(Transaction&&) = delete;
  /// Rolls back unless committed. Must happen on the thread that began it.
  ~Transaction();

  /// An equal reading (sensor, quantity, time, value), or dose (body), that is journaled already is
  /// not written twice.
  Result<Appended> append(const JournalRow& row);
  /// A request of this id was answered at `now`; the first time stays. Kept for ever.
  Status keep_request_id(const std::string& id, Instant now);
  /// Decisions brought about by the journal row `seq`, in their order; may be called again for the
  /// same row.
  Status record(std::int64_t seq, std::span<const feeding::Decision> decisions);
  /// A night recorded again replaces the earlier row of the same bench and date.
  Status record(std::span<const engine::NightRow> nights);
  /// Keeps the last three, and for ever those that ask for it and about one in 30 days of engine
  /// time: Store::retain() cuts at those.
  Status save_snapshot(const Snapshot& snapshot);
  /// Its id. `effect.id` is ignored.
  Result<std::int64_t> put_outbox(const Effect& effect);
  /// It was replaced before it went out; an unknown id, or one that did go out, changes nothing.
  Status strike_off(std::int64_t effect_id, Instant at);
  /// Orders have an epoch as high as this one from now on, never a lower one than before.
  Status raise_epoch_to(std::int64_t epoch);
  /// Replaces the item of the same key.
  Status put_notice(const notices::Item& item);
  Status drop_notice(const std::string& key);
  /// An input that can never be journaled. `input.id` is ignored. How many there ever were.
  Result<std::int64_t> keep_not_stored(const NotStored& input);
  /// Once this returns Done the rows are as safe as the store's durability says.
  Status commit();

 private:
  friend class Store;
  explicit Transaction(Store& store) : store_(&store) {}

  template <class Work>
  auto attempt(Work&& work) -> std::invoke_result_t<Work&, Connection&>;
  void roll_back() noexcept;

  Store* store_;                 ///< null once moved from, committed or rolled back
  std::optional<Error> failed_;  ///< the first failure
};

}  // namespace plainwater::store
