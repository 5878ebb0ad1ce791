#include "service/retries.h"

#include <algorithm>

namespace plainwater::service {

bool Retries::refused(const std::string& topic, Refusal refusal, const std::string& reason,
                      Span now) {
  const auto [at, is_new] = troubles_.try_emplace(topic);
  Trouble& trouble = at->second;
  trouble.refusal = refusal;
  trouble.reason = reason;
  if (trouble.waits) return is_new;
  trouble.pause = std::clamp(2 * trouble.pause, kFirst, kLongest);
  trouble.due = now + trouble.pause;
  trouble.waits = true;
  waiting_.emplace(trouble.due, topic);
  return is_new;
}

void Retries::taken(const std::string& topic) {
  const auto at = troubles_.find(topic);
  if (at == troubles_.end()) return;
  waiting_.erase({at->second.due, topic});
  troubles_.erase(at);
}

void Retries::connected() {
  for (auto& [topic, trouble] : troubles_) {
    if (trouble.refusal != Refusal::refused || !trouble.waits) continue;
    waiting_.erase({trouble.due, topic});
    trouble.waits = false;
  }
}

std::vector<std::string> Retries::due(Span now) {
  std::vector<std::string> topics;
  while (!waiting_.empty() && waiting_.begin()->first <= now) {
    topics.push_back(waiting_.begin()->second);
    troubles_.at(topics.back()).waits = false;
    waiting_.erase(waiting_.begin());
  }
  return topics;
}

const Retries::Trouble* Retries::trouble(const std::string& topic) const {
  const auto at = troubles_.find(topic);
  return at == troubles_.end() ? nullptr : &at->second;
}

bool Retries::waits(const std::string& topic) const {
  const auto* known = trouble(topic);
  return known != nullptr && known->waits;
}

}  // namespace plainwater::service
