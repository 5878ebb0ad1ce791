// Writes recorded history into a new store, as if the service had run then: through the same
// journal, engine and seals, so that an audit derives it again. But nobody is told of it today, and
// no order is given.
//
//   auto history = HistoryImport::begin(settings, store, now);
//   history->take(reading) …          in order of time
//   auto known = history->finish();
//
// What was asked and reported in a former store of the same service is taken at its times
// (`carry`). Not thread-safe. After an error the store is unfinished and must be thrown away.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "engine/engine.h"
#include "notices/message.h"
#include "settings/settings.h"
#include "store/store.h"

namespace plainwater::service {

/// What is known once history is in.
struct HistoryKnown {
  std::uint64_t readings = 0;     ///< new in the journal
  std::uint64_t repeated = 0;     ///< the same sensor, time and value again
  std::uint64_t conflicting = 0;  ///< the same sensor and time with another value
  std::uint64_t decisions = 0;
  Instant first{kForever}, last{kNever};  ///< times of the readings
  std::vector<engine::BenchNow> benches;  ///< at the end
  std::vector<std::string> closed;        ///< benches whose questions of the past are closed
  std::vector<notices::Message> lasting;  ///< what lasts now
};

class HistoryImport {
 public:
  /// `store` is new. `now` is the present, and not used where time comes from the readings. The
  /// error of a clock or a store.
  static Result<std::unique_ptr<HistoryImport>> begin(
      const std::shared_ptr<const Settings>& settings, store::Store& store, Instant now);

  /// Requests and pumps' reports, in order of time; before the first reading.
  void carry(std::vector<store::JournalRow> rows) { carried_ = std::move(rows); }
  /// A reading not older than the one before.
  Status take(const Reading& reading);
  /// Advances to the present, closes the questions that the past left open, and stores what lasts
  /// as told, so that the service repeats it later if it still lasts. Then seals all rows;
  /// `sealing` is called now and then, and ends it by false.
  Result<HistoryKnown> finish(const std::function<bool()>& sealing);

 private:
  HistoryImport(const std::shared_ptr<const Settings>& settings, store::Store& store, Instant now);
  Status journal_settings();
  Status carry_until(Instant t);
  Status take_carried(const store::JournalRow& row);
  Status append(const store::JournalRow& row, bool& is_new);
  Status record();
  Status put_snapshot(bool for_ever);
  Status commit_if_due();
  Status commit();
  Status advance_to_present();
  Status close_questions();
  Status look_at_what_lasts();

  std::shared_ptr<const Settings> settings_;
  store::Store& store_;
  const Instant present_;  ///< kNever: time comes from the readings
  engine::Engine engine_;
  engine::Outcome outcome_{};
  std::optional<store::Transaction> transaction_{};
  std::vector<store::JournalRow> carried_{};
  std::size_t next_carried_ = 0;
  std::int64_t seq_ = 0;
  std::uint64_t rows_ = 0;  ///< in this transaction
  Instant snapshot_{kNever};
  HistoryKnown known_{};
};

/// Inputs other than readings that a store holds, if it has no readings: then it can be begun anew
/// with history. Else an error that says so.
Result<std::vector<store::JournalRow>> inputs_before_readings(store::Store& store);

}  // namespace plainwater::service
