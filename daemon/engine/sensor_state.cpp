#include "engine/sensor_state.h"

namespace plainwater::engine {

using climate::Doubt;
using climate::Series;

Series::Added SensorState::add(const Reading& reading) {
  Series& series = reading.quantity == Quantity::temperature ? temperature : humidity;
  const Series::Added added = series.add(reading.time, reading.value);
  if (added == Series::Added::repeated || added == Series::Added::conflicting) return added;
  if (reading.time > newest) newest = reading.time;
  if (watch.doubt == Doubt::silent && reading.time > watch.doubted_since &&
      (back_since == kNever || reading.time < back_since))
    back_since = reading.time;
  return added;
}

Instant SensorState::silence_due(const SensorRules& rules) const {
  if (watch.doubt == Doubt::silent)
    return back_since == kNever ? kForever : back_since + from_days(rules.trusted_after_h / 24);
  if (watch.doubt != Doubt::none || newest == kNever) return kForever;
  const auto after = watch.silent_after(rules);
  return after ? newest + *after : kForever;
}

void SensorState::fall_silent(Instant since) {
  watch.doubt = Doubt::silent;
  watch.doubted_since = since;
  back_since = kNever;
}

std::optional<Doubt> SensorState::judge_silence(Instant due, const SensorRules& rules) {
  if (watch.doubt == Doubt::none) {
    fall_silent(newest);
    return Doubt::none;
  }
  const bool fell_silent_again = due - newest > watch.silent_after(rules).value_or(hours(3));
  back_since = kNever;
  if (fell_silent_again) return std::nullopt;
  watch.doubt = Doubt::none;
  return Doubt::silent;
}

void SensorState::forget_before(Instant t) {
  temperature.forget_before(t);
  humidity.forget_before(t);
  late = 0;
}

}  // namespace plainwater::engine
