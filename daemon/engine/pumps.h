// The pumps: whether each is armed and trusted, and what it reports that it gave.
#pragma once

#include <string>
#include <vector>

#include "engine/days_behind.h"
#include "engine/pump_share.h"
#include "engine/turn.h"
#include "feeding/dose_report.h"
#include "feeding/pump_watch.h"

namespace plainwater::engine {

struct PumpState {
  bool armed = false;
  feeding::PumpWatch watch;
  std::string mix;        ///< what it was armed with: recipe, water, range; another one disarms
  Instant heard{kNever};  ///< last report, or when the watch over it began
  bool silent = false;
  Instant clock_told{kNever};  ///< when its reports' times were last told to be wrong
  DaysBehind behind;

  template <class A>
  void fields(A& a) {
    a(armed);
    a(watch);
    a(mix);
    a(heard);
    a(silent);
    a(clock_told);
    a(behind);
  }
};

/// `pump` is an index into the settings' pumps.
class Pumps {
 public:
  explicit Pumps(const Settings& settings) : pumps_(settings.pumps.size()) {}

  const std::vector<PumpState>& all() const { return pumps_; }
  /// For restoring what was saved of one.
  PumpState& of(std::size_t pump) { return pumps_[pump]; }

  /// Since the start or a restore they have been looked at.
  bool looked_at() const { return looked_at_; }
  /// First look at them under these settings; `settled`: the clock is believed.
  void look_at(bool settled, const Turn& turn);
  /// Lets each pump's watch know what it may give from now on.
  void note_commands(const Settings& settings, const Benches& benches, Instant now);

  TakenDose take(const feeding::DoseReport& report, const Turn& turn);
  /// Arms, disarms or trusts a pump.
  feeding::Reply take(const feeding::Request& request, const Turn& turn);
  /// When its silence is told; kForever: it is not.
  Instant silence_due(const Settings& settings, std::size_t pump) const;
  void tell_silence(std::size_t pump, const Turn& turn);
  /// Once a day, at `t`: benches that lose by sharing a pump.
  void count_days_behind(Instant t, const Turn& turn);
  /// Whether its benches get plain water because it, or a former one of theirs, is not trusted.
  bool forbidden(const Settings& settings, std::size_t pump, const Benches& benches,
                 Instant now) const;

 private:
  void tell(std::size_t pump, std::string bench, feeding::Cause cause, feeding::Evidence evidence,
            words::Sentence said, const Turn& turn) const;
  /// A pump whose recipe, water or range changed goes back to advice.
  void compare_mix(std::size_t pump, const Turn& turn);
  /// The pump has reported something, whatever it was.
  void hear(std::size_t pump, const Turn& turn);
  /// What it reports lies too far back to be judged.
  void tell_wrong_clock(std::size_t pump, Instant reported, const Turn& turn);
  /// Holds a report that is new and of a known time against its orders; decisions since `first`
  /// are of this report.
  void judge(std::size_t pump, const feeding::DoseReport& report, std::size_t first,
             const Turn& turn);

  std::vector<PumpState> pumps_;  ///< as in the settings
  bool looked_at_ = false;
};

}  // namespace plainwater::engine
