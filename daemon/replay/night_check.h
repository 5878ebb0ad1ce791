// The nights that an audit derives, held against the table of nights.
//
// A night is derived more than once when it is revised, or when time was set back past it: the last
// one is what the table must hold. So they are compared at the end.
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

  /// The time of the next row of the journal, whose nights are derived.
  void follow(Instant now);
  /// The same of a row that is not: nights of that time are as another state had them.
  void pass(Instant now);
  /// A night that closed, or was revised, at the row that was followed.
  void take(const engine::NightRow& night);
  /// Compares; what rows after `last_seq` may have changed since is left out. False: see `broken`
  /// and `failure`.
  bool finish(std::int64_t last_seq);

  const std::optional<Broken>& broken() const { return broken_; }
  const std::optional<Error>& failure() const { return failure_; }

 private:
  using Nights = std::map<std::string, engine::NightRow>;  ///< by date
  /// Rows one after the other that are not derived, and the times between which they lie.
  struct Passed {
    Instant from{}, to{};
    bool may_have_stored(const engine::NightRow& night) const;
  };

  /// What was derived before the last of `passed_` may have been stored again in it.
  void forget_passed(Nights& nights) const;
  /// Rows that came while the audit ran.
  bool pass_newer(std::int64_t& last_seq);
  bool compare(const std::string& bench, std::int64_t& last_seq);
  bool compare(const std::vector<engine::NightRow>& recorded, const Nights& derived);

  store::Store& store_;
  std::map<std::string, Nights> benches_;
  std::vector<Passed> passed_;
  bool passing_ = false;  ///< the last one goes on
  Instant last_{kNever};  ///< of the last row
  std::optional<Broken> broken_;
  std::optional<Error> failure_;
};

}  // namespace plainwater::replay
