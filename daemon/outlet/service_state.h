// What a service says of itself on `service/<instance>`; described in config/schemas/service.json.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "common/instant.h"
#include "status/service.h"

namespace plainwater::outlet {

/// A heartbeat goes out every minute; the message expires after three missed ones.
inline constexpr seconds kHeartbeat{60};
inline constexpr seconds kServiceExpiry = 3 * kHeartbeat;

/// Whose a heartbeat is.
struct Alive {
  std::string store_id;  ///< as orders name it
  std::string run;       ///< of this process
  std::optional<Instant> history_since{};
  bool aside = false;   ///< it gives no orders, since another service under its name does
  bool drains = false;  ///< it gives none yet: the broker's backlog is not in
};
/// None when it is no heartbeat, or of a program that does not tell.
std::optional<Alive> read_alive(std::string_view json);

/// {"from", "until", "person"}, or null: nobody is away, and no absence is announced.
std::string absence_json(const std::optional<engine::AbsenceNow>& absence);
std::string online_json(const status::Service& service);
/// What the clock is: "settled", "unsettled" or "readings".
const char* clock_word(const status::Service& service);
/// All that was not used, by reason: of messages, requests, pumps' reports, and by the engine.
std::map<std::string, std::uint64_t> refused_by_reason(const status::Service& service);
/// The will, and what an orderly stop leaves behind.
std::string offline_json(const std::string& instance, const std::string& version);

}  // namespace plainwater::outlet
