#include "engine/position_phrases.h"

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

words::Sentence in_words(Position position) {
  switch (position) {
    case Position::outdoors: return words::say("place.outdoors");
    case Position::indoors: return words::say("place.indoors");
    case Position::unknown: return words::say("place.unknown");
  }
  return {};
}

words::Sentence place_changed(const season::PlaceChange& change, Instant since, Instant now,
                              season::Pattern pattern, const words::Sentence& says) {
  if (change.to == Position::unknown)
    return words::say("place.lost", {{"place", in_words(change.from)},
                                     {"percent", words::number(100 * change.probability, 0)}});
  words::Sentence what = change.moved()
                             ? words::say("place.carried", {{"place", in_words(change.to)}})
                             : words::say("place.is", {{"place", in_words(change.to)}});
  const words::Value hour = words::name(format_rfc3339(since).substr(11, 5)),
                     day = words::day(since, now);
  if (change.since != kNever)
    what = change.moved()
               ? words::say("place.at", {{"what", what}, {"hour", hour}, {"day", day}})
               : words::say("place.since",
                            {{"place", in_words(change.to)}, {"hour", hour}, {"day", day}});
  const words::Sentence by =
      change.told == season::Told::by_air
          ? words::say("place.by-air",
                       {{"percent", words::number(std::min(99.9, 100 * change.probability), 1)}})
          : says;
  return pattern == season::Pattern::shuttling
             ? words::say("place.changed-to-and-fro", {{"what", what}, {"by", by}})
             : words::say("place.changed", {{"what", what}, {"by", by}});
}

}  // namespace plainwater::engine
