// Derives the ledger from the journal again, in one pass, and compares it with the recorded one.
//
// Each epoch is folded under its own settings and changes over to the next as it did in the
// service. Decisions of another rules revision are not compared, because this program only has its
// own rules.
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
#include "words/sentence.h"

namespace plainwater::replay {

/// 0..1, called often.
using AuditProgress = std::function<void(double)>;

/// A ledger row, a night or a seal, as JSON, recorded or derived, whichever exists.
struct Difference {
  std::int64_t seq = 0;  ///< 0: for a night
  std::string input;     ///< "reading of long-a", "request" …; empty: no such row in the journal
  Instant now{};         ///< engine time of the row
  std::string bench;
  std::string what;  ///< one sentence
  std::optional<std::string> recorded, derived;
};

struct Audit {
  std::uint64_t inputs = 0, decisions = 0;  ///< compared
  std::uint64_t reworded = 0;  ///< of these: the same decision, worded differently by this program
  std::uint64_t before = 0;    ///< decisions whose readings have been thinned
  std::uint64_t nights = 0;    ///< compared
  std::int64_t sealed = 0;     ///< the last row whose seal was compared; 0: none
  std::string seal;            ///< chain over all rows up to there, hexadecimal
  std::uint64_t foreign = 0;   ///< decisions not compared for another reason, which `notes` explain
  Instant first{kNever}, last{kNever};  ///< of the inputs compared
  std::set<std::string> benches;        ///< benches of the settings that were compared
  std::vector<words::Sentence> notes;   ///< complete sentences, in order of time
  bool settings_lost = false;  ///< some settings no longer load, so a part could not be derived
  std::optional<Difference> difference;  ///< the first; the audit ends there

  bool identical() const { return !difference && !settings_lost && inputs > 0; }
};

/// A service may keep writing meanwhile: rows added after the audit began are left out.
Result<Audit> audit_store(const std::filesystem::path& path, const AuditProgress& progress);

/// Where a fold over the whole journal begins; for both kinds of audit.
struct AuditStart {
  std::optional<store::Snapshot> snapshot;  ///< at the retention cut; none: the journal is whole
  std::optional<store::SettingsInForce> settings;  ///< at that moment
  std::int64_t last_seq = 0;                       ///< the newest row when it began
  std::int64_t seq() const { return snapshot ? snapshot->journal_seq : 0; }
};
Result<AuditStart> audit_start(store::Store& store);

}  // namespace plainwater::replay
