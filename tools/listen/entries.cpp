#include "listen/entries.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include "listen/meaning.h"
#include "settings/family.h"
#include "settings/scalar.h"

namespace plainwater::listen {
namespace {

constexpr std::size_t kNamedLevels = 3;
constexpr std::size_t kDeepestFamily = 10;  ///< levels of a topic
constexpr std::size_t kLongestName = 64;

std::string joined(const std::vector<std::string>& levels, char by) {
  std::string out;
  for (std::size_t i = 0; i < levels.size(); ++i)
    out += (i > 0 ? std::string(1, by) : "") + levels[i];
  return out;
}

bool neutral(const std::string& level) {
  return meaning_of(words_of(level)) == Meaning::neutral || level.empty();
}

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

std::string with_plus(std::vector<std::string> levels, std::size_t at) {
  levels[at] = "+";
  return joined(levels, '/');
}

class Naming {
 public:
  Naming(const std::vector<Source>& sources, std::set<std::string> taken)
      : taken_(std::move(taken)) {
    for (const Source& source : sources) shared_.add(source.entry.topic);
  }

  /// A name of the topic's levels, `{1}` at `wildcard`, that gives each of `topics` a new sensor
  /// name. Fills `sensors` with those.
  std::string name(const std::vector<const Source*>& members, std::optional<std::size_t> wildcard,
                   std::vector<std::string>& sensors) {
    const auto levels = topic_levels(members.front()->entry.topic);
    const std::size_t shared = shared_.of(levels);
    for (std::size_t more = kNamedLevels; more <= levels.size() + 1; ++more) {
      const std::string pattern = pattern_of(*members.front(), levels, shared, wildcard, more);
      if (take(pattern, members, wildcard, sensors)) return pattern;
    }
    for (int number = 2;; ++number) {
      const std::string pattern = fmt::format(
          "{}-{}", pattern_of(*members.front(), levels, shared, wildcard, kNamedLevels), number);
      if (take(pattern, members, wildcard, sensors)) return pattern;
    }
  }

 private:
  /// The last `most` telling levels; one more than there are levels: all of the topic.
  std::string pattern_of(const Source& source, const std::vector<std::string>& levels,
                         std::size_t shared, std::optional<std::size_t> wildcard,
                         std::size_t most) const {
    std::vector<std::string> kept;
    const bool all = most > levels.size();
    for (std::size_t i = levels.size(); i-- > 0;) {
      if (wildcard && *wildcard == i)
        kept.emplace_back("{1}");
      else if (all || (i >= shared && kept.size() < most &&
                       !(neutral(levels[i]) && kept.empty() && i > shared && levels[i] != "air")))
        kept.push_back(as_name(levels[i]));
    }
    std::reverse(kept.begin(), kept.end());
    if (const auto first = first_kept(levels, kept, wildcard);
        first && number_alone(levels[*first]) && *first > 0)
      kept.insert(kept.begin(), as_name(levels[*first - 1]));
    std::string name = joined(kept, '-');
    if (!source.device.empty()) name += "-" + as_name(source.device);
    if (name.size() > kLongestName - 4) name.resize(kLongestName - 4);
    return name.empty() ? "sensor" : name;
  }

  /// Which level the first of the kept ones is.
  static std::optional<std::size_t> first_kept(const std::vector<std::string>& levels,
                                               const std::vector<std::string>& kept,
                                               std::optional<std::size_t> wildcard) {
    if (kept.empty()) return std::nullopt;
    if (kept.front() == "{1}") return wildcard;
    for (std::size_t i = 0; i < levels.size(); ++i)
      if (as_name(levels[i]) == kept.front()) return i;
    return std::nullopt;
  }

  bool take(const std::string& pattern, const std::vector<const Source*>& members,
            std::optional<std::size_t> wildcard, std::vector<std::string>& sensors) {
    std::set<std::string> fresh;
    sensors.clear();
    if (taken_.contains(pattern)) return false;
    for (const Source* member : members) {
      std::string name = pattern;
      if (wildcard) {
        const auto at = name.find("{1}");
        if (at == std::string::npos) return false;
        name.replace(at, 3, topic_levels(member->entry.topic)[*wildcard]);
      }
      if (!is_level_name(name) || taken_.contains(name) || !fresh.insert(name).second) return false;
      sensors.push_back(std::move(name));
    }
    taken_.merge(fresh);
    taken_.insert(pattern);
    return true;
  }

  SharedLevels shared_;
  std::set<std::string> taken_;
};

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

bool number_alone(const std::string& level) {
  return !level.empty() && level.find_first_not_of("0123456789") == std::string::npos;
}

std::string as_name(const std::string& text) {
  std::string name;
  for (const char c : text) {
    const bool allowed =
        static_cast<unsigned char>(c) > 0x20 && c != 0x7f &&
        std::string_view("/+#{}$:;,\"'\\~*&!|>%@`?").find(c) == std::string_view::npos;
    if (allowed)
      name += c;
    else if (!name.empty() && name.back() != '-')
      name += '-';
  }
  while (!name.empty() && (name.back() == '-' || name.back() == '.')) name.pop_back();
  while (!name.empty() && (name.front() == '-' || name.front() == '.')) name.erase(0, 1);
  return name;
}

void SharedLevels::add(const std::string& topic) {
  auto levels = topic_levels(topic);
  const auto [found, fresh] = by_first_.try_emplace(levels.front());
  auto& [common, alone] = found->second;
  if (fresh) {
    common = std::move(levels);
    return;
  }
  if (common == levels) return;
  alone = false;
  const auto [end, other] =
      std::mismatch(common.begin(), common.end(), levels.begin(), levels.end());
  common.erase(end, common.end());
}

std::size_t SharedLevels::of(const std::vector<std::string>& levels) const {
  const auto found = by_first_.find(levels.front());
  if (found == by_first_.end()) return 0;
  if (found->second.alone) return levels.size() > 2 ? levels.size() - 2 : 0;
  return std::min(found->second.levels.size(), levels.size() - 1);
}

std::vector<Entry> entries_of(const std::vector<Source>& sources, std::set<std::string> taken) {
  std::vector<Entry> out;
  Naming naming(sources, std::move(taken));
  std::set<const Source*> placed;
  const auto add = [&](std::vector<const Source*> members, std::optional<std::size_t> level) {
    Entry entry{.mapping = members.front()->entry, .sources = std::move(members)};
    entry.doubtful = entry.sources.front()->sure == Sure::doubtful;
    entry.mapping.name = naming.name(entry.sources, level, entry.sensors);
    if (level) entry.mapping.topic = with_plus(topic_levels(entry.mapping.topic), *level);
    out.push_back(std::move(entry));
  };
  for (Family& family : families_of(sources)) {
    if (out.size() >= kMostFamilies) break;
    placed.insert(family.members.begin(), family.members.end());
    add(std::move(family.members), family.level);
  }
  for (const bool doubtful : {false, true})
    for (const Source& source : sources)
      if (!placed.contains(&source) && (source.sure == Sure::doubtful) == doubtful) {
        if (out.size() >= kMostEntries) break;
        add({&source}, std::nullopt);
      }
  std::stable_sort(out.begin(), out.end(), [](const Entry& a, const Entry& b) {
    return std::tie(a.doubtful, a.mapping.topic) < std::tie(b.doubtful, b.mapping.topic);
  });
  return out;
}

}  // namespace plainwater::listen
