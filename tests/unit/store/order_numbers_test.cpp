// The numbers of other services that a restart must not forget.
#include "store/order_numbers.h"

#include "fixture.h"

namespace plainwater::store {

TEST_CASE("the highest order numbers of others are there again when the store is opened") {
  const Folder folder;
  {
    auto store = opened(folder / "s.db");
    CHECK(must(OrderNumbers(*store).all()).empty());
    must(OrderNumbers(*store).keep({{"mist", {3, 1'800'000'000}}, {"cold-end", {0, -5}}}));
    must(OrderNumbers(*store).keep({{"mist", {4, 7}}}));
  }
  const auto numbers = must(OrderNumbers(*opened(folder / "s.db")).all());
  CHECK(numbers == OrderNumbers::ByBench{{"cold-end", {0, -5}}, {"mist", {4, 7}}});
}

}  // namespace plainwater::store
