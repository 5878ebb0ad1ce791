// What a grower may ask for, as the engine takes it. The outlet parses it from JSON.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "common/instant.h"
#include "common/position.h"
#include "feeding/request_kind.h"
#include "words/render.h"

namespace plainwater::feeding {

struct Request {
  std::string
      id;  ///< the asker's choice; the same id again gets the same answer and changes nothing
  std::string who;  ///< who asked, by their own account or as the pages know them; recorded
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
  std::string hold_id{};  ///< release, withdraw, back: the id of the request that asked for that
                          ///< hold or absence
  std::string instead{};  ///< hold only: the id of the request that announced the one it replaces
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
