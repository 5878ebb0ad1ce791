// What other settings would have decided on the same journal, held against what is recorded.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "replay/audit.h"

namespace plainwater::replay {

/// A bench's feeding over the time of the comparison.
struct Fed {
  double plain_days = 0, feeding_days = 0;
  int holds_placed = 0;
};

struct Otherwise {
  std::uint64_t inputs = 0;
  Instant first{kNever}, last{kNever};  ///< of the inputs
  std::uint64_t same = 0;               ///< decisions that stand in both
  std::uint64_t less = 0, more = 0;  ///< only in the recorded ledger; only under the new settings
  std::map<std::string, Fed> then, now;  ///< by bench
  std::set<std::string> benches_gone,
      benches_new;  ///< that only the recorded, or only the new settings know
  std::map<std::string, std::uint64_t>
      sensors_gone;                   ///< by name: readings that the new settings have no use for
  std::set<std::string> sensors_new;  ///< of the new settings, and never heard of
  std::vector<std::string> notes;
};

/// One decision that stands in one of the two only.
struct OtherLine {
  bool recorded = false;  ///< else only under the new settings
  Instant time{};
  std::string bench, text;
};

/// The whole journal under `settings`; `line` gets what differs, in the order of time between two
/// steps back of it.
Result<Otherwise> decide_otherwise(const std::filesystem::path& path,
                                   std::shared_ptr<const Settings> settings,
                                   const std::function<void(const OtherLine&)>& line,
                                   const AuditProgress& progress);

}  // namespace plainwater::replay
