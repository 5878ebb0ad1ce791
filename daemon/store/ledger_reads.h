// Reads the ledger. Thread-safe; store.h has the rules for callbacks.
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
  /// Decisions of these few kinds, oldest first, without scanning the others; empty name: of all
  /// benches.
  Status walk_kinds(const std::vector<std::string>& kinds, std::string_view bench,
                    const LedgerVisitor& visit);
  /// Decisions after the `ordinal`th of `seq`, also those kept beside the ledger, in the order of
  /// their inputs; at most `limit`.
  Result<std::vector<LedgerRow>> page(std::int64_t seq, std::int64_t ordinal, std::int64_t limit);
  /// Number of decisions from inputs up to `seq`.
  Result<std::int64_t> count_until(std::int64_t seq);
  /// The first decision after `seq` whose input is not in the journal.
  Result<std::optional<LedgerRow>> decision_of_nothing(std::int64_t seq);

 private:
  ReadSide& side_;
};

}  // namespace plainwater::store
