// What the engine decided, with its evidence: one row of the ledger, one line of a rehearsal.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "common/instant.h"
#include "common/position.h"
#include "season/move_watch.h"
#include "words/render.h"

namespace plainwater::feeding {

enum class DecisionKind : std::uint8_t {
  hold_placed,
  hold_confirmed,
  hold_withdrawn,
  hold_extended,
  hold_ended,
  feeding_changed,
  position_changed,
  sensor_doubted,
  sensor_trusted,
  night_blind,
  notice,
};
enum class Cause : std::uint8_t {
  none,
  sharp_drop,
  chill,
  blind,
  grower,
  announced,
  after_hold,
  cool_nights,
  dull_season,
  bright_season,
  growth_started,
  learning,
  exempt,
  cap,
  yearly_budget,
  silent,
  stuck,
  spiking,
  drifting,
  out_of_range,
  wet,
  good_values,
  clock,
  ramp,
  moved_indoors,
  moved_outdoors,
  shuttling,
  after_move,
  fed_in_plain_water,
  fed_against_advice,
  over_strength,
  under_strength,
  daily_cap,
  pump_untrusted,
  pump_trusted,
  pump_silent,
  pump_reports,
  no_watering,
  shared_pump,
  salts_up,
  recipe_changed,
  pump_clock,
  fed_by_hand,
  not_heard,
  dip,
  renamed,
  bench_gone,
  bench_retired,
  benches_changed,
  absence,
  back,
};
enum class Feeding : std::uint8_t { plain_water, reduced, full };

const char* name_of(DecisionKind kind);  ///< "hold-placed" …
const char* name_of(Cause cause);        ///< "sharp-drop" …; `none` is ""
const char* name_of(Feeding feeding);    ///< "plain-water", "reduced", "full"
/// The cause of a move to that place.
constexpr Cause cause_of(Position to) {
  return to == Position::outdoors ? Cause::moved_outdoors : Cause::moved_indoors;
}
/// Whether the cause is a move or shuttling.
constexpr bool is_move(Cause cause) {
  return cause == Cause::moved_indoors || cause == Cause::moved_outdoors ||
         cause == Cause::shuttling;
}
std::optional<DecisionKind> decision_kind(std::string_view name);
std::optional<Cause> cause(std::string_view name);
std::optional<Feeding> feeding(std::string_view name);

/// A hold as people and pumps see it.
struct HoldView {
  std::uint32_t id = 0;  ///< counts up per bench, from 1
  Cause cause =
      Cause::none;  ///< of what lasts longest: its end is a date that a person set, or not
  bool provisional = false;
  Instant placed{};
  Instant earliest_end{};
  Instant planned_end{};
  Instant latest_end{};
  Instant judged_from{};  ///< from when nights are counted until they prove it
};

/// What a person is asked about a bench, until it is acknowledged.
struct Question {
  std::string cause;  ///< as `name_of` writes it; one question per cause
  words::Sentence said;
  std::string text() const { return words::in_english(said); }
};

/// Named figures, in the order in which a reader wants them; numbers are already fixed decimals.
class Evidence {
 public:
  Evidence& number(std::string_view key, double value, int decimals);
  Evidence& count(std::string_view key, std::int64_t value);
  Evidence& text(std::string_view key, std::string_view value);
  Evidence& time(std::string_view key, Instant value);
  /// A JSON object.
  std::string json() const;
  /// The value that `text` got for this key; empty if none.
  std::string text_of(std::string_view key) const;
  bool empty() const { return fields_.empty(); }

 private:
  std::vector<std::pair<std::string, std::string>> fields_;  ///< key, JSON value
  std::vector<std::pair<std::string, std::string>> texts_;   ///< key, text as it was given
};

struct Decision {
  Instant time{};     ///< when it fell due, not when that was noticed
  std::string bench;  ///< empty for a reference sensor
  DecisionKind kind = DecisionKind::notice;
  Cause cause = Cause::none;
  Feeding feeding = Feeding::full;  ///< of the bench after the decision
  int strength_percent = 0;         ///< of the bench after the decision
  std::optional<HoldView> hold;
  std::optional<Position> position;                    ///< on position-changed only
  season::Pattern pattern = season::Pattern::settled;  ///< goes with the position
  bool passing =
      false;  ///< a move while shuttling, or a doubt of the place: kept beside the ledger
  std::optional<Instant> since;  ///< when it really happened, if that differs from `time`
  Evidence evidence;
  words::Sentence said;  ///< for a grower
  /// In English, °C.
  std::string text() const { return words::in_english(said); }
};

/// One JSON object without a line end; keys in the order of the rehearsal format.
std::string to_json(const Decision& decision);

}  // namespace plainwater::feeding
