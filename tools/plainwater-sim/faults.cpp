#include "plainwater-sim/faults.h"

#include <fmt/format.h>

#include <algorithm>

namespace plainwater::sim {
namespace {

constexpr std::pair<std::string_view, Fault::Kind> kKinds[] = {
    {"stuck", Fault::Kind::stuck},
    {"silent", Fault::Kind::silent},
    {"spikes", Fault::Kind::spikes},
    {"fahrenheit", Fault::Kind::fahrenheit},
    {"drift", Fault::Kind::drift}};
constexpr std::uint64_t kSpikeStream = 7;

Error malformed(std::string_view text, std::string what) {
  return {.what = std::move(what),
          .where = fmt::format("--fault {}", text),
          .remedy =
              "write kind:sensor:from/to, for example stuck:mist-b:2026-11-03/2026-11-10; kinds "
              "are stuck, silent, spikes, "
              "fahrenheit and drift"};
}

}  // namespace

Result<Instant> parse_day_or_time(std::string_view text) {
  constexpr std::size_t kDateLength = 10;
  if (text.size() == kDateLength) return parse_rfc3339(std::string(text) + "T00:00:00Z");
  return parse_rfc3339(text);
}

Result<Fault> parse_fault(std::string_view text) {
  const auto first = text.find(':');
  const auto second = first == text.npos ? text.npos : text.find(':', first + 1);
  const auto slash = second == text.npos ? text.npos : text.find('/', second);
  if (slash == text.npos) return malformed(text, "expected kind:sensor:from/to");
  const auto kind_name = text.substr(0, first),
             sensor_name = text.substr(first + 1, second - first - 1);

  const auto* kind =
      std::ranges::find(kKinds, kind_name, &std::pair<std::string_view, Fault::Kind>::first);
  if (kind == std::end(kKinds))
    return malformed(text, fmt::format("no kind of fault is called \"{}\"", kind_name));
  const auto* sensor = std::ranges::find(kSensors, sensor_name, &Sensor::name);
  if (sensor == kSensors.end())
    return malformed(text, fmt::format("no sensor is called \"{}\"", sensor_name));
  const auto from = parse_day_or_time(text.substr(second + 1, slash - second - 1)),
             until = parse_day_or_time(text.substr(slash + 1));
  if (!from) return malformed(text, from.error().message());
  if (!until) return malformed(text, until.error().message());
  if (*until <= *from) return malformed(text, "the fault ends before it begins");
  return Fault{.kind = kind->second, .sensor = sensor, .from = *from, .until = *until};
}

std::optional<Report> Faults::apply(Report report) {
  for (std::size_t i = 0; i < faults_.size(); ++i) {
    const Fault& fault = faults_[i];
    if (fault.sensor != report.sensor || report.time < fault.from || report.time >= fault.until)
      continue;
    switch (fault.kind) {
      case Fault::Kind::silent: return std::nullopt;
      case Fault::Kind::stuck:
        if (!held_[i]) held_[i] = report;
        report.temperature_c = held_[i]->temperature_c;
        report.humidity_rh = held_[i]->humidity_rh;
        break;
      case Fault::Kind::spikes: {
        const double chance = noise_.uniform(kSpikeStream + i, to_seconds(report.time));
        if (chance < 0.1) report.temperature_c += chance < 0.05 ? 17.0 : -17.0;
        break;
      }
      case Fault::Kind::fahrenheit: report.shows_fahrenheit = true; break;
      case Fault::Kind::drift:
        report.temperature_c += 0.25 * days_of(report.time - fault.from);
        break;
    }
  }
  return report;
}

}  // namespace plainwater::sim
