#include "pump-stand-in/options.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>

namespace plainwater::pump {
namespace {

constexpr int kWrongCommandLine = 2;

/// Parses "250ms", "2s", "15min", "24h", "30d"; none when malformed.
std::optional<Span> parse_span(const std::string& text) {
  const auto unit_at = std::min(text.find_first_not_of("0123456789"), text.size());
  constexpr std::size_t kMostDigits = 7;
  if (unit_at == 0 || unit_at > kMostDigits) return std::nullopt;
  const auto number = std::stoll(text.substr(0, unit_at));
  const auto unit = text.substr(unit_at);
  if (unit == "ms") return milliseconds(number);
  if (unit == "s") return seconds(number);
  if (unit == "m" || unit == "min") return minutes(number);
  if (unit == "h") return hours(number);
  if (unit == "d") return number * kDay;
  return std::nullopt;
}

CLI::Validator span_check() {
  return CLI::Validator(
      [](std::string& text) {
        return parse_span(text) ? std::string()
                                : text + ": expected a time such as 2s, 15min, 24h or 30d";
      },
      "TIME");
}

/// Must be valid as a topic level.
CLI::Validator name_check() {
  return CLI::Validator(
      [](std::string& text) {
        return text.empty() || text.find_first_of("/+#") != text.npos
                   ? text + ": expected a name without /, + and #"
                   : std::string();
      },
      "NAME");
}

/// Options that are parsed further once all have been read.
struct RawOptions {
  std::string follow = "order", every = "24h", offset = "0s", patience = "15min", clock = "wall",
              mqtt = "5";
  std::vector<std::string> faults;
};

void declare_place(CLI::App& app, Options& options, RawOptions& raw) {
  Setup& setup = options.setup;
  app.add_option("--broker", options.broker, "mqtt://host:port")->required()->type_name("URL");
  app.add_option("--mqtt", raw.mqtt, "Protocol version")
      ->check(CLI::IsMember({"5", "3.1.1"}))
      ->capture_default_str();
  app.add_option("--root", options.root, "First level of the topics")
      ->check(name_check())
      ->capture_default_str();
  app.add_option("--site", options.site, "The site's name")->required()->check(name_check());
  app.add_option("--pump", setup.name, "The pump's name in the settings")
      ->required()
      ->check(name_check());
  app.add_option("--bench", setup.benches, "A bench that it waters; may be repeated")
      ->required()
      ->allow_extra_args(false)
      ->check(name_check());
  app.add_option("--follow", raw.follow, "The JSON order, or the plain strength")
      ->check(CLI::IsMember({"order", "strength"}))
      ->capture_default_str();
  app.add_option("--patience", raw.patience, "Silence after which a strength counts as 0")
      ->check(span_check())
      ->capture_default_str();
  app.add_option("--every", raw.every,
                 "A watering of each bench in so long, at whole multiples of it (UTC)")
      ->check(span_check())
      ->capture_default_str();
  app.add_option("--offset", raw.offset, "Shifts them: --every 24h --offset 8h waters at 08:00 UTC")
      ->check(span_check())
      ->capture_default_str();
}

void declare_water(CLI::App& app, Options& options) {
  Setup& setup = options.setup;
  app.add_option("--litres", options.litres, "Water a watering and bench")
      ->check(CLI::Range(0.0, 1e5))
      ->capture_default_str()
      ->type_name("L");
  app.add_option("--water-ec", setup.water_ec,
                 "EC of the water, mS/cm; else the dose in the order tells it")
      ->check(CLI::Range(0.0, 20.0));
  app.add_option("--ec-per-100ppm", setup.ec_per_100ppm,
                 "EC that 100 ppm of nitrogen add, mS/cm; else from the order")
      ->check(CLI::Range(0.0, 20.0));
  app.add_option("--ml-per-litre", setup.ml_per_litre,
                 "Stock in a litre at full strength; else from the order, or 10")
      ->check(CLI::Range(0.0, 1000.0));
  app.add_option("--daily-feed-ml", setup.daily_feed_ml, "Own cap of stock in 24 hours")
      ->check(CLI::Range(0.0, 1e6))
      ->type_name("ML");
  app.add_option("--ec-limit", setup.ec_limit,
                 "Cut-out: above it the pump stops until SIGUSR1 resets it, mS/cm")
      ->check(CLI::Range(0.0, 20.0));
}

void declare_rest(CLI::App& app, Options& options, RawOptions& raw) {
  app.add_option("--clock", raw.clock,
                 "Its own clock; none: no calendar; topic: the time in messages, for seasons that "
                 "are played fast")
      ->check(CLI::IsMember({"wall", "none", "topic"}))
      ->capture_default_str();
  app.add_option("--clock-topic", options.clock_topic, "Messages with the time; the newest counts")
      ->type_name("FILTER");
  app.add_option("--clock-field", options.clock_field,
                 "Their field with it: RFC 3339 or seconds since 1970; a key or a JSON Pointer")
      ->type_name("NAME");
  app.add_option("--fault", raw.faults,
                 "stuck-open, siphoning, wrong-ratio, dead or replaying, from/to after a colon; "
                 "may be repeated")
      ->allow_extra_args(false)
      ->type_name("KIND[:FROM/TO]");
  app.add_option("--waterings", options.waterings,
                 "Leave after so many waterings of all benches together")
      ->check(CLI::Range(1, 1'000'000'000));
  app.add_option("--log", options.log, "Append what really happened, one JSON object a watering")
      ->type_name("FILE");
  app.add_flag("--reports-totals", options.totals,
               "Report counters instead of the figures of each watering");
  app.add_flag("--quiet", options.quiet, "Only errors");
}

Parsed usage(const std::string& problem) {
  fmt::print(stderr, "pump-stand-in: {}\n", problem);
  return {.options = std::nullopt, .exit_code = kWrongCommandLine};
}

Parsed understood(Options options, const RawOptions& raw) {
  Setup& setup = options.setup;
  options.mqtt_5 = raw.mqtt == "5";
  setup.follow = raw.follow == "order" ? Follow::order : Follow::strength;
  setup.patience = *parse_span(raw.patience);
  options.every = *parse_span(raw.every);
  options.offset = *parse_span(raw.offset);
  if (options.every < milliseconds(10))
    return usage(fmt::format("--every {} is too short; give at least 10ms", raw.every));
  options.clock = raw.clock == "wall"   ? ClockSource::wall
                  : raw.clock == "none" ? ClockSource::none
                                        : ClockSource::topic;
  const bool by_topic = options.clock == ClockSource::topic;
  if (by_topic == options.clock_topic.empty() || by_topic == options.clock_field.empty())
    return usage(
        "--clock topic needs --clock-topic and --clock-field, and no other clock takes them");
  for (const auto& text : raw.faults) {
    auto fault = parse_fault(text);
    if (!fault) return usage(fault.error().message());
    if (!fault->always() && options.clock == ClockSource::none)
      return usage(fmt::format("--fault {} needs a clock", text));
    options.faults.push_back(*fault);
  }
  return {.options = std::move(options), .exit_code = 0};
}

}  // namespace

Parsed parse_options(int argc, char** argv) {
  CLI::App app{
      "A dosing pump without a pump: follows feed orders as deploy/pump-contract.md asks, waters "
      "by the clock and reports",
      "pump-stand-in"};
  Options options;
  RawOptions raw;
  declare_place(app, options, raw);
  declare_water(app, options);
  declare_rest(app, options, raw);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& e) {
    return {.options = std::nullopt, .exit_code = app.exit(e) == 0 ? 0 : kWrongCommandLine};
  }
  return understood(std::move(options), raw);
}

}  // namespace plainwater::pump
