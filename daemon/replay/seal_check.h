// Compares the journal's rows with their seals, row by row as an audit reads them.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "common/result.h"
#include "store/seal.h"
#include "store/store.h"

namespace plainwater::replay {

class SealCheck {
 public:
  struct Broken {
    std::int64_t last_seq = 0;
    Instant now{kNever};  ///< time of the last row before the fault was found
    std::string what;     ///< one sentence
    std::string sealed, found;
  };

  explicit SealCheck(store::Store& store) : store_(store) {}

  /// Reads the newest seal. Call it before reading the journal, which is ahead of its seals.
  Status begin();
  /// Readings up to this row were thinned in the journal that `take` is given.
  void thinned(std::int64_t seq) { thinned_ = seq; }
  /// Takes rows in journal order, from the first. False: see `broken` and `failure`.
  bool take(std::int64_t seq, const store::JournalRow& row);
  /// After the last row; false as above.
  bool finish();

  const std::optional<Broken>& broken() const { return broken_; }
  const std::optional<Error>& failure() const { return failure_; }
  /// The newest seal that was compared; none while nothing is sealed.
  const std::optional<store::Seal>& last() const { return last_; }

 private:
  bool close();
  bool next();

  store::Store& store_;
  store::SealMaker maker_;
  std::int64_t thinned_ = 0;
  std::optional<store::Seal> last_;     ///< when `begin` was called
  std::optional<store::Seal> running_;  ///< the seal that covers the next rows
  std::int64_t after_ = 0;              ///< the last row of the seal before
  store::Sha256 chain_{};               ///< of the seal before
  Instant now_{kNever};
  std::optional<Broken> broken_;
  std::optional<Error> failure_;
};

}  // namespace plainwater::replay
