// The pumps: whether each is armed and trusted, and what it reports to have given.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "engine/days_behind.h"
#include "engine/pump_share.h"
#include "engine/succession.h"
#include "engine/turn.h"
#include "feeding/dose_report.h"
#include "feeding/pump_watch.h"

namespace plainwater::engine {

struct PumpState {
  static constexpr std::uint32_t kBenchesVersion = 9;  ///< of snapshots
  bool armed = false;
  feeding::PumpWatch watch;
  std::vector<std::string> benches;  ///< on its line, as of the last look
  std::vector<std::string> lost;     ///< were on its line, and are in the settings no more
  std::string mix;        ///< recipe, water and range with which it was armed; a change disarms it
  Instant heard{kNever};  ///< last report, or when watching it began
  bool silent = false;
  Instant clock_told{kNever};  ///< when people were last told that its clock is wrong
  DaysBehind behind;

  template <class A>
  void fields(A& a) {
    a(armed);
    a(watch);
    a(mix);
    if (a.version() >= kBenchesVersion) {
      a(benches);
      a(lost);
    }
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
  /// It follows its orders. Not one that has yet to go back to advice because its benches or its
  /// feed changed with the settings: that is told with the next input.
  bool armed(std::size_t pump, const Settings& settings) const;
  /// For restoring one from a snapshot.
  PumpState& of(std::size_t pump) { return pumps_[pump]; }
  /// Pumps that are in the settings no more, by name: a lock, or a bench that one waits for, does
  /// not end because it was taken out for a while.
  std::map<std::string, PumpState>& gone() { return gone_; }
  void keep_gone(const std::string& name, PumpState state);

  /// Whether they have been looked at since the start or a restore.
  bool looked_at() const { return looked_at_; }
  /// First look at them under these settings; `settled`: the clock is believed.
  void look_at(bool settled, const Succession& succession, const Turn& turn);
  /// A bench that left the settings was retired: no pump waits for it.
  void forget(const std::string& bench);
  /// Tells each pump's watch what the pump may give from now on.
  void note_commands(const Settings& settings, const Benches& benches, Instant now);

  TakenDose take(const feeding::DoseReport& report, const Turn& turn);
  /// Arms, disarms or trusts a pump.
  feeding::Reply take(const feeding::Request& request, const Turn& turn);
  /// When people are told of its silence; kForever: never.
  Instant silence_due(const Settings& settings, std::size_t pump) const;
  void tell_silence(std::size_t pump, const Turn& turn);
  /// Called once a day, at `t`: counts benches that lose by sharing a pump.
  void count_days_behind(Instant t, const Turn& turn);
  /// Whether its benches get plain water because this pump, or one that they had before, is not
  /// trusted.
  bool forbidden(const Settings& settings, std::size_t pump, const Benches& benches,
                 Instant now) const;

 private:
  void tell(std::size_t pump, std::string bench, feeding::Cause cause, feeding::Evidence evidence,
            words::Sentence said, const Turn& turn) const;
  /// A pump whose recipe, water or range changed goes back to advice.
  void compare_mix(std::size_t pump, const Turn& turn);
  /// So does one whose benches changed, if it was `armed`; that a bench is called otherwise is no
  /// change.
  bool other_benches(std::size_t pump, const Settings& settings) const;
  void compare_benches(std::size_t pump, bool armed, const Succession& succession,
                       const Turn& turn);
  void put_on_advice(std::size_t pump, feeding::Cause cause, feeding::Evidence evidence,
                     words::Sentence said, const Turn& turn);
  /// The pump has reported something, no matter what.
  void hear(std::size_t pump, const Turn& turn);
  /// Its report lies too far back to be judged: its clock may be wrong.
  void tell_wrong_clock(std::size_t pump, Instant reported, const Turn& turn);
  /// Compares a new report with the orders of its time; decisions from index `first` on belong to
  /// it.
  void judge(std::size_t pump, const feeding::DoseReport& report, std::size_t first,
             const Turn& turn);

  std::vector<PumpState> pumps_;  ///< in the settings' order
  std::map<std::string, PumpState> gone_;
  bool looked_at_ = false;
};

}  // namespace plainwater::engine
