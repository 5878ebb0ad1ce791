// The highest order numbers of other services, by bench, in rows of `meta`: pumps remember them.
#pragma once

#include <cstdint>
#include <map>
#include <string>

#include "common/result.h"

namespace plainwater::store {

class Store;

class OrderNumbers {
 public:
  struct Number {
    std::int64_t epoch = 0;
    std::int64_t sequence = 0;
    bool operator==(const Number&) const = default;
  };
  using ByBench = std::map<std::string, Number>;

  explicit OrderNumbers(Store& store) : store_(&store) {}

  Result<ByBench> all();
  /// Replaces those of the same benches, all in one transaction.
  Status keep(const ByBench& numbers);

 private:
  Store* store_;
};

}  // namespace plainwater::store
