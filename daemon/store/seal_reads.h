// Reads the journal's seals. Thread-safe; store.h has the rules for callbacks.
#pragma once

#include <cstdint>
#include <optional>

#include "common/result.h"
#include "store/seal.h"

namespace plainwater::store {

class ReadSide;
class Store;

class SealReads {
 public:
  /// The store must outlive it.
  explicit SealReads(Store& store);

  /// The newest seal; none while nothing is sealed.
  Result<std::optional<Seal>> last();
  /// The first seal that covers rows after `seq`.
  Result<std::optional<Seal>> after(std::int64_t seq);

 private:
  ReadSide& side_;
};

}  // namespace plainwater::store
