// What a grower may ask for, as data. Parsing from JSON is the outlet's; this is what the engine
// takes.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "common/instant.h"
#include "common/position.h"
#include "words/render.h"

namespace plainwater::feeding {

enum class RequestKind : std::uint8_t {
  hold,  ///< plain water from `from` (default now) to `until` (default +28 d; monthly question when
         ///< left open)
  release,         ///< end the hold; `full` chooses full feed, else reduced
  extend,          ///< the hold in force lasts until `until`
  exempt,          ///< no detected hold until `until`
  growth_started,  ///< full feed again from now on
  acknowledge,     ///< a person has seen the bench's open question (`note` says which)
  arm,             ///< `pump` follows its order from now on
  disarm,          ///< `pump` goes back to advice
  move,     ///< the bench was carried `to` another place at `from` (default now); `hold` asks for
            ///< plain water outright
  watered,  ///< a person watered the bench by hand: `litres` at `strength_percent` (default 0), at
            ///< `from` (default now)
  runoff,   ///< what drained from the bench's pots was measured: `ec`, at `from` (default now)
  trust,    ///< `pump` disobeyed and has been looked after: its orders count again
  end_chill,  ///< end the plain water of a chill; until `until` cold air that is not deep is let
              ///< pass
};

/// The part of the engine that a request goes to. A pump takes its own; the others each are a
/// bench's.
enum class RequestTaker : std::uint8_t { feeding, position, watering, runoff, pump };

/// What there is to know of a kind: its word, who takes it, and which optional fields go with it;
/// id, who and note go with all.
struct RequestShape {
  RequestKind kind;
  const char* name;
  RequestTaker taker = RequestTaker::feeding;
  bool from = false;
  bool until = false, until_needed = false;
  bool full = false;
  bool to = false;      ///< with it, hold
  bool litres = false;  ///< with it, strength_percent
  bool ec = false;
  bool notice = false;          ///< instead of a bench
  bool to_plain_water = false;  ///< can only lead to less feed: obeyed by any clock

  bool pump() const { return taker == RequestTaker::pump; }  ///< instead of a bench
};

const RequestShape& shape_of(RequestKind kind);
const char* name_of(RequestKind kind);  ///< "hold", "growth-started" …
std::optional<RequestKind> request_kind(std::string_view name);

struct Request {
  std::string id;   ///< the asker's own; the same id again gets the same answer and changes nothing
  std::string who;  ///< who asked, as told by the asker; recorded
  RequestKind kind = RequestKind::acknowledge;
  std::string bench;
  std::string notice{};  ///< acknowledge only, instead of a bench: a notice's id
  std::string pump;      ///< arm, disarm and trust only
  std::optional<Instant> from;
  std::optional<Instant> until;
  std::optional<Position> to;              ///< move only
  bool hold = false;                       ///< move only
  std::optional<double> litres;            ///< watered only, L
  std::optional<double> strength_percent;  ///< watered only, 0..100
  std::optional<double> ec;                ///< runoff only, mS/cm at 25 °C
  bool full = false;
  std::string note;
  std::optional<Instant> sent;     ///< when it was asked, by the asker's clock
  std::optional<Instant> expires;  ///< not to be obeyed later
};

/// A digest of what is asked and by whom, over all but the id, `sent` and `expires`: equal requests
/// have equal digests, now and in later versions of this program.
std::uint64_t digest_of(const Request& request);

struct Reply {
  bool done = false;
  std::string problem;   ///< stable word when not done: "unknown-bench", "nothing-to-release",
                         ///< "until-in-the-past" …
  words::Sentence said;  ///< what was done, or why not
  /// In English.
  std::string text() const { return words::in_english(said); }
};
/// Refused until the clock is believed, with what to do about it.
Reply clock_unsettled();

}  // namespace plainwater::feeding
