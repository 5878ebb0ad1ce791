// Reads pump reports. Thread-safe; store.h has the rules for callbacks.
#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

#include "common/result.h"
#include "store/journal.h"

namespace plainwater::store {

class ReadSide;
class Store;

class DoseReads {
 public:
  /// The store must outlive it.
  explicit DoseReads(Store& store);

  /// Reports of a bench, or of a whole `pump` (empty: none), newest first.
  Result<std::vector<DoseRow>> of(std::string_view bench, std::string_view pump,
                                  std::int64_t limit);

 private:
  ReadSide& side_;
};

}  // namespace plainwater::store
