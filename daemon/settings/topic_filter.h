// MQTT topic filters against topics and against each other (MQTT 5, section 4.7). The filters are
// valid ones: see is_topic_filter.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace plainwater {

/// True when the MQTT topic filter `filter` matches `topic`; `levels` receives the text matched by
/// each wildcard, in order (for `#` the whole rest). Wildcards never match topics that begin with
/// `$`.
bool filter_takes(std::string_view filter, std::string_view topic,
                  std::vector<std::string_view>* levels = nullptr);
/// True when `wide` matches every topic that `narrow` matches.
bool filter_covers(std::string_view wide, std::string_view narrow);

/// True when some topic matches both.
bool filters_meet(std::string_view a, std::string_view b);
/// `name` with {1}, {2} … replaced by the levels: "{1}-air" with levels {"b4"} -> "b4-air". What
/// refers to no level stays.
std::string with_levels(std::string_view name, const std::vector<std::string_view>& levels);

}  // namespace plainwater
