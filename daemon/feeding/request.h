// What a grower may ask for, as the engine takes it. The outlet parses it from JSON.
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
  extend,          ///< prolong the hold in force to `until`
  exempt,          ///< no detected hold until `until`
  growth_started,  ///< back to full feed from now on
  acknowledge,     ///< a person has seen the bench's open question (`note` says which)
  arm,             ///< `pump` follows its orders from now on
  disarm,          ///< `pump` goes back to advice
  move,  ///< the bench was carried `to` another place at `from` (default now); `hold` also asks for
         ///< plain water
  watered,  ///< a person watered the bench by hand: `litres` at `strength_percent` (default 0), at
            ///< `from` (default now)
  runoff,   ///< the EC of the bench's runoff was measured: `ec`, at `from` (default now)
  trust,    ///< `pump` disobeyed and has been looked after: trust it again
  end_chill,  ///< end the plain water of a chill; cold air that is not deep is let pass until
              ///< `until`
  retire,     ///< `bench` left the settings for good: what was known of it goes
  reload,     ///< the service reads its settings file again
  note,       ///< a line for the ledger, of `bench` or of the house
  withdraw,   ///< an announced hold will not be
  absence,    ///< who keeps the house is away from `from` (default now) until `until`, and `person`
              ///< looks after it
  back,       ///< that absence ends now, or an announced one is withdrawn
};

/// Who takes a request: a part of the engine or, of `service`, the service around it. `pump`
/// requests name a pump, those of `service` and `absence` nothing, the others a bench; those of
/// `house` one that is not in the settings.
enum class RequestTaker : std::uint8_t {
  feeding,
  position,
  watering,
  runoff,
  pump,
  house,
  service,
  absence
};

/// What defines a kind: its name, who takes it, and which optional fields it allows; all allow id,
/// who and note.
struct RequestShape {
  RequestKind kind;
  const char* name;
  RequestTaker taker = RequestTaker::feeding;
  bool from = false;
  bool until = false, until_needed = false;
  bool full = false;
  bool to = false;      ///< and with it `hold`
  bool litres = false;  ///< and with it `strength_percent`
  bool ec = false;
  bool notice = false;          ///< instead of a bench
  bool person = false;          ///< needed
  bool to_plain_water = false;  ///< can only lead to less feed: obeyed whatever the clock is worth

  bool pump() const { return taker == RequestTaker::pump; }  ///< it names a pump
  bool bench() const {                                       ///< it names a bench
    return !pump() && taker != RequestTaker::service && taker != RequestTaker::absence;
  }
};

const RequestShape& shape_of(RequestKind kind);
const char* name_of(RequestKind kind);  ///< "hold", "growth-started" …
std::optional<RequestKind> request_kind(std::string_view name);

struct Request {
  std::string
      id;  ///< the asker's choice; the same id again gets the same answer and changes nothing
  std::string who;  ///< who asked, by their own account; recorded
  RequestKind kind = RequestKind::acknowledge;
  std::string bench;
  std::string notice{};  ///< acknowledge only, instead of a bench: a notice's id
  std::string pump;      ///< arm, disarm and trust only
  std::string person{};  ///< absence only: who of the settings' people looks after the house
  std::optional<Instant> from;
  std::optional<Instant> until;
  std::optional<Position> to;              ///< move only
  bool hold = false;                       ///< move only
  std::optional<double> litres;            ///< watered only, L
  std::optional<double> strength_percent;  ///< watered only, 0..100
  std::optional<double> ec;                ///< runoff only, mS/cm at 25 °C
  bool full = false;
  std::string note;
  std::optional<Instant> sent;     ///< by the asker's clock
  std::optional<Instant> expires;  ///< not to be obeyed after this
};

/// A digest of what is asked and by whom, over all but the id, `sent` and `expires`: equal requests
/// have equal digests, now and in later versions of this program.
std::uint64_t digest_of(const Request& request);

struct Reply {
  bool done = false;
  std::string problem;   ///< stable word if not done: "unknown-bench", "nothing-to-release",
                         ///< "until-in-the-past" …
  words::Sentence said;  ///< what was done, or why nothing was
  /// In English.
  std::string text() const { return words::in_english(said); }
};
/// The refusal until the clock is believed; says what to do about it.
Reply clock_unsettled();
/// The same of a request for plain water, in a store that has never had a time: it cannot be dated,
/// and nothing is fed meanwhile.
Reply clock_never_believed();

}  // namespace plainwater::feeding
