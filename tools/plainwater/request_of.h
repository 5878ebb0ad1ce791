// A request made of what was typed.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "asking/when.h"
#include "feeding/request.h"
#include "plainwater/house.h"
#include "settings/settings.h"

namespace plainwater::tool {

struct RequestOptions {
  HouseOptions house;
  std::string target, from, until, person, note, who, to, expires, hold_id, instead;
  bool full = false, hold = false, yes = false, queue = false;
  std::optional<double> litres, strength_percent, ec;
};

/// What a request is about, by the names that are in the settings now.
struct Target {
  std::string bench{}, pump{}, notice{};  ///< one of them
  std::string told{};                     ///< that it has another name now; else empty
};
/// An error when the settings have no such name; it names the one that was meant where it can be
/// guessed. What only the service knows, such as open notices and benches that left the settings,
/// it says itself.
Result<Target> target_of(feeding::RequestKind kind, const std::string& typed,
                         const Settings& settings);

struct MadeRequest {
  feeding::Request request;
  std::vector<std::string> told;  ///< how its times were understood, a line each
};
/// `from`: what --at or --from means. Errors: a time or a number that the service could not even
/// read.
Result<MadeRequest> request_of(feeding::RequestKind kind, const RequestOptions& options,
                               const Target& target, const Settings& settings, asking::Sense from,
                               Instant now);

}  // namespace plainwater::tool
