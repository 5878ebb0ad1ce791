// The highest order numbers that other services gave. A pump remembers them and ignores lower ones,
// even when the broker holds our own order again; so they outlive a restart.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <utility>

#include "orders/order.h"

namespace plainwater::orders {

class HighestSeen {
 public:
  using Numbers = std::map<std::string, OrderNumber>;  ///< by bench

  /// As the store has them.
  explicit HighestSeen(Numbers stored = {}) : numbers_(std::move(stored)) {}

  void saw(const std::string& bench, const OrderNumber& number) {
    const auto [known, fresh] = numbers_.try_emplace(bench, number);
    if (!fresh && !(known->second < number)) return;
    known->second = number;
    not_stored_.insert_or_assign(bench, number);
  }
  std::optional<OrderNumber> of(const std::string& bench) const {
    const auto found = numbers_.find(bench);
    return found == numbers_.end() ? std::nullopt : std::optional(found->second);
  }

  const Numbers& all() const { return numbers_; }

  /// Those that rose since they were stored.
  const Numbers& not_stored() const { return not_stored_; }
  void stored() { not_stored_.clear(); }

 private:
  Numbers numbers_;
  Numbers not_stored_;
};

}  // namespace plainwater::orders
