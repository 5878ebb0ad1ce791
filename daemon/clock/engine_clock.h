// Engine time: the boot-time clock from the last accepted wall time. Pure policy, not thread-safe.
//
// Small differences between wall and engine time are accepted at once; engine time never goes
// backwards, it waits. A wall jump of more than 5 min is accepted when
//   - two different sensors' own times agree with it, or
//   - it persists through a restart with a synchronised clock, or
//   - it comes with the first synchronisation since the start and is not more than 400 days ahead
//   (a machine without
//     a battery clock starts with an old time, and its time service corrects it a little later).
// Until then engine time goes on and `settled()` is false: nothing is released. A hold may be
// placed: that is the safe side, and engine time is still what it was.
//
// A wall clock before `kFloor` is not replaced by what sensors say, however well they agree:
// without it there is no independent witness, and sensors of one make share their mistakes (the
// date of their firmware, one wrong time server). Two of them could carry engine time past the end
// of a hold. So nothing is decided, every bench gets plain water, and the readings wait at the
// broker until the clock is set.
#pragma once

#include <map>
#include <optional>
#include <string>

#include "clock/clock.h"
#include "common/instant.h"
#include "common/reading.h"

namespace plainwater::clock {

class EngineClock {
 public:
  static constexpr Span kJump = minutes(5);
  static constexpr Span kLongestAbsence = 400 * kDay;
  static constexpr Span kShortAbsence =
      14 * kDay;  ///< believed of a clock that nobody has synchronised yet
  static constexpr Instant kFloor =
      from_seconds(1'704'067'200);  ///< 2024-01-01: earlier wall times are implausible

  /// What the store keeps for the next run; see `memory`.
  struct Memory {
    Instant engine_time{};
    bool settled = true;  ///< at that time, and not waiting for a wall clock that was set back
  };

  explicit EngineClock(const ClockSample& start, std::optional<Memory> memory = std::nullopt);

  /// Engine time at this sample. Samples come in the order of their boot time.
  Instant now(const ClockSample& sample);
  /// The last time given by `now` or `hear`.
  Instant last() const { return last_; }

  /// Evidence: a sensor's own time, of a live message only (after the fence, neither retained nor
  /// redelivered). It counts when it is newer than every time that this sensor gave before.
  void hear(SensorId sensor, Instant own_time, const ClockSample& sample);

  bool settled() const { return settled_; }
  /// False while the wall clock stands before `kFloor`.
  bool plausible() const { return plausible_; }
  /// Wall minus engine time at the last sample.
  Span difference() const { return difference_; }
  /// To be stored now and then, and given to the constructor of the next run.
  Memory memory() const { return {last_, settled_ && difference_ >= -kJump}; }
  /// One sentence for a notice: what the clock does and what it waits for; empty when all is well.
  std::string explain() const;

 private:
  void accept(const ClockSample& sample);
  void doubt(const ClockSample& sample);

  Instant base_{};  ///< engine time at `base_boot_`, before the rule that it never goes backwards
  Span base_boot_{};
  Instant last_{};
  Span difference_{0};
  bool anchored_ = false;  ///< base_ came from a believable time
  bool settled_ = false;
  bool plausible_ = false;
  bool ever_synchronised_ = false;
  Span doubted_offset_{0};              ///< wall - boot of the jump under doubt
  std::map<SensorId, Instant> newest_;  ///< own times heard
  std::map<SensorId, bool> agrees_;     ///< with the jump under doubt
};

}  // namespace plainwater::clock
