#include "settings/topic_filter.h"

#include <fmt/format.h>

namespace plainwater {
namespace {

/// Takes the first level off; afterwards `more` tells whether another follows.
std::string_view next_level(std::string_view& rest, bool& more) {
  const auto slash = rest.find('/');
  const std::string_view level = rest.substr(0, slash);
  more = slash != std::string_view::npos;
  rest.remove_prefix(more ? slash + 1 : rest.size());
  return level;
}

}  // namespace

std::optional<std::vector<std::string_view>> levels_matched(std::string_view filter,
                                                            std::string_view topic) {
  std::vector<std::string_view> levels;
  bool more_filter = true, more_topic = true;
  while (more_filter) {
    if (filter == "#") {
      levels.push_back(topic);
      return levels;  // also where nothing is left: house/# matches house
    }
    if (!more_topic) return std::nullopt;
    const std::string_view want = next_level(filter, more_filter);
    const std::string_view have = next_level(topic, more_topic);
    if (want == "+")
      levels.push_back(have);
    else if (want != have)
      return std::nullopt;
  }
  return more_topic ? std::nullopt : std::optional(std::move(levels));
}

std::string with_levels(std::string_view name, const std::vector<std::string_view>& levels) {
  std::string out(name);
  for (std::size_t i = levels.size(); i-- > 0;) {
    const std::string brace = fmt::format("{{{}}}", i + 1);
    for (auto at = out.find(brace); at != std::string::npos; at = out.find(brace, at)) {
      out.replace(at, brace.size(), levels[i]);
      at += levels[i].size();
    }
  }
  return out;
}

bool filters_meet(std::string_view a, std::string_view b) {
  bool more_a = true, more_b = true;
  while (more_a && more_b) {
    if (a == "#" || b == "#") return true;
    const std::string_view left = next_level(a, more_a), right = next_level(b, more_b);
    if (left != right && left != "+" && right != "+") return false;
  }
  return more_a ? a == "#" : more_b ? b == "#" : true;
}

}  // namespace plainwater
