// Regular upkeep of the store: takes snapshots, seals new rows, and thins old readings.
#pragma once

#include "common/instant.h"
#include "service/effects.h"
#include "service/recorder.h"

namespace plainwater::service {

class Upkeep {
 public:
  /// A snapshot is due after this many inputs, or this much engine time.
  static constexpr std::uint64_t kSnapshotInputs = 100'000;
  static constexpr Span kSnapshotSpan = hours(1);
  static constexpr Span kSnapshotSpacing = seconds(10);  ///< real time; engine time may run fast
  static constexpr Span kRetentionSpacing = hours(1);

  explicit Upkeep(int raw_days) : raw_days_(raw_days) {}
  /// Inputs were journaled: counts them towards the next snapshot.
  void inputs(std::uint64_t count) { inputs_ += count; }
  /// Does what is due. The recorder must have no trouble before, and may have some afterwards.
  void look_after(Recorder& recorder, store::Store& store, Span since_boot, Effects& out);
  /// At an orderly stop: seals what is left, as far as that takes no more than a second or two.
  void seal_all(store::Store& store, Effects& out);

 private:
  bool snapshot_due(Instant now) const;
  void seal(store::Store& store, Effects& out);

  int raw_days_;
  std::uint64_t inputs_ = 0;  ///< since the last snapshot
  Instant snapshot_{kNever};  ///< engine time of the last one
  bool sealing_ = true;       ///< rows may be left to seal, from before the start or since
  Span snapshot_at_{-hours(24 * 365)}, retained_at_{-hours(24 * 365)};  ///< since boot
};

}  // namespace plainwater::service
