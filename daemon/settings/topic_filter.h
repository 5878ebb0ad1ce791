// MQTT topic filters against topics and against each other (MQTT 5, section 4.7). The filters are
// valid: see is_topic_filter.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace plainwater {

/// What the wildcards of `filter` stand for in `topic`, in order, # for all the rest; none when the
/// topic does not match.
std::optional<std::vector<std::string_view>> levels_matched(std::string_view filter,
                                                            std::string_view topic);
/// `name` with {1}, {2} … replaced by the levels.
std::string with_levels(std::string_view name, const std::vector<std::string_view>& levels);
/// True when some topic matches both.
bool filters_meet(std::string_view a, std::string_view b);

}  // namespace plainwater
