// The moment that a typed time means, by the clocks of the site.
#pragma once

#include <string>
#include <string_view>

#include "common/instant.h"
#include "common/result.h"
#include "outlet/local_time.h"

namespace plainwater::asking {

/// Which of the moments that a time of day, or a date without a year, can mean.
enum class Sense {
  past,    ///< the last one: something has happened then
  coming,  ///< the next one
};

struct When {
  Instant at{};
  bool exact = false;  ///< typed with its offset from UTC, and taken as it is
  std::string said{};  ///< "Mon 12 Oct 2026 18:30", by the site's clocks
  std::string note{};  ///< where the clocks change; else empty
};

/// `text` as typed, at `now`. A date alone begins at its midnight. An RFC 3339 time is taken as it
/// is. Others must lie within a year of now, on the side that `sense` says: the error for a wrong
/// year names the right one. Of a time that the clocks show twice the first is taken, the second
/// where that alone is still to come; of one that they skip, the moment of the change.
Result<When> read_when(std::string_view text, Instant now, const outlet::LocalTime& zone,
                       Sense sense);

/// "Mon 12 Oct 2026 18:30"
std::string say_moment(Instant t, const outlet::LocalTime& zone);

}  // namespace plainwater::asking
