// JSON shapes that the MQTT topics and the board share.
#pragma once

#include <string>

#include "common/instant.h"
#include "common/json_text.h"

namespace plainwater {

inline std::string time_or_null(Instant t) {
  return t == kNever ? "null" : json_string(format_rfc3339(t));
}
inline std::string text_or_null(const std::string& text) {
  return text.empty() ? "null" : json_string(text);
}

/// `form` makes JSON of each item.
template <class Items, class Form>
std::string array(const Items& items, Form form) {
  std::string json = "[";
  for (const auto& item : items) {
    if (json.size() > 1) json += ',';
    json += form(item);
  }
  return json + "]";
}

}  // namespace plainwater
