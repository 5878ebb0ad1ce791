#include "board/needs.h"

#include <algorithm>
#include <utility>

namespace plainwater::board {

std::vector<Need> needs(const status::Status& status, const Settings& settings) {
  auto matters = notices::lasting(status::house_of(status.service));
  auto of_benches = notices::lasting(
      status.service.now, status.benches, status.pumps, status.sensors, status.gone, settings,
      [&](std::string_view id) { return status.open.contains(std::string(id)); });
  std::ranges::move(of_benches, std::back_inserter(matters));
  std::vector<Need> needs;
  for (auto& matter : matters) {
    Need need{std::move(matter), {}};
    if (const auto told = status.open.find(need.matter.id()); told != status.open.end()) {
      if (need.matter.since == kNever) need.matter.since = told->second.since;
      need.acknowledged_by = told->second.acknowledged_by;
    }
    needs.push_back(std::move(need));
  }
  std::ranges::stable_sort(needs, {}, [](const Need& need) { return need.matter.urgency; });
  return needs;
}

}  // namespace plainwater::board
