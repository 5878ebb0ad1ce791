// The health of the service itself, and what people hear of it: a slow or failing store, the clock,
// the broker's backlog; and the heartbeat. Pure; its notices bypass the store, which may be what is
// wrong.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/result.h"
#include "notices/desk.h"
#include "service/effects.h"
#include "settings/settings.h"
#include "status/service.h"

namespace plainwater::service {

class Health {
 public:
  static constexpr Span kSlow = seconds(1);          ///< a healthy disk needs milliseconds
  static constexpr Span kSlowTold = minutes(2);      ///< how long a slow write is reported
  static constexpr Span kRefusalNews = seconds(10);  ///< how soon refusals bring a heartbeat
  static constexpr Span kToldTimeBehind = hours(1);  ///< of engine time, when it runs fast

  explicit Health(const Settings& settings);
  /// Knows what people have heard from `before`.
  Health(const Settings& settings, const Health& before);

  /// Something that may have waited for the disk took `span`, and ended at `since_boot`.
  void took(Span span, Span since_boot, Effects& out);
  /// The store still cannot be written; logs the reason if it is a new one.
  void still_in_trouble(const Error& why, Effects& out);
  void recovered() { told_trouble_.clear(); }
  /// Fills in what concerns the store.
  void describe_store(const std::optional<Error>& trouble, Span since_boot,
                      status::Service& service) const;

  /// What is to be told of the house now. `backlog_lasts`: the wait for the broker is worth
  /// telling.
  std::vector<notices::Message> look(const status::Service& service, bool backlog_lasts,
                                     Span since_boot, bool can_tell);
  feeding::Reply acknowledge(std::string_view id, const std::string& who,
                             const status::Service& service, Span since_boot);
  const notices::Desk& desk() const { return desk_; }

  /// Whether a heartbeat is due; if so the caller must send one.
  bool heartbeat_due(const status::Service& service, Span since_boot);
  /// For the service manager: "healthy, waiting for the broker".
  static std::string words(const status::Service& service);

 private:
  notices::Desk desk_;  ///< counts by the boot clock; in memory only
  Span last_slow_;      ///< since boot; when the disk was last slow
  Span slowest_{0};     ///< longest write while the disk is slow
  std::string told_trouble_;
  std::string told_words_;
  Span heartbeat_;                 ///< since boot
  Instant told_time_{from_ms(0)};  ///< engine time of the last heartbeat
  std::uint64_t told_refused_ = 0;
};

}  // namespace plainwater::service
