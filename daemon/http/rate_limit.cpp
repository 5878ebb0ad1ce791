#include "http/rate_limit.h"

namespace plainwater::http {
namespace {

/// No name or address is so.
constexpr const char* kOthers = "\n";

}  // namespace

void RateLimit::forget(Span now) {
  for (auto at = done_.begin(); at != done_.end();) {
    auto& times = at->second;
    while (!times.empty() && times.front() + span_ <= now) times.pop_front();
    at = times.empty() ? done_.erase(at) : std::next(at);
  }
}

std::string RateLimit::place_of(const std::string& key, Span now) {
  if (done_.contains(key)) return key;
  if (done_.size() >= keys_) forget(now);
  return done_.size() < keys_ ? key : kOthers;
}

Span RateLimit::wait(const std::string& key, Span now) {
  const auto found = done_.find(place_of(key, now));
  if (found == done_.end()) return Span(0);
  auto& times = found->second;
  while (!times.empty() && times.front() + span_ <= now) times.pop_front();
  if (times.size() >= most_) return times.front() + span_ - now;
  if (times.empty()) done_.erase(found);
  return Span(0);
}

void RateLimit::count(const std::string& key, Span now) {
  auto& times = done_[place_of(key, now)];
  times.push_back(now);
  if (times.size() > most_) times.pop_front();
}

void RateLimit::take_back(const std::string& key) {
  auto found = done_.find(key);
  if (found == done_.end()) found = done_.find(kOthers);
  if (found == done_.end()) return;
  found->second.pop_back();
  if (found->second.empty()) done_.erase(found);
}

}  // namespace plainwater::http
