// plainwater show: the present state of the benches, as retained by the broker.
#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <map>
#include <memory>

#include "clock/clock.h"
#include "common/json_text.h"
#include "outlet/local_time.h"
#include "outlet/topics.h"
#include "plainwater/bench_table.h"
#include "plainwater/commands.h"
#include "plainwater/house.h"
#include "plainwater/wire.h"
#include "store/store.h"

namespace plainwater::tool {
namespace {

constexpr Span kShowLimit = seconds(3);

std::string last_level(const std::string& topic) { return topic.substr(topic.rfind('/') + 1); }

Seen sort(const outlet::Topics& topics, const Settings& settings,
          const std::map<std::string, std::string>& messages) {
  Seen seen;
  for (const auto& bench : settings.benches) seen.benches[bench.name];
  for (const auto& [topic, payload] : messages) {
    if (const auto order = topics.bench_of(topic, "order"); !order.empty())
      seen.benches[std::string(order)].order = payload;
    else if (const auto climate = topics.bench_of(topic, "climate"); !climate.empty())
      seen.benches[std::string(climate)].climate = payload;
    else if (const auto position = topics.bench_of(topic, "position"); !position.empty())
      seen.benches[std::string(position)].position = payload;
    else
      seen.services[last_level(topic)] = payload;
  }
  // Plain water is what is left behind for a bench that was renamed or retired.
  std::erase_if(seen.benches, [&](const auto& bench) {
    const std::string feeding = text_at(object_of(bench.second.order), "feeding");
    return !settings.bench(bench.first) && (feeding.empty() || feeding == "plain-water");
  });
  return seen;
}

void print_json(const Seen& seen) {
  JsonObject services, benches;
  const auto or_null = [](const std::string& json) {
    return object_of(json).empty() ? std::string("null") : json;
  };
  for (const auto& [name, json] : seen.services) services.raw(name, or_null(json));
  for (const auto& [name, bench] : seen.benches)
    benches.raw(name, JsonObject()
                          .raw("order", or_null(bench.order))
                          .raw("climate", or_null(bench.climate))
                          .raw("position", or_null(bench.position))
                          .str());
  fmt::print("{}\n",
             JsonObject().raw("services", services.str()).raw("benches", benches.str()).str());
}

/// 0 where there is no store on this machine.
std::int64_t epoch_of(const std::string& path) {
  std::error_code fault;
  if (!std::filesystem::exists(path, fault)) return 0;
  const auto store = store::Store::open_to_read(path);
  if (!store) return 0;
  const auto epoch = (*store)->epoch();
  return epoch ? *epoch : 0;
}

/// While the time comes from the readings, the service alone knows what time it is.
Instant now_of(const Seen& seen, const Settings& settings) {
  if (settings.clock.time == ClockMode::wall) return clock::SystemClock().read().wall;
  Instant latest{};
  for (const auto& [name, json] : seen.services)
    if (const auto time = parse_rfc3339(text_at(object_of(json), "engine_time")))
      latest = std::max(latest, *time);
  return latest;
}

int show(const HouseOptions& house, bool json) {
  const auto settings = house_of(house);
  if (!settings) return kNo;
  const auto local = outlet::LocalTime::of(settings->site.time_zone);
  if (!local) {
    std::fprintf(stderr, "%s\n", local.error().message().c_str());
    return kNo;
  }
  const outlet::Topics topics(*settings);
  const auto messages = read_retained(*settings,
                                      {topics.every_order(), topics.every_climate(),
                                       topics.every_position(), topics.every_service()},
                                      kShowLimit);
  if (!messages) {
    std::fprintf(stderr, "%s\n", messages.error().message().c_str());
    return kUnreachable;
  }
  Seen seen = sort(topics, *settings, *messages);
  seen.now = now_of(seen, *settings);
  if (!anybody_online(seen)) seen.epoch = epoch_of(settings->store.path);
  if (json) {
    print_json(seen);
    return anybody_online(seen) ? kDone : kUnreachable;
  }
  print_table(seen, *settings, *local);
  return anybody_online(seen) ? kDone : kUnreachable;
}

}  // namespace

void add_show(CLI::App& app, int& exit_code) {
  struct Options {
    HouseOptions house;
    bool json = false;
  };
  auto options = std::make_shared<Options>();
  auto* command = app.add_subcommand("show", "Show the benches now: feeding, why, until when");
  add_house(*command, options->house);
  command->add_flag("--json", options->json, "The messages themselves, as one JSON object");
  command->callback([options, &exit_code] {
    want_house(options->house);
    exit_code = show(options->house, options->json);
  });
}

}  // namespace plainwater::tool
