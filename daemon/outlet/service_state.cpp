#include "outlet/service_state.h"

#include "common/json_shapes.h"

namespace plainwater::outlet {

std::map<std::string, std::uint64_t> refused_by_reason(const status::Service& service) {
  std::map<std::string, std::uint64_t> refused;
  for (std::size_t i = 0; i < intake::kRefusals; ++i)
    if (const auto count = service.refused[i]; count > 0)
      refused[intake::name_of(static_cast<intake::Refusal>(i))] = count;
  for (const auto& [reason, count] : service.unused)
    if (count > 0) refused.try_emplace(reason, count);
  for (const auto& [problem, count] : service.refused_requests)
    refused["request-" + problem] = count;
  for (const auto& [problem, count] : service.refused_reports) refused["dose-" + problem] = count;
  if (service.lost > 0) refused["lost"] = service.lost;
  return refused;
}

const char* clock_word(const status::Service& service) {
  return service.by_readings ? "readings" : service.clock_settled ? "settled" : "unsettled";
}

std::string online_json(const status::Service& service) {
  JsonObject refused;
  for (const auto& [reason, count] : refused_by_reason(service))
    refused.integer(reason, static_cast<std::int64_t>(count));
  return JsonObject()
      .text("state", "online")
      .text("instance", service.instance)
      .text("version", service.version)
      .raw("engine_time", time_or_null(service.now))
      .raw("started", time_or_null(service.started))
      .text("store", service.store)
      .text("clock", clock_word(service))
      .boolean("backlog", !service.drained)
      .integer("readings", static_cast<std::int64_t>(service.readings))
      .raw("refused", refused.str())
      .integer("rules_revision", service.rules_revision)
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
