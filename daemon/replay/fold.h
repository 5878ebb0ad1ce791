// The state as a fold over the journal: how each kind of row goes into the engine. The service at
// its start, the export and an audit share this.
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

/// What a settings row put in force; an Error when its text no longer loads.
struct Epoch {
  int rules_revision = 0;
  std::shared_ptr<const Settings> settings;
};
Result<Epoch> epoch_of(const store::JournalRow& settings_row);

/// Goes on under other settings at a settings row, as the service does when it starts with them.
Status change_settings(engine::Engine& engine, std::shared_ptr<const Settings> settings,
                       Instant now, engine::Outcome& out);

/// What a clock row says: how far the clock is believed from then on, or by how much time is set
/// back, to the row's own.
using ClockRow = std::variant<ClockTrust, Span>;
/// Body of a clock row: "settled", "unsettled", "unbelieved", or "back 123456 ms".
std::string clock_body(const ClockRow& what);
/// What cannot be read counts as a doubt.
ClockRow read_clock_body(std::string_view body);

void take_clock(engine::Engine& engine, const ClockRow& what, Instant now, engine::Outcome& out);

/// Takes one row as it was taken when it was journaled. Rows of sensors that the settings no longer
/// know do nothing but advance; settings rows do nothing: where they stand, the caller goes on
/// under other settings.
void take_row(engine::Engine& engine, const Settings& settings, const store::JournalRow& row,
              engine::Outcome& out);

struct Folded {
  engine::Engine engine;
  std::int64_t seq = 0;                    ///< last row folded
  std::uint64_t rows = 0;                  ///< folded after the snapshot
  ClockTrust clock = ClockTrust::settled;  ///< what the last clock row said
  std::uint64_t missing =
      0;  ///< decisions derived but not in the ledger; they have been recorded now
  std::vector<std::string>
      differences;  ///< derived and recorded decisions that differ, one sentence each, ten at most
};

/// The newest snapshot and the journal since, under the settings that were in force then, and from
/// there under `settings`. Writes what the ledger lacks.
Result<Folded> fold_store(store::Store& store, std::shared_ptr<const Settings> settings);

}  // namespace plainwater::replay
