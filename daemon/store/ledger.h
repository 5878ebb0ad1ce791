// The ledger: decisions with their evidence. Rows are added, never changed or deleted.
#pragma once

#include <cstdint>
#include <functional>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "common/instant.h"

namespace plainwater::store {

struct LedgerRow {
  std::int64_t id = 0;           ///< counts up
  std::int64_t journal_seq = 0;  ///< the input that led to the decision
  std::int64_t ordinal = 0;      ///< counts from 0 within `journal_seq`
  Instant time{};                ///< when it was decided
  std::string bench;             ///< empty for a reference sensor
  std::string decision;          ///< "hold-placed" …
  std::string cause;             ///< "sharp-drop" …, may be empty
  std::string json;              ///< the whole decision, as rehearse prints it
  std::string said;              ///< JSON of its sentence; empty in what earlier versions wrote
};

struct LedgerFilter {
  std::optional<std::string> bench{};    ///< only this bench
  std::vector<std::string> decisions{};  ///< only of these kinds; empty: all
  std::optional<std::string> cause{};    ///< only with this cause
  Instant since{kNever};                 ///< decided at or after
  Instant until{kForever};               ///< decided before
  std::int64_t after_id = 0;             ///< only newer rows than this one
  std::int64_t before_id = std::numeric_limits<std::int64_t>::max();  ///< only older ones
  bool newest_first = false;  ///< else in the order of recording
  std::int64_t limit = -1;    ///< rows at most; negative: all
};

/// Called for each row; false ends the walk.
using LedgerVisitor = std::function<bool(const LedgerRow& row)>;

}  // namespace plainwater::store
