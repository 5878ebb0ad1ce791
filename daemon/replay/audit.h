// The ledger derived again from the journal, in one pass, and held against what is recorded.
//
// Every epoch of settings is folded under its own, and goes over into the next one as it did in the
// service. What another rules revision decided is not judged: this program has only its own rules.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "common/instant.h"
#include "common/result.h"
#include "replay/fold.h"
#include "store/store.h"

namespace plainwater::replay {

/// 0..1, called often.
using AuditProgress = std::function<void(double)>;

/// A ledger row, a night or a seal as JSON, recorded or derived, whichever there is.
struct Difference {
  std::int64_t seq = 0;  ///< 0: of a night
  std::string input;     ///< "reading of long-a", "request" …; empty: no such row is in the journal
  Instant now{};         ///< engine time of the row
  std::string bench;
  std::string what;  ///< one sentence
  std::optional<std::string> recorded, derived;
};

struct Audit {
  std::uint64_t inputs = 0, decisions = 0;  ///< compared
  std::uint64_t reworded = 0;  ///< of them: the same decision, in other words than this program's
  std::uint64_t before = 0;    ///< decisions whose readings have been thinned
  std::uint64_t nights = 0;    ///< compared
  std::int64_t sealed = 0;     ///< the last row whose seal was compared; 0: none
  std::string seal;            ///< of all rows up to there, hexadecimal
  std::uint64_t foreign =
      0;  ///< decisions that were not compared for another reason, which `notes` tell
  Instant first{kNever}, last{kNever};   ///< of the inputs compared
  std::set<std::string> benches;         ///< of the settings under which was compared
  std::vector<std::string> notes;        ///< complete sentences, in the order of time
  bool settings_lost = false;            ///< some no longer load, so a part could not be derived
  std::optional<Difference> difference;  ///< the first; the audit ends there

  bool identical() const { return !difference && !settings_lost && inputs > 0; }
};

/// A service may go on writing meanwhile: what comes after the beginning is left out.
Result<Audit> audit_store(const std::filesystem::path& path, const AuditProgress& progress);

/// What a fold over the whole journal begins with; for audits of both kinds.
struct AuditStart {
  std::optional<store::Snapshot> snapshot;  ///< at the retention cut; none: the journal is whole
  std::optional<store::SettingsInForce> settings;  ///< of that moment
  std::int64_t last_seq = 0;                       ///< the newest row when it began
  std::int64_t seq() const { return snapshot ? snapshot->journal_seq : 0; }
};
Result<AuditStart> audit_start(store::Store& store);

}  // namespace plainwater::replay
