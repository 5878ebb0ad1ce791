// Orders as the service writes them, and a pump for the bench "east".
#pragma once

#include <string>

#include "pump-stand-in/pump.h"

namespace plainwater::pump {

inline const Instant kNoon = *parse_rfc3339("2026-10-12T12:00:00Z");

/// An open order of 40 % for a full dose of 10 mL per litre, valid for a day from noon.
struct OrderText {
  std::string bench = "east", stock = "open", mode = "armed", pump = "\"one\"", strength = "40";
  std::string issued = "2026-10-12T12:00:00Z", until = "2026-10-13T12:00:00Z";
  std::int64_t epoch = 0, sequence = 1'760'000'000;
  std::string dose =
      R"({"recipe":"house","water":"rain","ml_per_litre":4.000,"injector_ratio":250.0,"ppm_n":50.0,"ec":0.520,"water_ec":0.200,"problem":null})";
  std::string more{};

  std::string json() const {
    std::string text =
        R"({"bench":")" + bench + R"(","feeding":"reduced","strength_percent":40,"stock":")" +
        stock + R"(","cause":"dull-season","because":"Days are short.","hold":null,"issued":")" +
        issued + R"(","valid_until":")" + until + R"(","epoch":)" + std::to_string(epoch) +
        R"(,"sequence":)" + std::to_string(sequence) + R"(,"pump":)" + pump + R"(,"pump_mode":")" +
        mode + R"(","pump_strength_percent":)" + strength + R"(,"instance":"main")";
    if (!dose.empty()) text += R"(,"dose":)" + dose;
    return text + more + "}";
  }
};

inline Setup setup_east() { return {.name = "one", .benches = {"east", "west"}}; }

/// Noon plus `later`, on a clock that is set.
inline Moment at(Span later = Span{0}) {
  return {.calendar = kNoon + later, .running = hours(5) + later};
}
/// The same without a clock.
inline Moment unset(Span later = Span{0}) {
  return {.calendar = std::nullopt, .running = hours(5) + later};
}

inline Arrival live(std::optional<Span> expiry = std::nullopt) {
  return {.retained = false, .expiry = expiry};
}
inline Arrival retained(std::optional<Span> expiry = std::nullopt) {
  return {.retained = true, .expiry = expiry};
}

/// Plain water, and all of it.
inline bool is_plain(const Watering& watering, Why why) {
  return watering.why == why && watering.litres == 2 && watering.feed_ml == 0 &&
         watering.metered_ml == 0 && watering.strength_percent == 0;
}

}  // namespace plainwater::pump
