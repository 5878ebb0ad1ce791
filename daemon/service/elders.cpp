#include "service/elders.h"

#include <algorithm>

namespace plainwater::service {

void Elders::heard(const std::string& instance, const outlet::Alive& alive) {
  if (alive.aside || alive.drains || !alive.history_since || !own_) return;
  if (*alive.history_since >= *own_) return;
  if (!last_.contains(instance) && last_.size() >= kMost) return;
  last_[instance] = hearing_;
}

void Elders::look(Span since_boot, bool hearing) {
  if (!hearing) return looked_.reset();
  heard_once_ = true;
  if (looked_) hearing_ += std::min(since_boot - *looked_, kStep);
  looked_ = since_boot;
  std::erase_if(last_, [&](const auto& entry) { return hearing_ - entry.second >= kSilence; });
}

std::optional<std::set<std::string>> Elders::alive() const {
  if (!heard_once_) return std::nullopt;
  std::set<std::string> names;
  for (const auto& [instance, last] : last_) names.insert(instance);
  return names;
}

}  // namespace plainwater::service
