#include "intake/catalogue.h"

#include <algorithm>
#include <charconv>
#include <optional>
#include <set>

namespace plainwater::intake {
namespace {

bool has_wildcard(std::string_view topic) {
  return topic.find_first_of("+#") != std::string_view::npos;
}

/// Cuts the first level off `topic`; none when nothing is left.
std::optional<std::string_view> next_level(std::optional<std::string_view>& topic) {
  if (!topic) return std::nullopt;
  const auto slash = topic->find('/');
  const std::string_view level = topic->substr(0, slash);
  topic = slash == std::string_view::npos ? std::nullopt : std::optional(topic->substr(slash + 1));
  return level;
}

/// The text of the wildcard reference, {1} to {99}, at the start of `name`; its length is put into
/// `length`. None when `name` begins with something else, or refers to a wildcard that does not
/// exist.
const std::string_view* level_named(std::string_view name,
                                    const std::vector<std::string_view>& levels,
                                    std::size_t& length) {
  unsigned number = 0;
  const char* const end = name.data() + name.size();
  if (!name.starts_with('{')) return nullptr;
  const auto [rest, error] = std::from_chars(name.data() + 1, end, number);
  if (error != std::errc{} || rest == end || *rest != '}' || number < 1 || number > levels.size())
    return nullptr;
  length = static_cast<std::size_t>(rest + 1 - name.data());
  return &levels[number - 1];
}

/// "{1}-air" with levels {"b4"} -> "b4-air".
std::string with_levels(std::string_view name, const std::vector<std::string_view>& levels) {
  std::string out;
  while (!name.empty()) {
    std::size_t length = 1;
    const std::string_view* level = level_named(name, levels, length);
    if (level != nullptr)
      out += *level;
    else
      out += name.front();
    name.remove_prefix(length);
  }
  return out;
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

bool filter_takes(std::string_view filter, std::string_view topic,
                  std::vector<std::string_view>* levels) {
  if (topic.empty() ||
      (topic.starts_with('$') && (filter.starts_with('+') || filter.starts_with('#'))))
    return false;
  std::optional<std::string_view> wanted_rest = filter, rest = topic;
  while (const auto wanted = next_level(wanted_rest)) {
    if (*wanted == "#") {
      if (levels != nullptr) levels->push_back(rest.value_or(std::string_view{}));
      return true;  // even when nothing is left: "a/#" takes "a"
    }
    const auto level = next_level(rest);
    if (!level || (*wanted != "+" && *wanted != *level)) return false;
    if (*wanted == "+" && levels != nullptr) levels->push_back(*level);
  }
  return !rest;
}

bool filter_covers(std::string_view wide, std::string_view narrow) {
  if (narrow.starts_with('$') && (wide.starts_with('+') || wide.starts_with('#'))) return false;
  std::optional<std::string_view> wide_rest = wide, narrow_rest = narrow;
  while (const auto wanted = next_level(wide_rest)) {
    if (*wanted == "#") return true;
    const auto level = next_level(narrow_rest);
    if (!level || *level == "#" || (*wanted != "+" && *wanted != *level)) return false;
  }
  return !narrow_rest;
}

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
