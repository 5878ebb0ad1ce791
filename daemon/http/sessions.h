// Who has signed in, in which browsers. Of the key in a browser's cookie only its SHA-256 is kept,
// so that nobody who reads the memory or the file can use it. Pure: times and keys come in as
// arguments.
#pragma once

#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "common/instant.h"

namespace plainwater::http {

inline constexpr Span kSessionIdle = kDay * 30;  ///< unused for so long it ends
inline constexpr std::size_t kMostSessions = 400, kMostOfPerson = 10;

struct Session {
  std::string id;      ///< names it for people, 16 figures; opens nothing
  std::string hash;    ///< SHA-256 of its key, 64 figures
  std::string person;  ///< who signed in
  std::string secret;  ///< SHA-256 of the hash of the secret that was given: another ends it
  Instant begun{}, seen{};
  std::string address;  ///< where it was last used from
  std::string browser;  ///< in a few words
};

class Sessions {
 public:
  /// With the sessions of before; more than are allowed are left out, the longest unused first.
  explicit Sessions(std::vector<Session> kept = {});

  /// Begins one of `key`, which is not kept. Ends the longest unused ones when there are too many.
  void begin(Session session, std::string_view key);
  /// The session of this key, used now from there; null: none, or too long unused.
  const Session* find(std::string_view key, Instant now, const std::string& address);
  const Session* with_id(std::string_view id) const;
  void end(std::string_view id);
  /// Ends those that do not fit.
  void keep(const std::function<bool(const Session&)>& fits);
  /// The last used first; of one person, or of all when it is empty. Without those that are too
  /// long unused.
  std::vector<Session> list(std::string_view person, Instant now) const;
  std::vector<Session> all() const;

  /// True once after sessions began or ended; what was only used counts when `used` is true.
  bool take_changed(bool used);

 private:
  void end_longest_unused(std::string_view person);
  std::size_t count(std::string_view person) const;

  std::map<std::string, Session, std::less<>> by_hash_;
  bool changed_ = false, used_ = false;
};

}  // namespace plainwater::http
