// The nights that an audit derives, held against the table of nights.
#pragma once

#include <deque>
#include <map>
#include <optional>
#include <string>

#include "engine/engine.h"
#include "store/store.h"

namespace plainwater::replay {

class NightCheck {
 public:
  struct Broken {
    std::string bench, what;                       ///< one sentence
    std::optional<std::string> recorded, derived;  ///< JSON
  };

  explicit NightCheck(store::Store& store) : store_(store) {}

  /// A night that closed, or was revised. False: see `broken` and `failure`.
  bool take(const engine::NightRow& night);
  /// What comes next does not follow from what came: nights between are not asked for.
  void interrupt();
  /// Compares those that could still have been revised.
  bool finish();

  const std::optional<Broken>& broken() const { return broken_; }
  const std::optional<Error>& failure() const { return failure_; }

 private:
  struct OfBench {
    std::deque<engine::NightRow> open;  ///< the newest ones
    std::string before;                 ///< the last one compared; empty: none
  };
  bool compare(OfBench& bench);

  store::Store& store_;
  std::map<std::string, OfBench> benches_;
  std::optional<Broken> broken_;
  std::optional<Error> failure_;
};

}  // namespace plainwater::replay
