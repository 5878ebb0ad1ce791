// The state as a fold over the journal: how each kind of row goes into the engine. Shared by the
// service at its start, the export and the audit.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "engine/engine.h"
#include "settings/settings.h"
#include "store/store.h"

namespace plainwater::replay {

/// Body of a settings row: {"rules_revision": 1, "settings": "…the file…"}.
struct SettingsRecord {
  int rules_revision = 0;
  std::string text;
};
std::string to_json(const SettingsRecord& record);
std::optional<SettingsRecord> read_settings_record(std::string_view body);

/// The settings of a settings row; an Error when the text no longer loads.
struct Epoch {
  int rules_revision = 0;
  std::shared_ptr<const Settings> settings;
};
Result<Epoch> epoch_of(const store::JournalRow& settings_row);

/// Changes to other settings at a settings row, as the service does when it starts with them.
Status change_settings(engine::Engine& engine, std::shared_ptr<const Settings> settings,
                       Instant now, engine::Outcome& out);

/// Up to the row's own time nobody listened.
struct Unheard {
  bool operator==(const Unheard&) const = default;
};
/// The content of a clock row: how far the clock is trusted from then on, or by how much time is
/// set back, to the row's own time.
using ClockRow = std::variant<ClockTrust, Span, Unheard>;
/// Body of a clock row: "settled", "unsettled", "unbelieved", "back 123456 ms", or "absent".
std::string clock_body(const ClockRow& what);
/// Text that cannot be read counts as doubted.
ClockRow read_clock_body(std::string_view body);

void take_clock(engine::Engine& engine, const ClockRow& what, Instant now, engine::Outcome& out);

/// Folds one row as it was when it was journaled. Rows of sensors that the settings no longer know
/// only advance the time. Settings rows do nothing: the caller changes the settings there.
void take_row(engine::Engine& engine, const Settings& settings, const store::JournalRow& row,
              engine::Outcome& out);

struct Folded {
  engine::Engine engine;
  std::int64_t seq = 0;                    ///< last row folded
  std::uint64_t rows = 0;                  ///< folded after the snapshot
  ClockTrust clock = ClockTrust::settled;  ///< as the last clock row set it
  std::uint64_t missing = 0;  ///< decisions that the ledger lacked; they are recorded now
  std::vector<std::string>
      differences;  ///< where derived and recorded decisions differ, one sentence each, at most ten
  /// Decided right before `settings` came into force; they belong to the row that says so.
  engine::Outcome before_settings{};
};

/// Folds the newest snapshot and the journal since, under the settings in force then, and continues
/// under `settings`. Writes the decisions that the ledger lacks.
Result<Folded> fold_store(store::Store& store, std::shared_ptr<const Settings> settings);
/// The same beside a running service: writes nothing, and compares nothing.
Result<Folded> fold_to_read(store::Store& store, std::shared_ptr<const Settings> settings);

}  // namespace plainwater::replay
