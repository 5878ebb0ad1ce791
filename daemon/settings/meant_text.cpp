// Names, topics, addresses, pointers and labels, as they are slightly wrong.
#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "settings/meant.h"
#include "settings/mixture.h"
#include "settings/scalar.h"

namespace plainwater {
namespace {

std::string listen_address(std::string text) {
  for (const std::string_view scheme : {"http://", "https://", "tcp://"})
    if (text.starts_with(scheme)) text.erase(0, scheme.size());
  while (text.ends_with('/')) text.pop_back();
  if (text.starts_with('*')) text.replace(0, 1, "0.0.0.0");
  const bool is_port = !text.empty() && text.find_first_not_of("0123456789") == std::string::npos;
  if (is_port) text.insert(0, "127.0.0.1:");
  if (text.starts_with(':') && !text.starts_with("::")) text.insert(0, "127.0.0.1");
  if (read_listen_address(text)) return "write " + text;
  if (read_listen_address(text + ":8632")) return fmt::format("say the port, as in {}:8632", text);
  const auto colon = text.rfind(':');
  if (colon == std::string::npos) return {};
  const std::string bracketed = fmt::format("[{}]{}", text.substr(0, colon), text.substr(colon));
  if (read_listen_address(bracketed)) return "write " + bracketed;
  return read_listen_address("127.0.0.1" + text.substr(colon))
             ? "write the address in figures; 0.0.0.0 stands for all of this machine's"
             : "";
}

std::string web_address(std::string text) {
  if (text.find("://") == std::string::npos) text.insert(0, "http://");
  const auto path = text.find('/', text.find("://") + 3);
  text = text.substr(0, path);
  return is_web_address(text) ? "write " + text : "";
}

std::string named_zone(std::string text) {
  if (text.find('/') == std::string::npos && std::count(text.begin(), text.end(), ' ') == 1)
    std::replace(text.begin(), text.end(), ' ', '/');
  std::replace(text.begin(), text.end(), ' ', '_');
  std::replace(text.begin(), text.end(), '\\', '/');
  if (is_time_zone(text)) return "write " + text;
  return "name it by its place; summer time is known from that";
}

}  // namespace

std::string meant_text(TextRule rule, std::string_view typed) {
  const std::string text(typed);
  switch (rule) {
    case TextRule::level_name: return meant_name(typed);
    case TextRule::time_zone:
    case TextRule::csv_zone: return named_zone(text);
    case TextRule::listen_address: return listen_address(text);
    case TextRule::web_address: return web_address(text);
    case TextRule::time_of_day: return meant_time_of_day(typed);
    case TextRule::hours_of_day: return meant_hours_of_day(typed);
    case TextRule::broker_url:
    case TextRule::any: break;
  }
  return {};
}

std::string meant_name(std::string_view typed) {
  std::string name;
  for (const char c : typed.substr(0, 64)) {
    const bool bad = static_cast<unsigned char>(c) <= 0x20 || c == 0x7f ||
                     std::string_view("/+#{}$\"'").find(c) != std::string_view::npos;
    if (!bad)
      name += c;
    else if (!name.empty() && name.back() != '-')
      name += '-';
  }
  while (name.ends_with('-')) name.pop_back();
  return is_level_name(name) && typed.size() <= 64 ? "write " + name
                                                   : "use letters, digits and hyphens";
}

std::string meant_topic(std::string_view typed) {
  std::string topic;
  for (std::size_t i = 0; i < typed.size(); ++i) {
    char c = typed[i];
    if (c == '#' && i + 1 < typed.size()) c = '+';
    const bool wild = c == '+' || c == '#';
    if (wild && !topic.empty() && topic.back() != '/') topic += '/';
    topic += c;
    if (wild && i + 1 < typed.size() && typed[i + 1] != '/') topic += '/';
  }
  return typed.size() <= 64 && is_topic_filter(topic)
             ? fmt::format("write {}; + stands alone in its level, # alone in the last", topic)
             : "+ stands alone in its level, # alone in the last";
}

std::string meant_pointer(std::string_view typed) {
  std::string text(typed);
  if (text.starts_with("$.")) text.erase(0, 2);
  std::replace(text.begin(), text.end(), '.', '/');
  if (text.ends_with(']'))
    if (const auto bracket = text.find('['); bracket != std::string::npos) {
      text.pop_back();
      text[bracket] = '/';
    }
  if (!text.starts_with('/')) text.insert(0, "/");
  return text.size() <= 64 && is_json_pointer(text) &&
                 text.find_first_of("[]$") == std::string::npos
             ? "write " + text
             : "begin it with /, as in /air/temperature; write ~ as ~0";
}

std::string meant_label(std::string_view typed) {
  std::vector<std::string> parts(1);
  for (const char c : typed) {
    if ((c >= '0' && c <= '9') || (c == '.' && !parts.back().empty()))
      parts.back() += c;
    else if (!parts.back().empty())
      parts.emplace_back();
  }
  if (parts.back().empty()) parts.pop_back();
  const std::string label = fmt::format("{}", fmt::join(parts, "-"));
  return parts.size() == 3 && nitrogen_of_label(label)
             ? fmt::format("write \"{}\"", label)
             : "write three percentages, together at most 100, such as \"15-5-15\"";
}

}  // namespace plainwater
