#include "http/browser_name.h"

#include <span>

namespace plainwater::http {
namespace {

struct Mark {
  std::string_view in, name;
};

/// The first that is found counts: most browsers also name those that they are like.
constexpr Mark kBrowsers[] = {
    {"Edg", "Edge"},        {"OPR/", "Opera"},    {"SamsungBrowser", "Samsung Internet"},
    {"Firefox", "Firefox"}, {"FxiOS", "Firefox"}, {"Chrome", "Chrome"},
    {"CriOS", "Chrome"},    {"Safari", "Safari"}, {"curl/", "curl"},
    {"python", "Python"},   {"Python", "Python"}};
constexpr Mark kSystems[] = {{"Android", "Android"}, {"iPhone", "iPhone"},  {"iPad", "iPad"},
                             {"Windows", "Windows"}, {"Mac OS X", "macOS"}, {"CrOS", "ChromeOS"},
                             {"Linux", "Linux"}};

std::string_view found(std::string_view agent, std::span<const Mark> marks) {
  for (const Mark& mark : marks)
    if (agent.find(mark.in) != std::string_view::npos) return mark.name;
  return {};
}

}  // namespace

std::string browser_name(std::string_view agent) {
  const std::string_view browser = found(agent, kBrowsers), system = found(agent, kSystems);
  if (browser.empty()) return system.empty() ? "unknown" : std::string(system);
  return std::string(browser) + (system.empty() ? "" : " on " + std::string(system));
}

}  // namespace plainwater::http
