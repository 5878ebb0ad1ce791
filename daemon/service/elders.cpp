#include "service/elders.h"

#include <algorithm>

namespace plainwater::service {

void Elders::heard(const std::string& instance, const outlet::Alive& alive) {
  if (alive.aside || alive.drains || !alive.history_since || !own_) return;
  if (*alive.history_since >= *own_) return;
  if (!last_.contains(instance) && last_.size() >= kMost) return;
  last_[instance] = hearing_.total();
}

void Elders::look(Span since_boot, bool hearing) {
  hearing_.look(since_boot, hearing);
  std::erase_if(last_,
                [&](const auto& entry) { return hearing_.total() - entry.second >= kSilence; });
}

std::optional<std::set<std::string>> Elders::alive() const {
  if (!hearing_.ever()) return std::nullopt;
  std::set<std::string> names;
  for (const auto& [instance, last] : last_) names.insert(instance);
  return names;
}

}  // namespace plainwater::service
