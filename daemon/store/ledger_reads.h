// Reads of the ledger. Thread-safe; store.h tells about
// callbacks.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/result.h"
#include "store/ledger.h"

namespace plainwater::store {

class ReadSide;
class Store;

class LedgerReads {
 public:
  /// The store must outlive it.
  explicit LedgerReads(Store& store);

  Status walk(const LedgerFilter& filter, const LedgerVisitor& visit);
  /// Decisions of these few kinds, oldest first, without looking at the others; empty name: of all
  /// benches.
  Status walk_kinds(const std::vector<std::string>& kinds, std::string_view bench,
                    const LedgerVisitor& visit);
  /// Decisions after the `ordinal`th of `seq`, in the order of the inputs that brought them; at
  /// most `limit`.
  Result<std::vector<LedgerRow>> page(std::int64_t seq, std::int64_t ordinal, std::int64_t limit);
  /// How many decisions the inputs up to `seq` brought.
  Result<std::int64_t> count_until(std::int64_t seq);
  /// The first decision after `seq` whose input is not in the journal.
  Result<std::optional<LedgerRow>> decision_of_nothing(std::int64_t seq);

 private:
  ReadSide& side_;
};

}  // namespace plainwater::store
