// What-if: decisions that other settings would have made on the same journal, compared with the
// recorded ones.
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
#include "words/sentence.h"

namespace plainwater::replay {

/// Feeding of a bench over the time compared.
struct Fed {
  double plain_days = 0, feeding_days = 0;
  int holds_placed = 0;
};

struct WhatIf {
  std::uint64_t inputs = 0;
  Instant first{kNever}, last{kNever};  ///< of the inputs
  std::uint64_t same = 0;               ///< decisions in both
  std::uint64_t less = 0, more = 0;  ///< only in the recorded ledger; only under the new settings
  std::map<std::string, Fed> then, now;  ///< by bench
  std::set<std::string> benches_gone,
      benches_new;  ///< known only to the recorded, or only to the new settings
  std::map<std::string, std::uint64_t>
      sensors_gone;                   ///< by name: readings that the new settings do not use
  std::set<std::string> sensors_new;  ///< in the new settings, without any reading
  std::vector<words::Sentence> notes;
};

/// A decision on one side only.
struct WhatIfLine {
  bool recorded = false;  ///< false: only under the new settings
  Instant time{};
  std::string bench;
  words::Sentence said;
};

/// Folds the whole journal under `settings`; passes each difference to `line`, in order of time
/// between any two steps back.
Result<WhatIf> decide_what_if(const std::filesystem::path& path,
                              std::shared_ptr<const Settings> settings,
                              const std::function<void(const WhatIfLine&)>& line,
                              const AuditProgress& progress);

}  // namespace plainwater::replay
