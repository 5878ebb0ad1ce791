// The name of somebody who may sign in.
#pragma once

#include <string_view>

namespace plainwater {

/// One MQTT topic level that is also safe in header fields, in pages and in sentences: without
/// quotes and any of < > & \ , ; : = `, without characters that nobody sees (control characters,
/// spaces of any width, marks that turn the direction of writing), and none of the levels that
/// notices have at this place in their topics: urgent, soon, info.
bool is_persons_name(std::string_view name);

inline constexpr const char* kNoPersonsName =
    "expected a person's name: at most 64 bytes without spaces, quotes, invisible characters or "
    "any of / + # { } < > & \\ , ; : =, and other than urgent, soon and info";
inline constexpr const char* kPersonsNameRemedy = "write one such as ines or ines-mayer";

}  // namespace plainwater
