// The grower's settings after validation. Each key's meaning, unit, range and default are in
// `keys.cpp`; that one table also prints the key reference and the annotated sample.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "common/position.h"
#include "common/reading.h"
#include "settings/board.h"
#include "settings/csv_form.h"
#include "words/render.h"

namespace plainwater {

enum class Group : std::uint8_t { cool, intermediate, warm };
enum class Unit : std::uint8_t { celsius, fahrenheit, kelvin };
enum class PayloadForm : std::uint8_t { number, json, senml };
enum class Reports : std::uint8_t { regularly, on_change };
enum class Durability : std::uint8_t { power, process };
enum class ClockMode : std::uint8_t { wall, readings };
/// How a bench's place may change: never, only when a person or a contact reports it, or also by
/// its air.
enum class Moves : std::uint8_t { never, declared, watched };
/// How quickly the position filter accepts a move.
enum class MovePreset : std::uint8_t { quiet, balanced, fast };
/// What follows when a move changes the climate.
enum class MoveAnswer : std::uint8_t { hold, reduced, none };

/// How much salt the bench's plants tolerate.
enum class SaltTolerance : std::uint8_t { low, usual, high };
enum class EcUnit : std::uint8_t { ms_per_cm, us_per_cm };
/// The meaning of a pump's plain number.
enum class DoseField : std::uint8_t { litres, litres_total, feed, feed_total, strength, ec };

/// The site's offset from UTC, from an instant on.
struct ZoneOffset {
  Instant from{};
  std::int32_t seconds = 0;
};

struct Site {
  std::string name = "greenhouse";   ///< one MQTT topic level
  double latitude_deg = 0;           ///< north positive
  double longitude_deg = 0;          ///< east positive
  std::string time_zone = "UTC";     ///< IANA name; only for times that people read
  std::vector<ZoneOffset> offsets;   ///< of the time zone, 1970 to 2100, in order; empty: UTC
  std::string outdoor_reference;     ///< sensor name, may be empty
  std::string indoor_reference;      ///< sensor name, may be empty
  std::vector<std::string> retired;  ///< former benches that are gone for good

  /// The site's local time at `t`, for dates in sentences; decides nothing.
  Instant local(Instant t) const;
};

struct Broker {
  std::string
      url;  ///< mqtt://host:port or mqtts://host:port; empty: no live service, rehearsal only
  std::string user;
  std::string password_file;          ///< first line is the password
  std::string password_environment;   ///< name of the variable that holds the password
  std::string certificate_authority;  ///< PEM file, for mqtts
  std::string client_certificate;     ///< PEM file
  std::string client_key;             ///< PEM file
  std::string instance = "main";      ///< names this daemon in client ids and service/<instance>
  std::string root = "plainwater";    ///< first topic level of all that we publish
  std::vector<std::string> reply_topics;  ///< filters of allowed reply topics, besides ours
  int session_expiry_s = 604800;          ///< how long the broker keeps our session
  int keep_alive_s = 30;
  int longest_backoff_s = 60;
};

struct Storage {
  std::string path = "plainwater.db";
  Durability durability = Durability::power;
  int raw_days = 400;
};

struct Clock {
  ClockMode time = ClockMode::wall;
  bool trust_machine =
      false;  ///< the grower vouches for the wall clock of a machine without a visible time service
};

/// How notices are sent; times of day are local to the site.
struct Notices {
  std::string quiet =
      "22:00-07:00";             ///< from-to; only urgent notices go out then; empty: no such hours
  std::string digest = "07:30";  ///< when the gathered info notices are sent; empty: one by one
  int urgent_again_s = 3600;  ///< until the first repeat of a lasting notice; each further repeat
                              ///< takes twice as long
  int soon_again_s = 86400;
  int longest_again_s = 7 * 86400;
  int gap_s = 600;  ///< a broker that was away for longer is reported
};

/// The size of a display board beside a bench.
struct Placards {
  int width = 20;  ///< characters a line
  int lines = 2;
  bool ascii = true;  ///< false: also signs such as °
};

/// The metrics port.
struct Metrics {
  std::string listen;  ///< address:port; empty: nowhere
  std::string user = "metrics";
  std::string password_file;  ///< its first line is the password; empty: none is required
};

/// One sensor, or a family when the topic has a wildcard: then the name has `{1}`, `{2}` … for the
/// topic levels that the wildcards match.
struct SensorMapping {
  std::string name;
  std::string topic;  ///< empty: known by name only (rehearsal)
  PayloadForm form = PayloadForm::number;
  Quantity quantity = Quantity::temperature;  ///< of a plain number
  std::string temperature;                    ///< JSON Pointer, or SenML name; empty: none
  std::string humidity;                       ///< JSON Pointer, or SenML name; empty: none
  std::string place;                          ///< JSON Pointer to a contact's word; empty: none
  std::string outdoors_word = "outdoors";     ///< a contact's word for outdoors
  std::string indoors_word = "indoors";
  std::string
      time;  ///< JSON Pointer of the reading's own time (RFC 3339 text, or seconds since 1970)
  Unit unit = Unit::celsius;
  double offset_c = 0;         ///< added after conversion and scale
  double scale = 1;            ///< multiplied after conversion
  double humidity_scale = 1;   ///< multiplied, before the offset
  double humidity_offset = 0;  ///< %RH, added
  Reports reports = Reports::regularly;
  std::vector<std::string> was{};  ///< former names; its record goes on under the new one
  int line = 0;                    ///< in the settings file, for messages
};

/// A sensor as the engine knows it; `SensorId` is the index in `Settings::sensors`. Sorted by name.
struct Sensor {
  std::string name;
  Reports reports = Reports::regularly;
  std::vector<std::string> was{};
};

struct Bench {
  std::string name;
  Group group = Group::intermediate;
  std::vector<SensorId> sensors;         ///< at least one
  double lamps_h = 0;                    ///< 0: daylight only; else replaces the day's length
  std::optional<double> summer_night_c;  ///< the usual summer night, for the first season
  bool nights_have_fallen = false;       ///< stated by the grower for the first autumn
  std::optional<double> group_night_c;   ///< overrides the group's lower night
  std::optional<double> chill_floor_c;   ///< overrides the group's chill floor
  bool exempt = false;                   ///< never held by detection
  Moves moves = Moves::never;
  Position place = Position::indoors;  ///< a bench that never moves is there; one that moves is
                                       ///< assumed there until it is known
  std::optional<SensorId> contact;     ///< a sensor that reports the place
  int pots = 0;                        ///< 0: no salt balance
  double pot_l = 0;                    ///< volume of one pot, L
  double held_share = 0.3;             ///< of a pot's volume that is water after draining, 0..1
  double leaching = 0.5;  ///< share of the water given that drains, 0..1 (leaching fraction)
  SaltTolerance salt_tolerance = SaltTolerance::usual;
  std::optional<double> alarm_ec;    ///< mS/cm of feed or pot; overrides the tolerance's
  std::optional<double> refusal_ec;  ///< mS/cm of feed; overrides the tolerance's
  std::optional<double>
      watering_days;  ///< a notice when no watering was reported for this long; none: not watched
  std::vector<std::string> was{};  ///< former names; what was known of those benches goes on here
};

/// A water source, or a blend of two. EC in mS/cm at 25 °C.
struct Water {
  std::string name;
  std::optional<double> ec;        ///< of a source
  std::vector<std::string> blend;  ///< names of two sources; empty: a source
  double share = 0.5;              ///< of the first one in the blend, 0..1
};

/// What is mixed into the water for feed at full strength.
struct Recipe {
  std::string name;
  std::string label;                     ///< N-P-K in percent by mass, "15-5-15"
  double nitrogen_percent = 0;           ///< the label's first number
  std::optional<double> stock_g_per_l;   ///< fertilizer in a stock mixed from it
  std::optional<double> density;         ///< kg/L of a ready liquid
  std::optional<double> injector_ratio;  ///< at full strength, 100 for 1:100
  std::optional<double>
      ml_per_litre;            ///< stock per litre at full strength; another way to give the ratio
  double ec_per_100ppm_n = 0;  ///< mS/cm that 100 ppm N add, from the label
  std::optional<double> target_ppm_n;  ///< at full strength, mg/L
  std::optional<double> target_ec;     ///< at full strength, including the water's own, mS/cm
};

struct Pump {
  std::string name;
  std::vector<std::string> benches;  ///< at least one
  std::string recipe{};              ///< empty: orders give only the strength
  std::string water{};               ///< which it mixes into; empty without a recipe
  double least_ml_per_litre = 0;     ///< the least that it can dose
  std::optional<double> most_ml_per_litre{};
  double step_ml_per_litre = 0;  ///< 0: any
  double line_l =
      0;  ///< volume of the line between pump and pots, which holds the previous strength, L
  double ec_tolerance = 0.15;          ///< mS/cm, at least 0.1
  double strength_tolerance = 10;      ///< points of percent
  double feed_tolerance_percent = 15;  ///< of the mL of stock
  double grace_min =
      10;  ///< minutes after a change during which the previous order may still be followed
  std::optional<double> daily_l{};        ///< warn above this much water a day, L
  std::optional<double> daily_feed_ml{};  ///< warn above this much stock a day, mL
  std::optional<double> silent_h{};  ///< hours without a report until the pump counts as silent
  int untrusted_after = 3;           ///< disobedient reports within 14 days
  std::vector<std::string> was{};    ///< former names; whether it is armed and trusted goes on

  bool feeds(std::string_view bench) const;
};

/// Where a pump's reports come from in a format of its own;
/// `plainwater/<site>/benches/<bench>/dosed` needs no entry.
struct PumpReport {
  std::string name;
  std::string pump;
  std::string bench;  ///< empty: all benches of the pump
  std::string topic;
  PayloadForm form = PayloadForm::json;
  DoseField value = DoseField::litres_total;  ///< of a plain number
  // JSON Pointers or SenML names; empty: not in the report.
  std::string litres, litres_total, feed, feed_total, strength, ec, water_temperature, runoff_ec,
      time;
  double litres_scale = 1;  ///< L per unit, for pulse counters
  double feed_scale = 1;    ///< mL per unit
  EcUnit ec_unit = EcUnit::ms_per_cm;
  bool ec_compensated = true;  ///< false: as measured at the water's temperature
  Unit unit = Unit::celsius;   ///< of the water's temperature
  int line = 0;                ///< in the settings file, for messages
};

/// Detection of sharp drops; `detection` in the file. Temperatures in °C, spans in nights unless
/// named.
struct DropRules {
  bool watch = true;
  double fall_c = 3.5;          ///< base - med5
  double noise_factor = 1.5;    ///< times the base's scaled MAD
  double sharpness_c = 3.5;     ///< prev - med5
  double mean_deficit_c = 2.5;  ///< mean of the last 3 deficits
  double deficit_c = 1.75;      ///< tonight's deficit
  double confirm_share = 0.5;   ///< share of the first deficit that must last
  int decide_night = 10;
  int latest_decide_night = 16;
  int kept_base_nights = 30;
  double acclimation_days = 14;  ///< time constant
  double shortest_days = 28;
  double longest_days = 42;
  bool season_gate = true;
  bool comfort_guard = true;
  double guard_margin_c = 1.0;
  double gate_passing_fall_c = 6.0;
  double severe_fall_c = 8.0;
  double longest_plain_water_days = 63;
  double rest_after_cap_days = 21;
  double yearly_plain_water_days = 120;
  double chill_degree_hours = 6;   ///< °C·h under the floor that are answered
  double chill_deep_c = 3;         ///< under the floor: answered at once
  double chill_deepest_c = 5;      ///< under the floor: plain water for the longest time
  double chill_shortest_days = 1;  ///< of plain water after a chill
  double chill_days = 3;           ///< the longest
};

/// Moves between outdoors and indoors; `moves` in the file. Temperatures in °C.
struct MoveRules {
  bool watch = true;  ///< false: positions are not inferred from the air
  MovePreset preset = MovePreset::balanced;
  std::optional<double> sure;  ///< probability that two consecutive checks need to confirm a move;
                               ///< blank: the preset's
  std::optional<double> at_once;   ///< probability at which one check is enough
  double lag_min = 20;             ///< minutes: how slowly sensor and pots follow the air
  double indoor_level_c = 20;      ///< indoors, without an indoor reference
  double outdoor_level_c = 10;     ///< outdoors, without an outdoor reference, until it is learnt
  double undecided_h = 24;         ///< hours without a reading after which the position is unknown
  double change_c = 3;             ///< change of a night or day mean that counts as another climate
  double bright_day_change_c = 5;  ///< fall of the days' mean that counts while days lengthen
  int judged_nights = 3;           ///< nights after a move until its climate is judged
  int shuttle_days = 2;            ///< this many out-and-back days
  int shuttle_within_days = 4;     ///< within this many days are shuttling
  int settled_days = 4;            ///< this long in one place ends shuttling
  MoveAnswer moved_outdoors = MoveAnswer::hold;
  MoveAnswer moved_indoors = MoveAnswer::hold;
  MoveAnswer warmer = MoveAnswer::reduced;  ///< where nights and days got warmer
  double reduced_days = 14;
  bool relief_ends_hold = false;
};

/// Feeding; `feeding` in the file. Strength in percent of full.
struct FeedingRules {
  int weakest_percent = 25;
  int strongest_reduced_percent = 50;
  int step_percent = 5;
  int after_hold_percent = 25;
  double after_hold_days = 7;
  int ramp_percent_per_week = 25;
  double dull_day_h = 10.5;
  double bright_day_h = 12.0;
  int warm_nights = 7;  ///< counted nights at or above the group's number needed for full feed
  int blind_reduced_nights = 2;
  int blind_plain_nights = 7;
  int order_valid_s = 26 * 3600;
  int reissue_s = 3600;
};

struct SensorRules {
  double lowest_c = -30;
  double highest_c = 60;
  double stuck_h = 12;
  double stuck_reference_c = 2.0;
  double silent_intervals = 3;
  double silent_min = 15;  ///< minutes
  double drift_c = 2.0;
  double trusted_after_h = 1;
  double covered_gap_min = 45;  ///< minutes, shortest gap limit for coverage
  double night_coverage = 0.5;
};

struct Settings {
  Site site;
  Broker broker;
  Storage store;
  Clock clock;
  Board board;
  Notices notices;
  Placards placards;
  Metrics metrics;
  CsvForm csv;  ///< of people's files of readings
  DropRules drops;
  MoveRules moves;
  FeedingRules feeding;
  SensorRules watch;
  std::vector<SensorMapping> mappings;   ///< in file order
  std::vector<Sensor> sensors;           ///< sorted by name
  std::vector<Bench> benches;            ///< sorted by name
  std::vector<Water> waters;             ///< sorted by name
  std::vector<Recipe> recipes;           ///< sorted by name
  std::vector<Pump> pumps;               ///< sorted by name
  std::vector<PumpReport> pump_reports;  ///< in file order
  std::vector<Person> people;            ///< sorted by name
  std::string text;                      ///< the file as read, journaled as the settings in force

  /// The sensor of this name, or none.
  std::optional<SensorId> sensor(std::string_view name) const;
  /// The index of the bench of this name, or none.
  std::optional<std::size_t> bench(std::string_view name) const;
  /// The index of the pump of this name, or none.
  std::optional<std::size_t> pump(std::string_view name) const;
  /// Who goes on for what was called so under other settings: that of this name, else those that
  /// say they were it. Several benches may (a split), of sensors and pumps one.
  std::vector<std::size_t> heirs_of_bench(std::string_view former) const;
  std::optional<SensorId> heir_of_sensor(std::string_view former) const;
  std::optional<std::size_t> heir_of_pump(std::string_view former) const;
  /// The pump that feeds this bench; null when it is fed by hand.
  const Pump* pump_of(std::string_view bench) const;
  /// Null when there is no recipe, or water, of this name.
  const Recipe* recipe(std::string_view name) const;
  const Water* water(std::string_view name) const;
};

/// True when the payload carries a contact's word.
bool tells_place(const SensorMapping& mapping);
/// True when it carries a temperature or a humidity.
bool tells_air(const SensorMapping& mapping);
/// °C: lower bound of the group's night range (plant notes: cool 10, intermediate 13, warm 18).
double group_night_c(const Bench& bench);
/// °C: one night minimum below it is a warning (cool 5, intermediate 10, warm 13).
double chill_floor_c(const Bench& bench);
/// °C: middle of the group's night range, the growing-season night until it is known
/// (11.5, 15.5, 19.5).
double group_middle_c(Group group);
/// mS/cm of feed: above it a warning (by salt tolerance: low 0.8, usual 1.2, high 1.6).
double alarm_ec(const Bench& bench);
/// mS/cm of feed: above it none is ordered (by salt tolerance: low 1.0, usual 1.5, high 2.1).
double refusal_ec(const Bench& bench);
const char* name_of(Group group);

}  // namespace plainwater
