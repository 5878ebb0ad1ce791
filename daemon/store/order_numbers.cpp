#include "store/order_numbers.h"

#include "store/access.h"
#include "store/rows.h"

namespace plainwater::store {
namespace {

// The bench follows.
constexpr const char* kEpoch = "order_epoch_seen/";
constexpr const char* kSequence = "order_sequence_seen/";

void put(Connection& c, const char* what, const std::string& bench, std::int64_t value) {
  const std::string key = what + bench;
  if (find_meta(c, key.c_str()))
    set_meta(c, key.c_str(), value);
  else
    add_meta(c, key.c_str(), value);
}

}  // namespace

Result<OrderNumbers::ByBench> OrderNumbers::all() {
  return store_->reads().read([](Connection& c) -> Result<ByBench> {
    ByBench numbers;
    for (const std::string part : {kEpoch, kSequence}) {
      Use use(c, "SELECT key, value FROM meta WHERE substr(key, 1, length(?1)) = ?1");
      use.with(part.c_str());
      while (use.next()) {
        auto& number = numbers[use.text(0).substr(part.size())];
        (part == kEpoch ? number.epoch : number.sequence) = use.integer(1);
      }
    }
    return numbers;
  });
}

Status OrderNumbers::keep(const ByBench& numbers) {
  return store_->write([&](Connection& c) -> Status {
    for (const auto& [bench, number] : numbers) {
      put(c, kEpoch, bench, number.epoch);
      put(c, kSequence, bench, number.sequence);
    }
    return Done{};
  });
}

}  // namespace plainwater::store
