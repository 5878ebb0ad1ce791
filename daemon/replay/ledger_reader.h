// Reads the ledger row by row in the order of its inputs, without holding all of it.
#pragma once

#include <cstdint>
#include <optional>
#include <utility>
#include <vector>

#include "store/ledger.h"
#include "store/store.h"

namespace plainwater::replay {

/// Needs a store of its own, so that reading another one's journal meanwhile does not block it.
class LedgerReader {
 public:
  /// Rows of the inputs after `after_seq`, up to and including `until_seq`.
  LedgerReader(store::Store& store, std::int64_t after_seq, std::int64_t until_seq);

  /// The next row; null after the last one, and after a failure.
  const store::LedgerRow* next();
  void pass() { ++at_; }
  const std::optional<Error>& failure() const { return failure_; }

 private:
  store::Store& store_;
  std::int64_t until_;
  std::pair<std::int64_t, std::int64_t> last_;  ///< of the page: seq and ordinal
  std::vector<store::LedgerRow> page_;
  std::size_t at_ = 0;
  bool ended_ = false;
  std::optional<Error> failure_;
};

}  // namespace plainwater::replay
