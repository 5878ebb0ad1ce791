// The state of the house and of its benches as JSON: Now, House and Bench of config/openapi.json.
#pragma once

#include <string>
#include <vector>

#include "board/needs.h"
#include "settings/settings.h"
#include "status/status.h"

namespace plainwater::board {

/// A Need.
std::string need_json(const Need& need, const words::Reader& reader);
/// A Bench; `at` is its place in `status.benches`.
std::string bench_json(const status::Status& status, std::size_t at, const Settings& settings);
/// A House; with `benches`, Bench by Bench, a Now.
std::string house_json(const status::Status& status, const Settings& settings,
                       const std::vector<std::string>* benches = nullptr);
/// "celsius" or "fahrenheit", with the site's name and time zone: a Site.
std::string site_json(const Settings& settings);

}  // namespace plainwater::board
