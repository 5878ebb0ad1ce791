// What the engine remembers, and in which order due things fire. Each part owns its state and names
// what of it goes into a snapshot.
#pragma once

#include "engine/absence.h"
#include "engine/answers.h"
#include "engine/cold_air.h"
#include "engine/engine.h"
#include "engine/looks.h"
#include "engine/pumps.h"
#include "engine/quarantine.h"
#include "engine/running_cycle.h"
#include "engine/succession.h"
#include "engine/turn.h"

namespace plainwater::engine {

struct Engine::State {
  explicit State(std::shared_ptr<const Settings> s);

  std::shared_ptr<const Settings> settings;
  RunningCycle cycle;
  Instant now{kNever};
  bool begun = false;
  ClockTrust clock = ClockTrust::settled;
  bool unheard = false;  ///< nobody listens; only within pass_unheard
  Sensors sensors;
  Benches benches;
  ColdAir cold;
  Looks looks;
  Quarantine quarantine;
  Pumps pumps;
  Absence absence;
  Answers answers;
  Succession succession;
  std::map<std::string, std::uint64_t> counters;
  Instant next_due{
      kNever};  ///< a lower bound for all but looks, which are many and have their own queue

  bool settled() const { return clock == ClockTrust::settled; }
  Turn turn(Outcome& out) { return {*settings, now, benches, out}; }
  /// Tells the pumps' watches what they may give from now on.
  void note_commands() { pumps.note_commands(*settings, benches, now); }

  void advance(Instant to, Outcome& out);
  /// Fires everything due at or before `now`.
  void fire_all(Outcome& out);
  /// Whether a question is still open, and a pump still not trusted.
  Absence::StillWaits still_waits() const;
  /// Passes on to the benches how far the clock is believed; records no decision.
  void let_benches_know();
  /// Moves all remembered times back by `by`.
  void set_back(Span by);
  /// The earliest due time of all but looks.
  Instant earliest_due() const;
  Taken add(const Reading& reading);
  TakenDose add(const feeding::DoseReport& report, Outcome& out);
  /// Forgets a bench that left the settings for good.
  feeding::Reply retire(const feeding::Request& request, Outcome& out);

 private:
  // advance.cpp
  void begin(Instant t, Outcome& out);
  void look_at_pumps(Outcome& out);
  void fire(Outcome& out);
  void fire_one(const Turn& turn);
  void fire_look(Outcome& out);
  void judge_silence(std::size_t sensor, const Turn& turn);

  // closing.cpp
  void close_cycle(const Turn& turn);
  void close_bench(std::size_t bench, const climate::BenchNight& night, const Turn& turn);
  feeding::SeasonFacts season_facts(std::size_t bench);
};

}  // namespace plainwater::engine
