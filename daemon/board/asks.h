// What a person may ask for where something stands on a page: requests with what is known of them
// already filled in, as JSON of config/openapi.json (Ask).
#pragma once

#include <string>
#include <vector>

#include "board/needs.h"
#include "settings/settings.h"
#include "status/status.h"

namespace plainwater::board {

/// Requests that make sense beside it, the most fitting first; the acknowledgement last.
std::vector<std::string> asks_beside(const Need& need, const status::Status& status,
                                     const Settings& settings);
/// {"request": …, "bench": …}
std::string ask_of_bench(feeding::RequestKind kind, const std::string& bench);

}  // namespace plainwater::board
