#include "outlet/position.h"

#include "common/json_text.h"

namespace plainwater::outlet {
namespace {

const char* said_by(const engine::PlaceNow& place) {
  if (place.moves == Moves::never || place.told == season::Told::by_settings) return "settings";
  if (place.told == season::Told::by_contact) return "contact";
  return place.told == season::Told::by_person ? "person" : "air";
}

}  // namespace

std::string position_json(const engine::BenchNow& bench, Instant now) {
  const engine::PlaceNow& place = bench.place;
  return JsonObject()
      .text("bench", bench.name)
      .text("time", format_rfc3339(now))
      .text("position", name_of(place.position))
      .text("last_known", name_of(place.last_known))
      .number("probability", place.probability, 2)
      .text("pattern", season::name_of(place.pattern))
      .text("said_by", said_by(place))
      .raw("since", place.since == kNever ? "null" : json_string(format_rfc3339(place.since)))
      .number("usual_offset_outdoors_c", place.outdoor_offset_c, 2)
      .number("usual_offset_indoors_c", place.indoor_offset_c, 2)
      .str();
}

}  // namespace plainwater::outlet
