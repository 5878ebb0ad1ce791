// Compares the nights that an audit derives with the table of nights.
//
// A night is derived again when it is revised or when time was set back past it; the table must
// hold the last version. So they are compared at the end.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

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

  /// The time of the next journal row, whose nights are derived.
  void follow(Instant now);
  /// The same for a row that is not derived: nights of that time came from another state.
  void pass(Instant now);
  /// A night that closed or was revised at the current row.
  void take(const engine::NightRow& night);
  /// Compares, leaving out nights that rows after `last_seq` may have changed. False: see `broken`
  /// and `failure`.
  bool finish(std::int64_t last_seq);

  const std::optional<Broken>& broken() const { return broken_; }
  const std::optional<Error>& failure() const { return failure_; }

 private:
  using Nights = std::map<std::string, engine::NightRow>;  ///< by date
  /// Consecutive rows that are not derived, and the time range that they cover.
  struct Passed {
    Instant from{}, to{};
    bool may_have_stored(const engine::NightRow& night) const;
  };

  /// Nights derived before the last of `passed_` may have been stored again in it.
  void forget_passed(Nights& nights) const;
  /// Rows that were added while the audit ran.
  bool pass_newer(std::int64_t& last_seq);
  bool compare(const std::string& bench, std::int64_t& last_seq);
  bool compare(const std::vector<engine::NightRow>& recorded, const Nights& derived);

  store::Store& store_;
  std::map<std::string, Nights> benches_;
  std::vector<Passed> passed_;
  bool passing_ = false;  ///< the last range is still open
  Instant last_{kNever};  ///< time of the last row
  std::optional<Broken> broken_;
  std::optional<Error> failure_;
};

}  // namespace plainwater::replay
