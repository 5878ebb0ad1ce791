// plainwater show: the benches now, as the broker holds them.
#include <fmt/format.h>

#include <algorithm>
#include <boost/json.hpp>
#include <cmath>
#include <cstdio>
#include <map>
#include <memory>
#include <optional>

#include "clock/clock.h"
#include "common/json_text.h"
#include "outlet/local_time.h"
#include "outlet/topics.h"
#include "plainwater/commands.h"
#include "plainwater/wire.h"
#include "settings/load.h"
#include "settings/shown_unit.h"

namespace plainwater::tool {
namespace {

constexpr Span kLimit = seconds(3);
constexpr Span kStale = minutes(3);

/// A message of ours, or an empty object where it is not one.
boost::json::object object_of(const std::string& json) {
  boost::system::error_code fault;
  const auto value = boost::json::parse(json, fault);
  return !fault && value.is_object() ? value.get_object() : boost::json::object();
}
std::string text_at(const boost::json::object& object, std::string_view key) {
  const auto* value = object.if_contains({key.data(), key.size()});
  return value != nullptr && value->is_string() ? std::string(value->get_string().c_str())
                                                : std::string();
}
std::optional<double> number_at(const boost::json::object& object, std::string_view key) {
  const auto* value = object.if_contains({key.data(), key.size()});
  if (value == nullptr || !value->is_number()) return std::nullopt;
  return value->to_number<double>();
}
std::string degrees(std::optional<double> celsius, ShownUnit unit) {
  return celsius ? fixed(shown_degrees(*celsius, unit), 1) : "-";
}

struct Bench {
  std::string order, climate, position;  ///< JSON, empty when the broker has none
};
struct Seen {
  std::map<std::string, Bench> benches;
  std::map<std::string, std::string> services;  ///< by instance
};

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

std::string service_line(const std::string& name, const std::string& json, const Settings& settings,
                         const outlet::LocalTime& local) {
  const auto state = object_of(json);
  if (text_at(state, "state") != "online")
    return fmt::format("Service {} is offline; what follows is what it said last.", name);
  const auto time = parse_rfc3339(text_at(state, "engine_time"));
  std::string line = fmt::format("Service {} is online", name);
  if (time) line += ", decided up to " + local.date_time(*time);
  const Instant now = clock::SystemClock().read().wall;
  if (settings.clock.time == ClockMode::wall && time && now - *time > kStale)
    line += ": STALE, it has been silent since";
  if (const auto store = text_at(state, "store"); store != "healthy") line += "; STORE: " + store;
  if (text_at(state, "clock") == "unsettled") line += "; its clock is not believed yet";
  return line + ".";
}

std::string until(const boost::json::object& order, const outlet::LocalTime& local) {
  const auto* hold = order.if_contains("hold");
  if (hold == nullptr || !hold->is_object()) return "";
  const auto& h = hold->get_object();
  const auto end = parse_rfc3339(text_at(h, "planned_end"));
  if (!end) return "";
  const auto* provisional = h.if_contains("provisional");
  const bool open = provisional != nullptr && provisional->is_bool() && provisional->get_bool();
  return (open ? "not confirmed, to " : "about ") + local.day_month(*end);
}

std::string sensors(const boost::json::object& climate) {
  const auto* list = climate.if_contains("sensors");
  if (list == nullptr || !list->is_array()) return "-";
  std::string doubted;
  std::size_t trusted = 0;
  for (const auto& item : list->get_array()) {
    if (!item.is_object()) continue;
    const auto doubt = text_at(item.get_object(), "doubt");
    if (doubt.empty())
      ++trusted;
    else
      doubted += ", " + text_at(item.get_object(), "name") + " " + doubt;
  }
  return fmt::format("{} good{}", trusted, doubted);
}

/// "outdoors", "unknown, 62 %", "indoors, shuttling".
std::string stands(const boost::json::object& position) {
  std::string text = text_at(position, "position");
  if (text.empty()) return "-";
  if (text == "unknown" && text_at(position, "last_known") != "unknown")
    text = fmt::format("{}? {} %", text_at(position, "last_known"),
                       fixed(100 * number_at(position, "probability").value_or(0), 0));
  if (text_at(position, "pattern") == "shuttling") text += ", to and fro";
  return text;
}

bool is_true(const boost::json::object& object, std::string_view key) {
  const auto* value = object.if_contains({key.data(), key.size()});
  return value != nullptr && value->is_bool() && value->get_bool();
}

/// "Pump long on advice: 25 %, 2.50 mL/L, EC 0.36; cold-end limits it." Empty for a bench that is
/// fed by hand.
std::string pump_line(const boost::json::object& order) {
  const std::string pump = text_at(order, "pump");
  if (pump.empty()) return "";
  std::string line = fmt::format("Pump {} {}: ", pump,
                                 text_at(order, "pump_mode") == "armed" ? "is armed" : "on advice");
  line += text_at(order, "stock") == "open"
              ? fixed(number_at(order, "pump_strength_percent").value_or(0), 0) + " %"
              : "plain water";
  if (const auto* dose = order.if_contains("dose"); dose != nullptr && dose->is_object()) {
    const auto& d = dose->get_object();
    if (const double ml = number_at(d, "ml_per_litre").value_or(0); ml > 0)
      line += ", " + fixed(ml, 2) + " mL/L";
    line += ", EC " + fixed(number_at(d, "ec").value_or(0), 2);
    if (const auto problem = text_at(d, "problem"); !problem.empty()) line += " (" + problem + ")";
  }
  if (const auto by = text_at(order, "limited_by"); !by.empty()) line += "; " + by + " limits it";
  if (is_true(order, "untrusted")) line += "; NOT TRUSTED since it disobeyed";
  return line + ".";
}

/// "Pots about EC 1.4 ± 0.5; flush with 12 L." Empty while nothing is known.
std::string salts_line(const boost::json::object& climate) {
  const auto ec = number_at(climate, "salts_ec");
  if (!ec) return "";
  std::string line = fmt::format("Pots about EC {} \u00b1 {} mS/cm", fixed(*ec, 1),
                                 fixed(number_at(climate, "salts_doubt_ec").value_or(0), 1));
  if (const double flush = number_at(climate, "flush_litres").value_or(0); flush > 0)
    line += fmt::format("; flush with {} L", fixed(flush, 0));
  return line + ".";
}

/// "Last watering reported: 25 Nov 21:27." Empty while there was none.
std::string watered_line(const boost::json::object& climate, const outlet::LocalTime& local) {
  const auto time = parse_rfc3339(text_at(climate, "watered"));
  return time ? "Last watering reported: " + local.date_time(*time) + "." : "";
}

void print_table(const Seen& seen, const outlet::LocalTime& local, ShownUnit unit) {
  static constexpr const char* kRow = "{:<{}}  {:<12} {:>8}  {:<24} {:>7} {:>8}  {:<19}  {}\n";
  std::size_t width = 5;
  for (const auto& [name, bench] : seen.benches) width = std::max(width, name.size());
  fmt::print(kRow, "bench", width, "feeding", "strength", "until", "night", "used to", "place",
             "sensors");
  fmt::print(kRow, "", width, "", "%", "", symbol_of(unit), symbol_of(unit), "", "");
  for (const auto& [name, bench] : seen.benches) {
    const auto order = object_of(bench.order), climate = object_of(bench.climate);
    const auto strength = number_at(order, "strength_percent");
    fmt::print(kRow, name, width, order.empty() ? "no order" : text_at(order, "feeding"),
               strength ? fixed(*strength, 0) : "-", until(order, local),
               degrees(number_at(climate, "night_mean_c"), unit),
               degrees(number_at(climate, "acclimated_c"), unit), stands(object_of(bench.position)),
               sensors(climate));
    const auto because = order.empty() ? std::string("No valid order: pumps give plain water.")
                                       : in_unit(text_at(order, "because"), unit);
    for (const auto& line :
         {because, pump_line(order), salts_line(climate), watered_line(climate, local)})
      if (!line.empty()) fmt::print("{:<{}}  {}\n", "", width, line);
  }
}

int show(const std::string& file, bool json) {
  const auto loaded = load_settings_file(file);
  for (const auto& problem : loaded.problems)
    std::fprintf(stderr, "%s\n", message(problem, file).c_str());
  if (!loaded.settings) return kNo;
  const auto local = outlet::LocalTime::of(loaded.settings->site.time_zone);
  if (!local) {
    std::fprintf(stderr, "%s\n", local.error().message().c_str());
    return kNo;
  }
  const outlet::Topics topics(*loaded.settings);
  const auto messages = read_retained(*loaded.settings,
                                      {topics.every_order(), topics.every_climate(),
                                       topics.every_position(), topics.every_service()},
                                      kLimit);
  if (!messages) {
    std::fprintf(stderr, "%s\n", messages.error().message().c_str());
    return kUnreachable;
  }
  const Seen seen = sort(topics, *loaded.settings, *messages);
  if (json) {
    print_json(seen);
    return kDone;
  }
  if (seen.services.empty())
    fmt::print("No service is heard here; what follows is what was said last, if anything.\n");
  for (const auto& [name, state] : seen.services)
    fmt::print("{}\n", service_line(name, state, *loaded.settings, *local));
  print_table(seen, *local, loaded.settings->board.unit);
  return kDone;
}

}  // namespace

void add_show(CLI::App& app, int& exit_code) {
  struct Options {
    std::string settings;
    bool json = false;
  };
  auto options = std::make_shared<Options>();
  auto* command = app.add_subcommand("show", "Show the benches now: feeding, why, until when");
  command->add_option("--settings", options->settings, "Settings file of the service")
      ->required()
      ->type_name("FILE");
  command->add_flag("--json", options->json, "The messages themselves, as one JSON object");
  command->callback([options, &exit_code] { exit_code = show(options->settings, options->json); });
}

}  // namespace plainwater::tool
