#include "settings/settings.h"

#include <algorithm>

namespace plainwater {
namespace {

struct GroupFigures {
  const char* name;
  double night_c, chill_floor_c, middle_c;
};

const GroupFigures& figures(Group group) {
  static constexpr GroupFigures kFigures[] = {
      {"cool", 10, 5, 11.5}, {"intermediate", 13, 10, 15.5}, {"warm", 18, 13, 19.5}};
  return kFigures[static_cast<std::size_t>(group)];
}

struct SaltFigures {
  double alarm_ec, refusal_ec;
};

const SaltFigures& figures(SaltTolerance tolerance) {
  static constexpr SaltFigures kFigures[] = {{0.8, 1.0}, {1.2, 1.5}, {1.6, 2.1}};
  return kFigures[static_cast<std::size_t>(tolerance)];
}

template <class List>
std::optional<std::size_t> find_sorted(const List& list, std::string_view name) {
  const auto found =
      std::lower_bound(list.begin(), list.end(), name,
                       [](const auto& item, std::string_view n) { return item.name < n; });
  if (found == list.end() || found->name != name) return std::nullopt;
  return static_cast<std::size_t>(found - list.begin());
}

template <class List>
std::vector<std::size_t> heirs(const List& list, std::string_view former) {
  if (const auto same = find_sorted(list, former)) return {*same};
  std::vector<std::size_t> found;
  for (std::size_t i = 0; i < list.size(); ++i)
    if (std::ranges::find(list[i].was, former) != list[i].was.end()) found.push_back(i);
  return found;
}

}  // namespace

Instant Site::local(Instant t) const {
  const auto after = std::upper_bound(offsets.begin(), offsets.end(), t,
                                      [](Instant at, const ZoneOffset& o) { return at < o.from; });
  return after == offsets.begin() ? t : t + seconds(std::prev(after)->seconds);
}

std::optional<SensorId> Settings::sensor(std::string_view name) const {
  const auto at = find_sorted(sensors, name);
  return at ? std::optional(SensorId{static_cast<std::uint32_t>(*at)}) : std::nullopt;
}

std::optional<std::size_t> Settings::bench(std::string_view name) const {
  return find_sorted(benches, name);
}

std::optional<std::size_t> Settings::pump(std::string_view name) const {
  return find_sorted(pumps, name);
}

std::vector<std::size_t> Settings::heirs_of_bench(std::string_view former) const {
  return heirs(benches, former);
}

std::optional<SensorId> Settings::heir_of_sensor(std::string_view former) const {
  const auto found = heirs(sensors, former);
  return found.empty() ? std::nullopt
                       : std::optional(SensorId{static_cast<std::uint32_t>(found.front())});
}

std::optional<std::size_t> Settings::heir_of_pump(std::string_view former) const {
  const auto found = heirs(pumps, former);
  return found.empty() ? std::nullopt : std::optional(found.front());
}

bool Pump::feeds(std::string_view bench) const {
  return std::ranges::find(benches, bench) != benches.end();
}

const Pump* Settings::pump_of(std::string_view bench) const {
  for (const Pump& pump : pumps)
    if (pump.feeds(bench)) return &pump;
  return nullptr;
}

const Recipe* Settings::recipe(std::string_view name) const {
  const auto at = find_sorted(recipes, name);
  return at ? &recipes[*at] : nullptr;
}

const Water* Settings::water(std::string_view name) const {
  const auto at = find_sorted(waters, name);
  return at ? &waters[*at] : nullptr;
}

bool tells_place(const SensorMapping& mapping) {
  return mapping.quantity == Quantity::place || !mapping.place.empty();
}
bool tells_air(const SensorMapping& mapping) {
  const bool by_payload =
      mapping.form == PayloadForm::number && mapping.quantity != Quantity::place;
  return by_payload || !mapping.temperature.empty() || !mapping.humidity.empty();
}

double group_night_c(const Bench& bench) {
  return bench.group_night_c.value_or(figures(bench.group).night_c);
}
double chill_floor_c(const Bench& bench) {
  return bench.chill_floor_c.value_or(figures(bench.group).chill_floor_c);
}
double group_middle_c(Group group) { return figures(group).middle_c; }
double alarm_ec(const Bench& bench) {
  return bench.alarm_ec.value_or(figures(bench.salt_tolerance).alarm_ec);
}
double refusal_ec(const Bench& bench) {
  return bench.refusal_ec.value_or(figures(bench.salt_tolerance).refusal_ec);
}
const char* name_of(Group group) { return figures(group).name; }

const char* name_of(Role role) {
  static constexpr const char* kNames[] = {"look", "care", "keeper"};
  return kNames[static_cast<std::size_t>(role)];
}

}  // namespace plainwater
