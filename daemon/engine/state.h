// What the engine remembers. `fields` of each struct is what a snapshot holds.
#pragma once

#include <deque>

#include "climate/fusion.h"
#include "climate/sensor_watch.h"
#include "climate/series.h"
#include "climate/sun.h"
#include "engine/engine.h"
#include "feeding/bench_feeding.h"
#include "feeding/pump_watch.h"
#include "feeding/salts.h"
#include "season/bench_season.h"

namespace plainwater::engine {

/// A reading older than this much against the engine's time is judged without waiting for others.
inline constexpr Span kReorderWindow = minutes(10);
inline constexpr Span kFutureTolerance = minutes(5);
inline constexpr Span kCloseAfterSunrise = hours(1);

struct SensorState {
  climate::Series temperature, humidity;
  climate::SensorWatch watch;
  bool wet = false;            ///< humidity stood at 100 %RH through the last cycle
  Instant newest{kNever};      ///< time of the newest reading
  Instant back_since{kNever};  ///< first reading after a silence
  std::uint32_t late =
      0;  ///< readings that came after their night had closed, since the last close

  template <class A>
  void fields(A& a) {
    a(temperature);
    a(humidity);
    a(watch);
    a(wet);
    a(newest);
    a(back_since);
    a(late);
  }
};

/// What a bench's pots got.
struct WateringState {
  feeding::SaltBalance salts;
  Instant watered{kNever};    ///< newest watering told
  Instant dry_since{kNever};  ///< from when the days without water count
  Instant flush_advised{kNever};
  double flush_l = 0;             ///< of the advice that stands, L
  std::uint32_t opened_hold = 0;  ///< the hold whose opening flush was advised

  template <class A>
  void fields(A& a) {
    a(salts);
    a(watered);
    a(dry_since);
    a(flush_advised);
    a(flush_l);
    a(opened_hold);
  }
};

struct PumpState {
  bool armed = false;
  feeding::PumpWatch watch;
  std::string mix;        ///< what it was armed with: recipe, water, range; another one disarms
  Instant heard{kNever};  ///< last report, or when the watch over it began
  bool silent = false;
  Instant clock_told{kNever};  ///< when its reports' times were last told to be wrong
  struct Behind {
    std::int32_t days = 0, asked = 0;
    template <class A>
    void fields(A& a) {
      a(days);
      a(asked);
    }
  };
  std::map<std::string, Behind> behind;  ///< by bench: days on which it got less than it might

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

struct BenchState {
  season::BenchSeason season;
  feeding::BenchFeeding feeding;
  climate::BenchNight last;      ///< the last closed night
  std::int64_t last_night = -1;  ///< its solar day
  double last_rate = climate::kUnknown;
  double last_deficit_c = climate::kUnknown;
  NightRow last_row;          ///< as told, for a revision
  bool disagreement = false;  ///< its two sensors were told to disagree
  struct Stay {
    Instant from{};
    Position position = Position::unknown;
    template <class A>
    void fields(A& a) {
      a(from);
      a(position);
    }
  };
  std::vector<Stay> stays;  ///< of the running cycle, and the one before it that still lasts
  WateringState watering;
  std::map<std::string, climate::DriftWatch>
      drift;  ///< by sensor: how it stands against its mates here

  BenchState(const Bench* bench, const Settings* settings) : feeding(bench, settings) {}

  template <class A>
  void fields(A& a) {
    a(season);
    a(feeding);
    a(watering);
    a(last.temperature.coverage);
    a(last.temperature.mean);
    a(last.temperature.minimum);
    a(last.temperature.maximum);
    a(last.day.coverage);
    a(last.day.mean);
    a(last.day.minimum);
    a(last.day.maximum);
    a(last.mean_rh);
    a(last.vpd_kpa);
    a(last.suspect);
    a(last_night);
    a(last_rate);
    a(last_deficit_c);
    a(disagreement);
    a(drift);
    a(stays);
    a(last_row.bench);
    a(last_row.night);
    a(last_row.sunset);
    a(last_row.sunrise);
    a(last_row.coverage);
    a(last_row.counted);
    a(last_row.mean_c);
    a(last_row.minimum_c);
    a(last_row.mean_rh);
    a(last_row.acclimated_c);
    a(last_row.deficit_c);
    a(last_row.metabolic_rate);
    a(last_row.position);
    a(last_row.feeding);
    a(last_row.strength_percent);
  }
};

/// A reading cold enough to matter, waiting for the reorder window.
struct Cold {
  Instant due{};
  Instant time{};
  std::uint32_t sensor = 0;
  auto operator<=>(const Cold&) const = default;
};

/// A bench's air or a contact's word, waiting for the reorder window.
struct Look {
  Instant due{};
  Instant time{};
  std::uint32_t bench = 0;
  Position word = Position::unknown;  ///< a contact's; unknown: the bench's air is looked at
  auto operator<=>(const Look&) const = default;
};

/// A reading from the future, waiting for its time.
struct Quarantined {
  Instant due{};
  Reading reading;
  auto operator<=>(const Quarantined&) const = default;
};

struct Answered {
  Instant when{};
  feeding::Reply reply;
  template <class A>
  void fields(A& a) {
    a(when);
    a(reply.done);
    a(reply.problem);
    a(reply.text);
  }
};

struct Engine::State {
  explicit State(std::shared_ptr<const Settings> s);

  std::shared_ptr<const Settings> settings;
  climate::Sun sun;
  Instant now{kNever};
  bool begun = false;
  bool settled = true;
  climate::SolarDay night =
      0;                ///< the running cycle: its night begins on the evening of this solar day
  Instant kept_from{};  ///< sunset of the last closed night: older readings are history
  Instant cycle_from{}, sunset{}, sunrise{};
  std::vector<SensorState> sensors;  ///< by SensorId
  std::vector<BenchState> benches;   ///< as in the settings
  std::vector<std::vector<std::uint32_t>>
      watchers;                         ///< by SensorId: benches whose place its readings tell
  std::vector<Cold> cold;               ///< sorted
  std::deque<Look> looks;               ///< sorted
  std::vector<Quarantined> quarantine;  ///< sorted
  std::vector<PumpState> pumps;         ///< as in the settings
  bool pumps_ready = false;             ///< since the start or a restore they have been looked at
  std::map<std::string, Answered> answered;  ///< by request id
  std::map<std::string, std::uint64_t> counters;
  Instant next_due{
      kNever};  ///< a lower bound of all but looks, which are many and have a queue of their own

  // advance.cpp
  void advance(Instant to, Outcome& out);
  /// Fires what is due at or before `now`.
  void fire_all(Outcome& out);
  void begin(Instant t, Outcome& out);
  void begin_cycle(climate::SolarDay day);
  /// Of all but looks.
  Instant earliest_due() const;
  void fire(Instant due, Outcome& out);
  void fire_one(Instant due, Outcome& out);
  void fire_look(Outcome& out);

  // pumps.cpp
  struct PumpShare {
    feeding::Feeding feeding = feeding::Feeding::full;
    int percent = 100;
    std::string limited_by;
    std::optional<feeding::Dose> dose;
  };
  /// What a pump may give now: the most careful share of its benches, as far as it can be dosed.
  PumpShare pump_share(std::size_t pump) const;
  std::optional<std::size_t> pump_of(std::size_t bench) const;
  /// First look at the pumps under these settings.
  void look_at_pumps(Outcome& out);
  /// Lets each pump's watch know what it may give from now on.
  void note_commands();
  TakenDose take_dose(const feeding::DoseReport& report, Outcome& out);
  Instant pump_due(std::size_t pump) const;
  void tell_silence(std::size_t pump, Outcome& out);
  /// The pump has reported something, whatever it was.
  void hear(std::size_t pump, Outcome& out);
  /// What it reports lies too far back to be judged.
  void tell_wrong_clock(std::size_t pump, Instant reported, Outcome& out);
  /// Plain water for all of its benches, or no longer.
  void forbid(std::size_t pump, bool forbidden, Outcome& out);
  bool forbidden(std::size_t pump) const;
  /// Once a day: benches that lose by sharing a pump.
  void count_days_behind(Instant t, Outcome& out);
  void tell_pump(Outcome& out, Instant t, std::size_t pump, std::string bench, feeding::Cause cause,
                 feeding::Evidence evidence, std::string text) const;
  feeding::Reply take_pump_request(const feeding::Request& request, Outcome& out);
  // waterings.cpp
  void water(std::size_t bench, std::optional<double> litres, double ec, Instant t);
  Instant dry_due(std::size_t bench) const;
  void tell_dry(std::size_t bench, Outcome& out);
  void advise_flush(std::size_t bench, Instant t, Outcome& out);
  feeding::Reply take_watered(const feeding::Request& request, std::size_t bench, Outcome& out);
  feeding::Reply take_runoff(const feeding::Request& request, std::size_t bench);
  // closing.cpp
  void close_cycle(Outcome& out);
  // revising.cpp
  void revise_last_night(std::size_t bench, Instant t, Outcome& out);
  // live.cpp
  Taken add(const Reading& reading);
  // position.cpp
  bool watches_moves(std::size_t bench) const;
  /// Where the bench stands, as far as it is known.
  Position position(std::size_t bench) const;
  /// Lets the reading be looked at once the reorder window has passed.
  void await_looks(const Reading& reading);
  void take_look(const Look& look, Outcome& out);
  /// Before the night reaches feeding: its climate, the end of shuttling, a place that nobody has
  /// seen for long.
  void close_position(std::size_t bench, const climate::BenchNight& air, Instant t, Outcome& out);
  /// Where it stood for most of the night that closes; stays of before are forgotten.
  Position take_night_position(std::size_t bench);
  feeding::Reply take_move_request(const feeding::Request& request, std::size_t bench,
                                   Outcome& out);
  void place_told_benches();
  void take_place(std::size_t bench, const season::PlaceChange& change, feeding::Evidence evidence,
                  const std::string& who, Outcome& out);
  season::Sighting sight(std::size_t bench, Instant t) const;
  Instant silence_due(std::size_t sensor) const;
  void judge_silence(std::size_t sensor, Instant due, Outcome& out);
  void judge_cold(const Cold& cold, Outcome& out);
  /// Bench air at `t` from trusted sensors: temperature and humidity, NaN when none speaks.
  struct LiveAir {
    double temperature_c, humidity_rh;
    Instant time;
  };
  LiveAir air(std::size_t bench, Instant t) const;

  bool on_bench(std::size_t bench, std::size_t sensor) const;
  /// The bench that a sensor's decisions belong to; empty for a reference.
  std::string bench_of(std::size_t sensor) const;
  /// Whether it stands on a bench or is a reference; a contact tells a place alone, and may have
  /// nothing to tell for months.
  bool tells_air(std::size_t sensor) const;
  double light_h(std::size_t bench, climate::SolarDay day);
  feeding::SeasonFacts season_facts(std::size_t bench);
  void tell_notice(Outcome& out, Instant t, std::size_t bench, feeding::Cause cause,
                   feeding::Evidence evidence, std::string text) const;
  void tell_sensor(Outcome& out, Instant t, std::size_t sensor, climate::Doubt was, int samples,
                   int bad);
};

}  // namespace plainwater::engine
