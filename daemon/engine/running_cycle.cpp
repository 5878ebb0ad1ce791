#include "engine/running_cycle.h"

#include "common/json_text.h"

namespace plainwater::engine {
namespace {
constexpr Span kCloseAfterSunrise = hours(1);
}

void RunningCycle::set(climate::SolarDay day) {
  night_ = day;
  from_ = sun_.night(day - 1).sunrise;
  const climate::SolarNight times = sun_.night(day);
  sunset_ = times.sunset;
  sunrise_ = times.sunrise;
}

void RunningCycle::begin(Instant t) {
  climate::SolarDay day = sun_.day_of(t) - 1;
  while (sun_.night(day).sunrise + kCloseAfterSunrise <= t) ++day;
  set(day);
  kept_from_ = from_;
}

void RunningCycle::go_on() {
  kept_from_ = sunset_;
  set(night_ + 1);
}

Instant RunningCycle::close_due() const { return sunrise_ + kCloseAfterSunrise; }

double RunningCycle::light_h(const Bench& bench) {
  return bench.lamps_h > 0 ? bench.lamps_h : rounded(sun_.day_length_h(night_), 4);
}

}  // namespace plainwater::engine
