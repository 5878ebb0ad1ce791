#include "settings/topic_filter.h"

#include <charconv>
#include <optional>

namespace plainwater {
namespace {

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

bool filters_meet(std::string_view a, std::string_view b) {
  std::optional<std::string_view> rest_a = a, rest_b = b;
  while (true) {
    const auto left = next_level(rest_a), right = next_level(rest_b);
    if (left == "#" || right == "#") return true;
    if (!left || !right) return !left && !right;
    if (*left != *right && *left != "+" && *right != "+") return false;
  }
}

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

}  // namespace plainwater
