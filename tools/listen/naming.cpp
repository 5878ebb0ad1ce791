#include "listen/naming.h"

#include <fmt/format.h>

#include <algorithm>

#include "common/utf8.h"
#include "listen/meaning.h"
#include "settings/scalar.h"

namespace plainwater::listen {
namespace {

constexpr std::size_t kNamedLevels = 3;
constexpr std::size_t kLongestPattern = 60;  ///< bytes; a name may have 64
constexpr int kMostNumbers = 9;

/// Says nothing at the end of a name; "air" does.
bool neutral(const std::string& level) {
  return level.empty() || (level != "air" && meaning_of(words_of(level)) == Meaning::neutral);
}

std::string shortened(std::string name) {
  if (name.size() > kLongestPattern) name.resize(kLongestPattern);
  while (!name.empty() && !is_utf8(name)) name.pop_back();
  return name;
}

/// Which level the first of the kept ones is.
std::optional<std::size_t> first_kept(const std::vector<std::string>& levels,
                                      const std::vector<std::string>& kept,
                                      std::optional<std::size_t> wildcard) {
  if (kept.empty()) return std::nullopt;
  if (kept.front() == "{1}") return wildcard;
  for (std::size_t i = 0; i < levels.size(); ++i)
    if (as_name(levels[i]) == kept.front()) return i;
  return std::nullopt;
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

Naming::Naming(const std::vector<Source>& sources, std::set<std::string> taken)
    : taken_(std::move(taken)) {
  for (const Source& source : sources) shared_.add(source.entry.topic);
}

std::string Naming::name(const std::vector<const Source*>& members,
                         std::optional<std::size_t> wildcard, std::vector<std::string>& sensors) {
  const Source& first = *members.front();
  const std::size_t levels = topic_levels(first.entry.topic).size();
  std::string pattern;
  for (std::size_t most = kNamedLevels; most <= levels + 1; ++most) {
    pattern = pattern_of(first, wildcard, most);
    if (take(pattern, members, wildcard, sensors)) return pattern;
  }
  pattern = pattern_of(first, wildcard, kNamedLevels);
  for (int number = 2; number <= kMostNumbers; ++number)
    if (const auto numbered = fmt::format("{}-{}", pattern, number);
        take(numbered, members, wildcard, sensors))
      return numbered;
  if (wildcard) return {};
  for (int number = 1;; ++number)
    if (const auto plain = fmt::format("sensor-{}", number);
        take(plain, members, wildcard, sensors))
      return plain;
}

/// The last `most` telling levels; one more than there are levels: all of the topic.
std::string Naming::pattern_of(const Source& source, std::optional<std::size_t> wildcard,
                               std::size_t most) const {
  const auto levels = topic_levels(source.entry.topic);
  const std::size_t shared = shared_.of(levels);
  const bool all = most > levels.size();
  std::vector<std::string> kept;
  for (std::size_t i = levels.size(); i-- > 0;) {
    if (wildcard && *wildcard == i)
      kept.emplace_back("{1}");
    else if (all || (i >= shared && kept.size() < most &&
                     !(neutral(levels[i]) && kept.empty() && i > shared)))
      kept.push_back(as_name(levels[i]));
  }
  std::reverse(kept.begin(), kept.end());
  if (const auto first = first_kept(levels, kept, wildcard);
      first && *first > 0 && number_alone(levels[*first]))
    kept.insert(kept.begin(), as_name(levels[*first - 1]));
  if (!source.device.empty()) kept.push_back(as_name(source.device));
  std::string name;
  for (const std::string& part : kept)
    if (!part.empty()) name += (name.empty() ? "" : "-") + part;
  return shortened(std::move(name));
}

bool Naming::take(const std::string& pattern, const std::vector<const Source*>& members,
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

}  // namespace plainwater::listen
