// The name of somebody who may sign in.
#pragma once

#include <string_view>

namespace plainwater {

/// One MQTT topic level that is also safe in header fields, in pages and in sentences: without
/// quotes and any of < > & \ , ; : = `.
bool is_persons_name(std::string_view name);

}  // namespace plainwater
