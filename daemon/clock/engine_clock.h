// Engine time: runs with the boot-time clock from the last accepted wall time. Pure policy, not
// thread-safe.
//
// At the start, a wall clock is trusted when
//   - the kernel says that a time service keeps it, or the grower vouches for it
//     (`clock.trust_machine`), or
//   - it is at most 14 days after the time stored by the last run (400 with one of the above).
// Small differences between wall and engine time are accepted at once. Any other time, at the start
// or after a later jump of more than 5 min, is accepted when
//   - two different sensors' own times agree with it, or
//   - it was in doubt when the last run ended, still is, and is vouched for as above, or
//   - it comes with the first synchronisation since the start and is at most 400 days ahead
//     (a machine without a battery clock starts with an old time, and its time service corrects it
//     a little later).
// Until then engine time, if there is one, runs on evenly and nothing is released. If it was not
// trusted since the start, it may be any other day: see ClockTrust::unbelieved.
//
// Engine time never goes backwards on its own. If an accepted wall clock is more than 5 min behind,
// an explicit step back is requested (`to_go_back`); a small difference is waited out.
//
// Sensors cannot replace a wall clock before `kFloor` or from `kCeiling` on, however well they
// agree: without it there is no independent witness, and sensors of one make share their mistakes
// (firmware date, a wrong time server). Two of them could carry engine time past the end of a hold.
#pragma once

#include <map>
#include <optional>
#include <string>

#include "clock/clock.h"
#include "common/clock_trust.h"
#include "common/instant.h"
#include "common/reading.h"

namespace plainwater::clock {

class EngineClock {
 public:
  static constexpr Span kJump = minutes(5);
  static constexpr Span kLongestAbsence = 400 * kDay;
  static constexpr Span kShortAbsence =
      14 * kDay;  ///< trusted without anyone vouching for the clock
  static constexpr Instant kFloor =
      from_seconds(1'704'067'200);  ///< 2024-01-01: earlier wall times are implausible
  static constexpr Instant kCeiling =
      from_seconds(4'102'444'800);  ///< 2100-01-01: so are later ones

  /// Stored for the next run.
  struct Memory {
    Instant engine_time{};
    bool settled = true;  ///< then
  };

  /// `trusted`: the grower vouches for the machine's clock.
  explicit EngineClock(const ClockSample& start, std::optional<Memory> memory = std::nullopt,
                       bool trusted = false);

  /// Engine time at this sample; 1970 before any was trusted (see `runs`). Pass samples in order of
  /// boot time.
  Instant now(const ClockSample& sample);
  /// The last time returned by `now` or `hear`.
  Instant last() const { return last_; }

  /// Evidence: a sensor's own time from a live message only (after the fence, neither retained nor
  /// redelivered). It counts when it is newer than every earlier time of this sensor.
  void hear(SensorId sensor, Instant own_time, const ClockSample& sample);

  /// The sensors have other numbers from now on: what they told is forgotten.
  void forget_sensors() {
    newest_.clear();
    agrees_.clear();
  }

  ClockTrust trust() const;
  bool settled() const { return settled_; }
  /// There is an engine time: trusted now or in a former run.
  bool runs() const { return anchored_; }
  /// False while the wall clock is before `kFloor`, or at or after `kCeiling`.
  bool plausible() const { return plausible_; }
  /// Wall minus engine time at the last sample.
  Span difference() const { return difference_; }
  /// How far engine time has to step back to a trusted wall clock; 0: not at all.
  Span to_go_back() const;
  /// Reports that this step was made.
  void went_back();
  /// One sentence for the log about the clock and what it waits for; empty when all is well.
  std::string explain() const;

 private:
  bool vouched(const ClockSample& sample) const { return trusted_ || sample.synchronised; }
  void accept(const ClockSample& sample);
  void doubt(const ClockSample& sample);

  Instant base_{};  ///< engine time at `base_boot_`, before preventing backward steps
  Span base_boot_{};
  Instant last_{};
  Span difference_{0};
  bool trusted_ = false;
  bool anchored_ = false;  ///< base_ came from a trusted time
  bool believed_ = false;  ///< accepted since the start, and plausible ever since
  bool settled_ = false;
  bool plausible_ = false;
  bool ever_synchronised_ = false;
  Span doubted_offset_{0};              ///< wall - boot of the jump in doubt
  std::map<SensorId, Instant> newest_;  ///< own times received
  std::map<SensorId, bool> agrees_;     ///< with the jump in doubt
};

}  // namespace plainwater::clock
