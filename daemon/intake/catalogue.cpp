#include "intake/catalogue.h"

#include <algorithm>
#include <set>

namespace plainwater::intake {
namespace {

bool has_wildcard(std::string_view topic) {
  return topic.find_first_of("+#") != std::string_view::npos;
}

std::vector<std::string> without_covered(const std::set<std::string>& filters) {
  std::vector<std::string> kept;
  for (const std::string& filter : filters) {
    const auto covers = [&](const std::string& other) {
      return other != filter && filter_covers(other, filter);
    };
    if (std::none_of(filters.begin(), filters.end(), covers)) kept.push_back(filter);
  }
  return kept;
}

}  // namespace

Catalogue::Catalogue(std::shared_ptr<const Settings> settings) : settings_(std::move(settings)) {
  for (std::size_t i = 0; i < settings_->sensors.size(); ++i)
    sensors_.emplace(settings_->sensors[i].name, static_cast<SensorId>(i));
  std::set<std::string> filters;
  for (const SensorMapping& mapping : settings_->mappings) {
    if (mapping.topic.empty()) continue;
    if (has_wildcard(mapping.topic)) {
      families_.push_back(&mapping);
    } else {
      const auto sensor = sensors_.find(mapping.name);
      if (sensor == sensors_.end()) continue;  // unused: do not subscribe to it
      exact_[mapping.topic].push_back({sensor->second, &mapping});
      with_own_entry_.insert(sensor->second);
    }
    filters.insert(mapping.topic);
  }
  for (const PumpReport& report : settings_->pump_reports)
    if (!report.topic.empty()) filters.insert(report.topic);
  subscriptions_ = without_covered(filters);
}

std::vector<Match> Catalogue::match(std::string_view topic) const {
  std::vector<Match> matches;
  if (const auto found = exact_.find(topic); found != exact_.end()) matches = found->second;
  const std::size_t exact = matches.size();
  std::vector<std::string_view> levels;
  for (const SensorMapping* family : families_) {
    levels.clear();
    if (!filter_takes(family->topic, topic, &levels)) continue;
    const auto sensor = sensors_.find(with_levels(family->name, levels));
    if (sensor != sensors_.end() && !with_own_entry_.contains(sensor->second))
      matches.push_back({sensor->second, family});
  }
  if (exact > 0 && matches.size() > exact)
    std::sort(matches.begin(), matches.end(),
              [](const Match& a, const Match& b) { return a.mapping < b.mapping; });
  return matches;
}

std::vector<const PumpReport*> Catalogue::reports(std::string_view topic) const {
  // A house has few pumps, so a linear search is cheapest.
  std::vector<const PumpReport*> found;
  for (const PumpReport& report : settings_->pump_reports)
    if (filter_takes(report.topic, topic)) found.push_back(&report);
  return found;
}

}  // namespace plainwater::intake
