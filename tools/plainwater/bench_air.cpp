#include "plainwater/bench_air.h"

#include <vector>

#include "plainwater/bench_table.h"

namespace plainwater::tool {
namespace {

using words::say;

words::Sentence doubt_word(const std::string& doubt) {
  if (doubt == "out-of-range") return say("doubt.out-of-range");
  if (doubt == "spiking") return say("doubt.spiking");
  if (doubt == "stuck") return say("doubt.stuck");
  if (doubt == "drifting") return say("doubt.drifting");
  if (doubt == "silent") return say("doubt.silent");
  if (doubt == "wet") return say("show.doubt-wet");
  return doubt == "clock" ? say("show.doubt-clock") : words::as_it_is(doubt);
}

words::Sentence place_word(const std::string& place) {
  if (place == "outdoors") return say("show.place-outdoors");
  if (place == "indoors") return say("show.place-indoors");
  return place == "unknown" ? say("show.place-unknown") : words::as_it_is(place);
}

/// "3 min ago"; how old a thing is, to the nearest of what people count in.
words::Sentence age(Instant t, Instant now) {
  const Span old = now - t;
  if (old < minutes(2)) return say("show.now");
  if (old < hours(2))
    return say("show.minutes-ago",
               {{"count", words::count(std::chrono::floor<minutes>(old).count())}});
  if (old < 2 * kDay)
    return say("show.hours-ago", {{"count", words::count(std::chrono::floor<hours>(old).count())}});
  return say("show.days-ago", {{"count", words::count(static_cast<std::int64_t>(days_of(old)))}});
}

/// "12.3 °C and 84 %", either alone, or empty.
words::Sentence values_of(const boost::json::object& of) {
  const auto celsius = number_at(of, "temperature_c"), humidity = number_at(of, "humidity_percent");
  const auto temperature = [&] {
    return say("show.air-c", {{"degrees", words::degrees(*celsius)}});
  };
  const auto percent = [&] {
    return say("show.air-humidity", {{"percent", words::number(*humidity, 0)}});
  };
  if (celsius && humidity)
    return say("show.air-both", {{"temperature", temperature()}, {"humidity", percent()}});
  return celsius ? temperature() : humidity ? percent() : words::Sentence();
}

words::Sentence with_age(const words::Sentence& values, const std::optional<Instant>& at,
                         Instant now) {
  if (values.empty() || !at) return values;
  return say("show.air-aged", {{"values", values}, {"age", age(*at, now)}});
}

/// "outdoors", "indoors? 62 %", "indoors, to and fro".
words::Sentence place_of(const boost::json::object& position) {
  const std::string place = text_at(position, "position"), last = text_at(position, "last_known");
  if (place.empty()) return {};
  auto said = place_word(place);
  if (place == "unknown" && last != "unknown")
    said =
        say("show.place-likely",
            {{"place", place_word(last)},
             {"percent", words::number(100 * number_at(position, "probability").value_or(0), 0)}});
  if (text_at(position, "pattern") == "shuttling")
    said = say("show.place-shuttling", {{"place", said}});
  return said;
}

/// "mist-b 85.0 °C now, not trusted: out of range."
words::Sentence sensor_line(const boost::json::object& sensor, Instant now) {
  const auto last = parse_rfc3339(text_at(sensor, "last"));
  const std::string doubt = text_at(sensor, "doubt");
  words::Sentence heard =
      with_age(values_of(sensor), last ? std::optional(*last) : std::nullopt, now);
  if (heard.empty())
    heard = last ? say("show.sensor-last", {{"age", age(*last, now)}}) : say("show.sensor-never");
  const words::Value name = words::name(text_at(sensor, "name"));
  return doubt.empty() ? say("show.sensor", {{"sensor", name}, {"heard", heard}})
                       : say("show.sensor-doubted",
                             {{"sensor", name}, {"heard", heard}, {"doubt", doubt_word(doubt)}});
}

}  // namespace

words::Sentence air_of(const boost::json::object& climate, const boost::json::object& position,
                       Instant now) {
  const auto time = parse_rfc3339(text_at(climate, "air_time"));
  words::Sentence air =
      with_age(values_of(climate), time ? std::optional(*time) : std::nullopt, now);
  if (air.empty()) air = say("show.no-air");
  const words::Sentence place = place_of(position);
  std::vector<const boost::json::object*> sensors;
  if (const auto* list = climate.if_contains("sensors"); list != nullptr && list->is_array())
    for (const auto& item : list->get_array())
      if (item.is_object()) sensors.push_back(&item.get_object());
  const bool one = sensors.size() == 1 && text_at(*sensors.front(), "doubt").empty() && time;
  if (one)
    air = say("show.air-of",
              {{"air", air}, {"sensor", words::name(text_at(*sensors.front(), "name"))}});
  words::Sentence said = place.empty() ? say("show.air", {{"air", air}})
                                       : say("show.air-at", {{"place", place}, {"air", air}});
  if (!one)
    for (const auto* sensor : sensors) said += sensor_line(*sensor, now);
  return said;
}

}  // namespace plainwater::tool
