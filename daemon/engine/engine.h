// The engine: a pure fold of inputs through climate, season and feeding. It has no clock, thread,
// file or socket; daemon, rehearsal and audit all run it.
//
//   State  = fold over inputs in the order in which they are taken
//   advance(a) then advance(b) gives the same state and decisions as advance(b), for a <= b
//
// Not thread-safe; the caller owns the order.
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "climate/night.h"
#include "common/clock_trust.h"
#include "common/instant.h"
#include "common/reading.h"
#include "common/result.h"
#include "engine/answers.h"
#include "feeding/announcements.h"
#include "feeding/decision.h"
#include "feeding/dose.h"
#include "feeding/dose_report.h"
#include "feeding/request.h"
#include "season/bench_season.h"
#include "settings/settings.h"

namespace plainwater::engine {

/// Raised with every change of a rule that could change a decision; journaled with the settings in
/// force.
inline constexpr int kRulesRevision = 8;

/// What became of a reading.
enum class Taken : std::uint8_t {
  used,         ///< new; counts for its night
  repeated,     ///< sensor, quantity, time and value are known already
  conflicting,  ///< the same with another value: the smaller one counts
  revised,  ///< belongs to the last closed night: corrects its figures, changes no past decision
  history,  ///< older than the last closed night: counted, not used
  future,   ///< more than 5 min after `now`: not used
};

/// One closed night of a bench, for the store and `rehearse --nights`.
struct NightRow {
  std::string bench;
  std::string night;  ///< the evening's date in the site's mean solar time, "2026-09-14"
  Instant sunset{}, sunrise{};
  double coverage = 0;  ///< 0..1
  bool counted = false;
  double mean_c = 0, minimum_c = 0;        ///< valid when coverage > 0
  double mean_rh = 0;                      ///< %RH; NaN when unknown
  double acclimated_c = 0, deficit_c = 0;  ///< NaN until known
  double metabolic_rate = 0;               ///< R(N)/R(A), 1 = as used to; NaN until known
  Position position = Position::unknown;   ///< where the bench stood for most of the night
  feeding::Feeding feeding = feeding::Feeding::full;
  int strength_percent = 0;
};

using feeding::TakenDose;

struct Outcome {
  std::vector<feeding::Decision> decisions;  ///< in the order of their times
  std::vector<NightRow> nights;
  bool empty() const { return decisions.empty() && nights.empty(); }
};

struct SensorNow {
  std::string name;
  bool trusted = true;
  std::string doubt;     ///< cause when not trusted: "stuck", "silent" …
  Instant last{kNever};  ///< time of its newest reading
  Instant doubted_since{kNever};
  std::string bench;  ///< the first bench that it stands on; empty: none
  /// Its newest values as they came, believed or not; NaN: none within an hour before `last`.
  double temperature_c = climate::kUnknown, humidity_rh = climate::kUnknown;
  Span usual{};  ///< between its readings; zero: not learnt yet
  /// Silent, and heard again since: trusted from then on if it goes on; kNever: it is silent.
  Instant trusted_from{kNever};
};

/// Where a bench stands, and how that is known.
struct PlaceNow {
  Position position = Position::unknown;
  Position last_known = Position::unknown;
  season::Pattern pattern = season::Pattern::settled;
  Moves moves = Moves::never;
  season::Told told = season::Told::by_air;
  double probability =
      1;  ///< of the last known place: 1 if declared or fixed; 0 while nothing is known
  Instant since{kNever};  ///< since when it has stood there, if known
  double outdoor_offset_c,
      indoor_offset_c;  ///< usual difference of its air from the references; NaN without them
};

/// A bench at the engine's time, for orders, placards, the climate topic and the page. NaN where
/// unknown.
struct BenchNow {
  std::string name;
  feeding::Feeding feeding = feeding::Feeding::full;
  int strength_percent = 0;  ///< percent of full; 0 at plain water
  feeding::Cause cause = feeding::Cause::none;
  words::Sentence because;  ///< the cause
  std::optional<feeding::HoldView> hold;
  Instant since{kNever};  ///< when feeding or strength last changed
  PlaceNow place;
  double temperature_c, humidity_rh, vpd_kpa, dew_point_c, absolute_humidity_gm3;
  Instant air_time{kNever};
  std::string night;  ///< last closed night's date, empty before the first
  double night_mean_c, night_minimum_c, night_coverage;
  double day_mean_c, day_maximum_c, dif_c;
  double acclimated_c, deficit_c, metabolic_rate;
  int counted_nights = 0;
  bool learning = false, blind = false;
  Instant chilled_until{
      kNever};  ///< plain water until then, whatever else applies; kNever: not chilled
  bool chilled_outdoors = false;  ///< all of that cold was outdoors: no question to the heating
  double plain_water_days_in_year = 0;  ///< detected holds only
  double salts_ec, salts_doubt_ec;  ///< EC of the pots, mS/cm at 25 °C, and its standard deviation
  double flush_l = 0;               ///< advised now, L; 0: none
  Instant watered{kNever};          ///< last reported, by a pump or a person
  Instant dry_since{
      kNever};  ///< the days without water count from here; reset each time people are told
  std::vector<feeding::Question> questions;     ///< open, to the grower
  std::vector<feeding::Announced> announced{};  ///< holds to come, soonest first
  std::size_t holds_asked = 0;   ///< in force beside each other, as people asked for them
  Instant exempt_until{kNever};  ///< no detected hold until then, as a person asked; kNever: none
  Instant cold_passes_until{
      kNever};  ///< cold that is not deep stops no feed until then; kNever: it does
  std::vector<SensorNow> sensors;
};

struct PumpNow {
  std::string name;
  bool armed = false;
  std::vector<std::string> benches;
  feeding::Feeding feeding = feeding::Feeding::plain_water;  ///< of its most careful bench; plain
                                                             ///< water if it cannot give the dose
  int strength_percent = 0;
  std::string limited_by{};             ///< the bench by which others get less; empty: none does
  std::map<std::string, int> behind{};  ///< by bench: days on which it got less than it might have
  bool trusted = true;
  bool silent = false;
  Instant last_report{kNever};
  std::optional<feeding::Dose> dose{};  ///< none without a recipe
};
/// The absence of whoever keeps the house, announced or in force.
struct AbsenceNow {
  Instant from{}, until{};
  std::string person;         ///< who looks after the house
  std::string who;            ///< who asked, and is away
  bool in_force = false;      ///< it has begun
  bool person_known = false;  ///< `person` is one of the settings' people
  std::size_t waiting = 0;    ///< questions and pumps that came up meanwhile and wait for a person
  words::Sentence so_far{};   ///< what came up meanwhile; empty before it has begun
  std::string id{};           ///< of the request that asked for it

  bool operator==(const AbsenceNow&) const = default;
};
/// The pump that feeds this bench; null if it is fed by hand.
const PumpNow* pump_of(const std::vector<PumpNow>& pumps, std::string_view bench);

class Engine {
 public:
  struct State;  ///< for the engine's own files only
  explicit Engine(std::shared_ptr<const Settings> settings);
  Engine(Engine&&) noexcept;
  Engine& operator=(Engine&&) noexcept;
  ~Engine();
  /// The same state once more, for a dry run. Takes as long as its readings are many: about a day
  /// of them a sensor.
  Engine copy() const;

  /// Fires all that is due up to and including `to`; does nothing if `to` is before engine time.
  void advance(Instant to, Outcome& out);
  /// The same for a time in which nobody listened, between imported history and the present: nights
  /// without readings end in plain water, and never, for their number, in weak feed again.
  void pass_unheard(Instant to, Outcome& out);
  /// Advances to `now`, then takes the reading.
  Taken take(const Reading& reading, Instant now, Outcome& out);
  /// Advances to `now`, then answers. A request with an id seen in the last 400 days gets the first
  /// reply again, or is refused if it asks for something else.
  feeding::Reply take(const feeding::Request& request, Instant now, Outcome& out);
  /// The refusal of a request by its `sent` and `expires`; none if it may be taken at `now`. A
  /// request answered before may always come again, and while the clock is not believed no time
  /// refuses one.
  std::optional<feeding::Reply> refused_by_times(const feeding::Request& request,
                                                 Instant now) const;
  /// What `take` would answer to a request whose id was answered before; none: its id is not known.
  std::optional<feeding::Reply> known_answer(const feeding::Request& request) const;
  bool knows_answer(const feeding::Request& request) const {
    return known_answer(request).has_value();
  }
  /// Whether this request's id may have been answered and the answer forgotten. The store then
  /// knows.
  bool may_have_answered(const feeding::Request& request) const;
  /// The requests that were done since then, by id.
  std::vector<Obeyed> obeyed_since(Instant since) const;
  /// Advances to `now`, then compares the report with the orders of its time. A report from the
  /// future counts as now.
  TakenDose take(const feeding::DoseReport& report, Instant now, Outcome& out);
  /// Sets how far the clock is believed. While it is not settled, time follows the caller, and
  /// holds and chills are placed, but nothing is released: no end, no withdrawal, no rise. These
  /// wait until the clock settles. While it is unbelieved, every bench also gets plain water, until
  /// it settles: becoming merely doubted does not end that.
  void settle_clock(ClockTrust trust, Instant now, Outcome& out);
  /// The clock was ahead: time goes back by `by` (above 0), to `to`. All past and due times move
  /// with it, so that holds keep their remaining days and the step itself ends, fires or raises
  /// nothing.
  void set_back(Span by, Instant to, Outcome& out);

  Instant now() const;
  std::vector<BenchNow> benches() const;  ///< in the settings' order
  BenchNow bench(std::size_t index) const;
  std::vector<PumpNow> pumps() const;
  PumpNow pump(std::size_t index) const;
  std::vector<SensorNow> sensors() const;  ///< references and contacts too
  /// None: nobody is away, and no absence is announced.
  std::optional<AbsenceNow> absence() const;
  /// Benches that left the settings and that nobody has retired, by name.
  std::vector<std::string> gone() const;
  /// Inputs not used since the state began, by Taken.
  const std::map<std::string, std::uint64_t>& counters() const;

  /// Versioned bytes; equal states give equal bytes.
  std::string snapshot() const;
  /// Whether the bytes come from a version of this program too old to restore: the state can then
  /// only be folded again from the journal.
  static bool of_former_version(std::string_view bytes);
  /// Whether a newer version wrote the bytes; its state is never guessed at.
  static bool of_later_version(std::string_view bytes);
  /// The state under `settings`: benches, sensors and pumps are matched by name; unknown ones are
  /// dropped, new ones start afresh.
  static Result<Engine> restore(std::shared_ptr<const Settings> settings, std::string_view bytes);

 private:
  std::unique_ptr<State> state_;
};

}  // namespace plainwater::engine
