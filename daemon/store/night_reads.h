// Reads of closed nights. Thread-safe; store.h tells about
// callbacks.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "common/result.h"

namespace plainwater::engine {
struct NightRow;
}

namespace plainwater::store {

class ReadSide;
class Store;

class NightReads {
 public:
  /// The store must outlive it.
  explicit NightReads(Store& store);

  /// In order of date, from and to the evenings of these dates ("2026-09-14"; empty: no bound);
  /// empty name: all benches, by name. Needs engine/engine.h at the caller.
  Result<std::vector<engine::NightRow>> of(std::string_view bench, std::string_view from = {},
                                           std::string_view to = {});
  /// Dates of the first and the last night of all; none before the first.
  Result<std::optional<std::pair<std::string, std::string>>> span();

 private:
  ReadSide& side_;
};

}  // namespace plainwater::store
