#include "outlet/service_state.h"

#include <boost/json.hpp>

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
  if (service.not_stored > 0) refused["not-stored"] = service.not_stored;
  return refused;
}

const char* clock_word(const status::Service& service) {
  return service.by_readings ? "readings" : service.clock_settled ? "settled" : "unsettled";
}

std::string absence_json(const std::optional<engine::AbsenceNow>& absence) {
  if (!absence) return "null";
  return JsonObject()
      .text("from", format_rfc3339(absence->from))
      .text("until", format_rfc3339(absence->until))
      .text("person", absence->person)
      .str();
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
      .integer("corrected", static_cast<std::int64_t>(service.corrected_reports))
      .integer("rules_revision", service.rules_revision)
      .text("store_id", service.store_id)
      .text("run", service.run)
      .raw("absence", absence_json(service.absence))
      .raw("history_since", time_or_null(service.history_since.value_or(kNever)))
      .raw("aside_for", service.aside_for.empty() ? "null" : json_string(service.aside_for))
      .str();
}

std::optional<Alive> read_alive(std::string_view json) {
  boost::system::error_code fault;
  const auto value = boost::json::parse({json.data(), json.size()}, fault);
  if (fault || !value.is_object()) return std::nullopt;
  const auto text = [&](const char* key) -> std::string {
    const auto* member = value.get_object().if_contains(key);
    const auto* found = member == nullptr ? nullptr : member->if_string();
    return found == nullptr ? std::string() : std::string(found->data(), found->size());
  };
  Alive alive{text("store_id"), text("run"), std::nullopt, !text("aside_for").empty()};
  if (text("state") != "online" || alive.store_id.empty() || alive.run.empty()) return std::nullopt;
  const auto* backlog = value.get_object().if_contains("backlog");
  alive.drains = backlog != nullptr && backlog->is_bool() && backlog->get_bool();
  if (const auto since = parse_rfc3339(text("history_since"))) alive.history_since = *since;
  return alive;
}

std::string offline_json(const std::string& instance, const std::string& version) {
  return JsonObject()
      .text("state", "offline")
      .text("instance", instance)
      .text("version", version)
      .str();
}

}  // namespace plainwater::outlet
