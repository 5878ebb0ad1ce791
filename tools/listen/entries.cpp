#include "listen/entries.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include "listen/meaning.h"
#include "listen/naming.h"
#include "settings/family.h"
#include "settings/scalar.h"

namespace plainwater::listen {
namespace {

constexpr std::size_t kDeepestFamily = 10;  ///< levels of a topic

/// What makes two sources alike but for their topic.
using Shape = std::tuple<std::string, PayloadForm, int, std::string, std::string, std::string,
                         std::string, std::string, int, std::string, int, std::string>;
Shape shape_of(const Source& source, std::string topic) {
  const SensorMapping& m = source.entry;
  return {std::move(topic),
          m.form,
          static_cast<int>(m.quantity),
          m.temperature,
          m.humidity,
          m.place,
          m.time,
          m.outdoors_word + "/" + m.indoors_word,
          static_cast<int>(m.unit),
          fmt::format("{} {}", m.scale, m.humidity_scale),
          static_cast<int>(source.sure == Sure::doubtful),
          source.device + " " + source.late_time};
}

std::string with_plus(const std::vector<std::string>& levels, std::size_t at) {
  std::string out;
  for (std::size_t i = 0; i < levels.size(); ++i)
    out += (i > 0 ? "/" : "") + (i == at ? "+" : levels[i]);
  return out;
}

struct Family {
  std::size_t level = 0;
  std::vector<const Source*> members;
};

/// The largest families first; each source is in one at most.
std::vector<Family> families_of(const std::vector<Source>& sources) {
  std::map<std::pair<Shape, std::size_t>, std::vector<const Source*>> alike;
  for (const Source& source : sources) {
    const auto levels = topic_levels(source.entry.topic);
    for (std::size_t i = 0; i < levels.size() && levels.size() <= kDeepestFamily; ++i)
      if (is_level_name(levels[i]))
        alike[{shape_of(source, with_plus(levels, i)), i}].push_back(&source);
  }
  std::vector<std::pair<const std::pair<Shape, std::size_t>*, const std::vector<const Source*>*>>
      order;
  for (const auto& [key, members] : alike)
    if (members.size() >= kFamily) order.emplace_back(&key, &members);
  std::stable_sort(order.begin(), order.end(), [](const auto& a, const auto& b) {
    return a.second->size() > b.second->size();
  });
  std::vector<Family> out;
  std::set<const Source*> placed;
  std::set<std::tuple<std::string, std::string>> claimed;  // of a topic each field is of one entry
  for (const auto& [key, members] : order) {
    Family family{.level = key->second, .members = {}};
    std::copy_if(members->begin(), members->end(), std::back_inserter(family.members),
                 [&](const Source* source) { return !placed.contains(source); });
    if (family.members.size() < kFamily) continue;
    const SensorMapping& entry = family.members.front()->entry;
    if (!claimed.emplace(std::get<0>(key->first), entry.temperature + entry.humidity + entry.place)
             .second)
      continue;
    placed.insert(family.members.begin(), family.members.end());
    out.push_back(std::move(family));
  }
  return out;
}

}  // namespace

std::vector<Entry> entries_of(const std::vector<Source>& sources, std::set<std::string> taken) {
  std::vector<Entry> out;
  Naming naming(sources, std::move(taken));
  std::set<const Source*> placed;
  const auto add = [&](const std::vector<const Source*>& members,
                       std::optional<std::size_t> level) {
    Entry entry{.mapping = members.front()->entry, .sources = members};
    entry.doubtful = members.front()->sure == Sure::doubtful;
    entry.mapping.name = naming.name(members, level, entry.sensors);
    if (entry.mapping.name.empty()) return;  // then each for itself
    if (level) entry.mapping.topic = with_plus(topic_levels(entry.mapping.topic), *level);
    placed.insert(members.begin(), members.end());
    out.push_back(std::move(entry));
  };
  for (const Family& family : families_of(sources))
    if (out.size() < kMostFamilies) add(family.members, family.level);
  for (const bool doubtful : {false, true})
    for (const Source& source : sources)
      if (!placed.contains(&source) && (source.sure == Sure::doubtful) == doubtful &&
          out.size() < kMostEntries)
        add({&source}, std::nullopt);
  std::stable_sort(out.begin(), out.end(), [](const Entry& a, const Entry& b) {
    return std::tie(a.doubtful, a.mapping.topic) < std::tie(b.doubtful, b.mapping.topic);
  });
  return out;
}

}  // namespace plainwater::listen
