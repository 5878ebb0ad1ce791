#include "service/suspects.h"

namespace plainwater::service {

std::string Suspects::lost(const std::vector<std::string>& on_the_wire, bool worked) {
  for (const auto& key : on_the_wire) {
    if (key.empty()) continue;
    const bool was_suspect = !losses_.try_emplace(key, 0).second;
    if (on_the_wire.size() > 1 || !was_suspect || !worked) continue;
    if (++losses_[key] < kMostLosses) continue;
    losses_.erase(key);
    return key;
  }
  return {};
}

}  // namespace plainwater::service
