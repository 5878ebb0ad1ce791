#include <algorithm>
#include <map>

#include "listen/entries.h"
#include "listen/meaning.h"
#include "listen/naming.h"
#include "settings/scalar.h"

namespace plainwater::listen {
namespace {

constexpr std::size_t kMostBenches = 24;  ///< of more the place was guessed wrong

/// One sensor of the air, and the levels of its topic that may name places.
struct Placed {
  std::string name;
  std::vector<std::string> places;
  bool temperature = false, outdoors = false;
  bool says_what = false;  ///< one more level says what it measures
};

/// Whether a level only says what is measured.
bool says_what(const std::string& level) {
  const Meaning meaning = meaning_of(words_of(level));
  return meaning == Meaning::temperature || meaning == Meaning::humidity;
}

std::vector<Placed> placed_sensors(const std::vector<Entry>& entries) {
  SharedLevels shared_levels;
  for (const Entry& entry : entries)
    for (const Source* source : entry.sources)
      if (!entry.doubtful && source->tells_air()) shared_levels.add(source->entry.topic);
  std::vector<Placed> out;
  for (const Entry& entry : entries) {
    for (std::size_t i = 0; i < entry.sources.size(); ++i) {
      const Source& source = *entry.sources[i];
      if (entry.doubtful || !source.tells_air()) continue;
      Placed one{.name = entry.sensors[i], .places = {}};
      one.temperature = source.celsius.has_value();
      const auto levels = topic_levels(source.entry.topic);
      const std::size_t shared = shared_levels.of(levels);
      for (std::size_t k = 0; k < levels.size(); ++k) {
        one.outdoors = one.outdoors || says_outdoors(words_of(levels[k]));
        one.says_what = one.says_what || says_what(levels[k]);
        if (k < shared || says_what(levels[k]) || as_name(levels[k]).empty()) continue;
        const bool joined = number_alone(levels[k]) && k > 0;
        one.places.push_back((joined ? as_name(levels[k - 1]) + "-" : "") + as_name(levels[k]));
      }
      const std::string device = as_name(source.device);
      one.outdoors = one.outdoors || says_outdoors(words_of(device));
      out.push_back(std::move(one));
    }
  }
  return out;
}

}  // namespace

House house_of(const std::vector<Entry>& entries) {
  House out;
  for (const Entry& entry : entries)
    for (std::size_t i = 0; i < entry.sources.size(); ++i)
      if (!entry.doubtful && entry.sources[i]->is_contact())
        out.contacts.push_back(entry.sensors[i]);
  std::vector<Placed> inside;
  for (Placed& one : placed_sensors(entries))
    if (one.outdoors && one.temperature && out.outdoors.empty())
      out.outdoors = one.name;
    else if (!one.outdoors)
      inside.push_back(std::move(one));
  if (inside.empty() && !out.outdoors.empty()) {
    out.benches.push_back({"bench-1", {out.outdoors}});
    out.outdoors.clear();
    out.one_bench = true;
  }
  std::map<std::string, std::vector<const Placed*>> by_place;
  for (const Placed& one : inside)
    by_place[one.places.empty() ? "" : one.places.front()].push_back(&one);
  ProposedBench rest{.name = "bench-1", .sensors = {}};
  for (int number = 2; by_place.contains(rest.name); ++number)
    rest.name = "bench-" + std::to_string(number);
  for (const auto& [place, sensors] : by_place) {
    const bool tells = std::any_of(sensors.begin(), sensors.end(),
                                   [](const Placed* one) { return one->temperature; });
    const bool is_place =
        is_level_name(place) &&
        (sensors.size() > 1 || sensors.front()->places.size() > 1 || sensors.front()->says_what);
    std::vector<std::string> names;
    for (const Placed* one : sensors) names.push_back(one->name);
    if (tells && is_place && by_place.size() <= kMostBenches)
      out.benches.push_back({place, std::move(names)});
    else
      rest.sensors.insert(rest.sensors.end(), names.begin(), names.end());
  }
  if (!rest.sensors.empty()) {
    out.one_bench = out.benches.empty();
    out.benches.push_back(std::move(rest));
  }
  return out;
}

}  // namespace plainwater::listen
