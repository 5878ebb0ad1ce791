#include "outlet/service_state.h"

#include "common/json_shapes.h"

namespace plainwater::outlet {

std::string online_json(const ServiceState& state) {
  JsonObject refused;
  for (const auto& [reason, count] : state.refused)
    refused.integer(reason, static_cast<std::int64_t>(count));
  return JsonObject()
      .text("state", "online")
      .text("instance", state.instance)
      .text("version", state.version)
      .raw("engine_time", time_or_null(state.engine_time))
      .raw("started", time_or_null(state.started))
      .text("store", state.store)
      .text("clock", state.clock)
      .boolean("backlog", state.backlog)
      .integer("readings", static_cast<std::int64_t>(state.readings))
      .raw("refused", refused.str())
      .integer("rules_revision", state.rules_revision)
      .str();
}

std::string offline_json(const std::string& instance, const std::string& version) {
  return JsonObject()
      .text("state", "offline")
      .text("instance", instance)
      .text("version", version)
      .str();
}

}  // namespace plainwater::outlet
