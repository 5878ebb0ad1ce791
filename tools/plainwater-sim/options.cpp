#include "plainwater-sim/options.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>

#include "manual_page.h"

namespace plainwater::sim {
namespace {

constexpr int kUsage = 2;

/// Parses "90s", "10m", "2h", "60" (seconds) to whole seconds; none when malformed.
std::optional<seconds> parse_duration(const std::string& text) {
  std::int64_t unit = 1;
  std::string digits = text;
  if (!text.empty() && std::isdigit(static_cast<unsigned char>(text.back())) == 0) {
    switch (text.back()) {
      case 's': unit = 1; break;
      case 'm': unit = 60; break;
      case 'h': unit = 3600; break;
      default: return std::nullopt;
    }
    digits.pop_back();
  }
  constexpr std::size_t kMostDigits = 7;
  if (digits.empty() || digits.size() > kMostDigits ||
      digits.find_first_not_of("0123456789") != digits.npos)
    return std::nullopt;
  return seconds(std::stoll(digits) * unit);
}

CLI::Validator duration_check() {
  return CLI::Validator(
      [](std::string& text) {
        return parse_duration(text) ? std::string()
                                    : text + ": expected a time such as 90s, 10m or 2h";
      },
      "TIME");
}

CLI::Validator day_check() {
  return CLI::Validator(
      [](std::string& text) {
        const auto day = parse_day_or_time(text);
        return day ? std::string() : day.error().message();
      },
      "DAY");
}

/// Options that are parsed further once all have been read.
struct RawOptions {
  std::string from = "2026-08-01", to = "2027-06-01", interval = "10m", speed = "max", duration;
  std::vector<std::string> faults;
};

void declare(CLI::App& app, Options& options, RawOptions& raw) {
  auto* broker =
      app.add_option("--broker", options.broker, "Publish to this broker, mqtt://host:port");
  app.add_option("--csv", options.csv,
                 "Write a rehearsal CSV to this file instead; - is standard output")
      ->excludes(broker);
  app.add_option("--from", raw.from, "First day (UTC)")->check(day_check())->capture_default_str();
  app.add_option("--to", raw.to, "Day after the last (UTC)")
      ->check(day_check())
      ->capture_default_str();
  app.add_option("--interval", raw.interval, "One report of each sensor per interval, at least 1m")
      ->check(duration_check())
      ->capture_default_str();
  auto* pace = app.add_option("--speed", raw.speed, "max, real, or how many times faster than real")
                   ->capture_default_str();
  app.add_option("--duration", raw.duration, "Spread the whole stretch over this time")
      ->check(duration_check())
      ->excludes(pace);
  app.add_flag("--live", options.live,
               "Go on at real speed after the last day, one report a minute, until interrupted");
  app.add_option("--seed", options.seed, "Another seed, another season")->capture_default_str();
  app.add_option(
         "--fault", raw.faults,
         "kind:sensor:from/to, for example stuck:mist-b:2026-11-03/2026-11-10; may be repeated")
      ->allow_extra_args(false);
  app.add_option("--client-id", options.client_id, "MQTT client identifier")->capture_default_str();
  app.add_option("--in-flight", options.most_in_flight, "Most messages sent but not acknowledged")
      ->check(CLI::Range(1, 1000))
      ->capture_default_str();
  app.add_flag("--quiet", options.quiet, "No progress");
}

Parsed usage(const std::string& problem) {
  fmt::print(stderr, "plainwater-sim: {}\n", problem);
  return {.options = std::nullopt, .exit_code = kUsage};
}

Parsed understood(Options options, const RawOptions& raw) {
  if (options.broker.empty() == options.csv.empty())
    return usage("say where to: --broker mqtt://host:port or --csv FILE");
  if (options.live && options.broker.empty()) return usage("--live needs a --broker");
  options.from = *parse_day_or_time(raw.from);
  options.to = *parse_day_or_time(raw.to);
  if (options.to < options.from)
    return usage(fmt::format("--to {} is before --from {}", raw.to, raw.from));
  options.interval = *parse_duration(raw.interval);
  if (options.interval < minutes(1))
    return usage(fmt::format("--interval {} is too short; give at least 1m", raw.interval));
  if (!raw.duration.empty()) {
    const auto spread = *parse_duration(raw.duration);
    if (spread < seconds(1))
      return usage(fmt::format("--duration {} is too short; give at least 1s", raw.duration));
    options.speed = hours_of(options.to - options.from) / hours_of(spread);
  } else if (raw.speed == "real") {
    options.speed = 1.0;
  } else if (raw.speed != "max") {
    const auto times = CLI::detail::lexical_cast(raw.speed, options.speed.emplace());
    if (!times || !(*options.speed > 0))
      return usage(fmt::format("--speed {}: expected max, real or a number above 0", raw.speed));
  }
  for (const auto& text : raw.faults) {
    auto fault = parse_fault(text);
    if (!fault) return usage(fault.error().message());
    options.faults.push_back(*fault);
  }
  return {.options = std::move(options), .exit_code = 0};
}

}  // namespace

Parsed parse_options(int argc, char** argv) {
  CLI::App app{
      "A simulated orchid house: its sensors report a season through a broker or into a file",
      "plainwater-sim"};
  Options options;
  RawOptions raw;
  declare(app, options, raw);
  bool manual = false;
  app.add_flag("--manual", manual, "Print the manual page in roff")->group("");  // hidden
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& e) {
    return {.options = std::nullopt, .exit_code = app.exit(e) == 0 ? 0 : kUsage};
  }
  if (manual) {
    fmt::print("{}", manual_page(app, {.name = "plainwater-sim",
                                       .command = "plainwater-sim",
                                       .see_also = {"plainwater(1)", "plainwaterd(8)"}}));
    return {.options = std::nullopt, .exit_code = 0};
  }
  return understood(std::move(options), raw);
}

}  // namespace plainwater::sim
