#include "engine/by_readings.h"

#include <algorithm>

namespace plainwater::engine {

std::optional<Error> armed_by_readings(const Settings& settings, const std::vector<PumpNow>& pumps,
                                       bool stand_in_pumps) {
  if (settings.clock.time != ClockMode::readings || stand_in_pumps) return std::nullopt;
  const auto armed = std::ranges::find_if(pumps, &PumpNow::armed);
  if (armed == pumps.end()) return std::nullopt;
  return Error{
      "the time may not come from the readings while the pump " + armed->name + " is armed",
      "clock.time", "set clock.time to wall, or disarm the pump first"};
}

std::optional<feeding::Reply> refused_by_readings(const Settings& settings,
                                                  const feeding::Request& request, Instant now,
                                                  bool stand_in_pumps) {
  if (settings.clock.time != ClockMode::readings) return std::nullopt;
  if (request.kind == feeding::RequestKind::arm && !stand_in_pumps)
    return feeding::Reply{false, "time-from-readings",
                          words::say("request.by-readings", {{"setting", words::name("clock.time")},
                                                             {"wall", words::name("wall")}})};
  if (now == kNever) return feeding::Reply{false, "no-time-yet", words::say("request.no-time-yet")};
  return std::nullopt;
}

}  // namespace plainwater::engine
