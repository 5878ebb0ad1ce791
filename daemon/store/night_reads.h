// Reads closed nights. Thread-safe; store.h has the rules for callbacks.
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

  /// Nights in order of date, between the evenings of these dates ("2026-09-14"; empty: no bound);
  /// empty name: all benches, by name. The caller must include engine/engine.h.
  Result<std::vector<engine::NightRow>> of(std::string_view bench, std::string_view from = {},
                                           std::string_view to = {});
  /// Dates of the first and the last night; none before the first.
  Result<std::optional<std::pair<std::string, std::string>>> span();

 private:
  ReadSide& side_;
};

}  // namespace plainwater::store
