#include "engine/position_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace plainwater::engine {

feeding::Evidence look_evidence(const season::PlaceChange& change, const season::Sighting& sighting,
                                const season::PositionFilter& filter) {
  feeding::Evidence e;
  e.number("probability", change.probability, 4).text("last_known", name_of(change.from));
  e.number("bench_c", sighting.bench_c, 2);
  if (!std::isnan(sighting.outdoor_c))
    e.number("outdoors_c", sighting.outdoor_c, 2)
        .number("usual_offset_outdoors_c", filter.usual_outdoor_c(), 2);
  if (!std::isnan(sighting.indoor_c))
    e.number("indoors_c", sighting.indoor_c, 2)
        .number("usual_offset_indoors_c", filter.usual_indoor_c(), 2);
  return e;
}

std::string place_changed(const season::PlaceChange& change, Instant since, season::Pattern pattern,
                          const std::string& who) {
  const std::string hour = format_rfc3339(since).substr(11, 5);
  const std::string when = change.since == kNever
                               ? ""
                               : fmt::format(" {} about {} on {}", change.moved() ? "at" : "since",
                                             hour, format_day_month(since));
  if (change.to == Position::unknown)
    return fmt::format(
        "Where the bench is cannot be determined now; it was last {} ({:.0f} % likely still).",
        name_of(change.from), 100 * change.probability);
  const std::string by =
      change.told == season::Told::by_air
          ? fmt::format("by its air, {:.1f} % sure", std::min(99.9, 100 * change.probability))
          : "as " + who + " says";
  const std::string what = change.moved()
                               ? fmt::format("The bench was carried {}", name_of(change.to))
                               : fmt::format("The bench is {}", name_of(change.to));
  return fmt::format(
      "{}{} ({}){}.", what, when, by,
      pattern == season::Pattern::shuttling ? "; it goes in and out repeatedly" : "");
}

}  // namespace plainwater::engine
