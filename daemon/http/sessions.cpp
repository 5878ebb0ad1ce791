#include "http/sessions.h"

#include <algorithm>
#include <utility>

#include "http/digest.h"

namespace plainwater::http {
namespace {

constexpr Span kSeenSpacing = minutes(1);  ///< finer is not worth keeping

/// A clock that was set back makes nothing older.
bool is_idle(const Session& session, Instant now) { return now - session.seen > kSessionIdle; }

}  // namespace

Sessions::Sessions(std::vector<Session> kept) {
  std::ranges::sort(kept, [](const Session& a, const Session& b) { return a.seen > b.seen; });
  for (Session& session : kept)
    if (by_hash_.size() < kMostSessions && count(session.person) < kMostOfPerson)
      by_hash_.emplace(session.hash, std::move(session));
}

std::size_t Sessions::count(std::string_view person) const {
  return static_cast<std::size_t>(std::ranges::count_if(by_hash_, [&](const auto& entry) {
    return person.empty() || entry.second.person == person;
  }));
}

void Sessions::end_longest_unused(std::string_view person) {
  auto oldest = by_hash_.end();
  for (auto at = by_hash_.begin(); at != by_hash_.end(); ++at)
    if ((person.empty() || at->second.person == person) &&
        (oldest == by_hash_.end() || at->second.seen < oldest->second.seen))
      oldest = at;
  if (oldest != by_hash_.end()) by_hash_.erase(oldest);
}

void Sessions::begin(Session session, std::string_view key) {
  while (count(session.person) >= kMostOfPerson) end_longest_unused(session.person);
  while (by_hash_.size() >= kMostSessions) end_longest_unused({});
  session.hash = sha256(key);
  by_hash_.insert_or_assign(session.hash, session);
  changed_ = true;
}

const Session* Sessions::find(std::string_view key, Instant now, const std::string& address) {
  if (key.empty()) return nullptr;
  const auto found = by_hash_.find(sha256(key));
  if (found == by_hash_.end()) return nullptr;
  Session& session = found->second;
  if (is_idle(session, now)) {
    by_hash_.erase(found);
    changed_ = true;
    return nullptr;
  }
  if (now - session.seen >= kSeenSpacing || now < session.seen || session.address != address) {
    session.seen = now;
    session.address = address;
    used_ = true;
  }
  return &session;
}

const Session* Sessions::with_id(std::string_view id) const {
  for (const auto& [hash, session] : by_hash_)
    if (session.id == id) return &session;
  return nullptr;
}

void Sessions::end(std::string_view id) {
  changed_ |= std::erase_if(by_hash_, [&](const auto& entry) { return entry.second.id == id; }) > 0;
}

void Sessions::keep(const std::function<bool(const Session&)>& fits) {
  changed_ |= std::erase_if(by_hash_, [&](const auto& entry) { return !fits(entry.second); }) > 0;
}

std::vector<Session> Sessions::list(std::string_view person, Instant now) const {
  std::vector<Session> out;
  for (const auto& [hash, session] : by_hash_)
    if ((person.empty() || session.person == person) && !is_idle(session, now))
      out.push_back(session);
  std::ranges::stable_sort(out, [](const auto& a, const auto& b) { return a.seen > b.seen; });
  return out;
}

std::vector<Session> Sessions::all() const {
  std::vector<Session> out;
  for (const auto& [hash, session] : by_hash_) out.push_back(session);
  return out;
}

bool Sessions::take_changed(bool used) {
  const bool changed = std::exchange(changed_, false) || (used && used_);
  if (changed) used_ = false;
  return changed;
}

}  // namespace plainwater::http
