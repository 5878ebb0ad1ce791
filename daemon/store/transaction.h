// One write: all of it is stored, or nothing.
//
//   auto t = store.begin();
//   if (!t) ...
//   auto row = t->append(reading);
//   ... t->record(row->seq, outcome.decisions) ... t->put_outbox(order) ...
//   if (auto done = t->commit(); !done) ...
//
// Any call may fail because of the world (a full disk). The transaction is then lost: further calls
// and commit() return the same error, and the store is unhealthy until Store::try_recover()
// succeeds.
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
  /// Rolls back unless committed. Call it on the thread that began it.
  ~Transaction();

  /// A reading (sensor, quantity, time, value) or dose (body) that is already journaled is not
  /// written twice.
  Result<Appended> append(const JournalRow& row);
  /// Records that a request with this id was answered at `now`; the first time stays. Kept for
  /// ever.
  Status keep_request_id(const std::string& id, Instant now);
  /// Adds the decisions of journal row `seq`, in order; may be called again for the same row.
  Status record(std::int64_t seq, std::span<const feeding::Decision> decisions);
  /// Replaces an earlier row of the same bench and date.
  Status record(std::span<const engine::NightRow> nights);
  /// Keeps the last three, those marked for ever, and about one in 30 days of engine time:
  /// Store::retain() cuts at those.
  Status save_snapshot(const Snapshot& snapshot);
  /// Returns its id. `effect.id` is ignored.
  Result<std::int64_t> put_outbox(const Effect& effect);
  /// The effect was replaced before it was sent; an unknown id, or one that was sent, changes
  /// nothing.
  Status strike_off(std::int64_t effect_id, Instant at);
  /// Orders have at least this epoch from now on.
  Status raise_epoch_to(std::int64_t epoch);
  /// Replaces the item with the same key.
  Status put_notice(const notices::Item& item);
  Status drop_notice(const std::string& key);
  /// Adds an input that can never be journaled, and returns how many there ever were. `input.id` is
  /// ignored.
  Result<std::int64_t> keep_not_stored(const NotStored& input);
  /// Once this returns Done, the rows are as safe as the durability setting promises.
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
