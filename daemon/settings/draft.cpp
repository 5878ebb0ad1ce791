#include "settings/draft.h"

namespace plainwater {

int Draft::line(std::string_view path) const {
  while (true) {
    if (const auto found = lines.find(path); found != lines.end()) return found->second;
    const auto dot = path.rfind('.');
    if (dot == std::string_view::npos) return 0;
    path = path.substr(0, dot);
  }
}

bool Draft::refused_at(std::string_view path) const {
  while (true) {
    if (refused.contains(path)) return true;
    const auto dot = path.rfind('.');
    if (dot == std::string_view::npos) return false;
    path = path.substr(0, dot);
  }
}

bool Draft::doubtful(std::string_view path) const {
  if (refused_at(path)) return true;
  const std::string inside = std::string(path) + ".";
  const auto below = refused.lower_bound(inside);
  return below != refused.end() && below->starts_with(inside);
}

Draft draft_of(const Settings& settings) {
  Draft draft;
  draft.settings = settings;
  for (const Bench& bench : settings.benches) {
    BenchDraft& entry = draft.benches.emplace_back();
    entry.bench = bench;
    for (const SensorId id : bench.sensors)
      entry.sensors.push_back(settings.sensors[index(id)].name);
    if (bench.contact) entry.contact = settings.sensors[index(*bench.contact)].name;
  }
  draft.pumps = settings.pumps;
  return draft;
}

}  // namespace plainwater
