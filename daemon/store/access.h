// How the store's writes reach its connection; for the store's own sources only.
#pragma once

#include <utility>

#include "store/connection.h"
#include "store/read_side.h"
#include "store/store.h"

namespace plainwater::store {

template <class Work>
auto Store::write(Work&& work) -> std::invoke_result_t<Work&, Connection&> {
  auto transaction = begin();
  if (!transaction) return transaction.error();
  auto done = transaction->attempt(std::forward<Work>(work));
  if (!done) return done;
  if (auto committed = transaction->commit(); !committed) return committed.error();
  return done;
}

/// Runs one step unless an earlier one failed: after a failure nothing of the transaction may be
/// stored.
template <class Work>
auto Transaction::attempt(Work&& work) -> std::invoke_result_t<Work&, Connection&> {
  if (failed_) return *failed_;
  if (!store_) return Error{"this transaction is over", "", "begin another one"};
  auto done = [&]() -> std::invoke_result_t<Work&, Connection&> {
    try {
      return work(*store_->writer_);
    } catch (const SQLite::Exception& thrown) { return store_->write_failed(thrown); }
  }();
  if (!done) failed_ = done.error();
  return done;
}

}  // namespace plainwater::store
