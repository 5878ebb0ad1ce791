// A small house for tests of the outlet: two benches on one pump, one fed by hand.
#pragma once

#include <catch2/catch.hpp>
#include <memory>
#include <string>

#include "engine/engine.h"
#include "settings/load.h"

namespace plainwater::testing {

inline Instant at(const char* text) { return parse_rfc3339(text).value(); }

inline std::shared_ptr<const Settings> house(const std::string& more = "") {
  const auto loaded = load_settings_text(R"(
site: {name: testing, latitude: 52.2, longitude: -2.1, time_zone: Europe/London}
sensors:
  long-air: {}
  cold-air: {}
  mist-air: {}
benches:
  long: {group: intermediate, sensors: [long-air]}
  cold-end: {group: cool, sensors: [cold-air]}
  mist: {group: warm, sensors: [mist-air]}
pumps:
  long: {benches: [long, cold-end]}
)" + more,
                                         "house.yaml");
  for (const auto& problem : loaded.problems) FAIL(message(problem, "house.yaml"));
  return loaded.settings;
}

inline feeding::Request request(std::string id, feeding::RequestKind kind, std::string target) {
  feeding::Request request;
  request.id = std::move(id);
  request.who = "a test";
  request.kind = kind;
  const bool pump = kind == feeding::RequestKind::arm || kind == feeding::RequestKind::disarm ||
                    kind == feeding::RequestKind::trust;
  (pump ? request.pump : request.bench) = std::move(target);
  return request;
}

}  // namespace plainwater::testing
