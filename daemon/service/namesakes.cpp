#include "service/namesakes.h"

#include <algorithm>
#include <tuple>

namespace plainwater::service {

bool Namesakes::goes_before(const outlet::Alive& one, const outlet::Alive& other) {
  const auto rank = [](const outlet::Alive& alive) {
    return std::tuple(alive.history_since.value_or(kForever), alive.store_id, alive.run);
  };
  return rank(one) < rank(other);
}

void Namesakes::heard(const outlet::Alive& alive) {
  if (alive.run == own_.run || alive.aside || !goes_before(alive, own_)) return;
  if (!older_.contains(alive.run) && older_.size() >= kMost) return;
  auto& known = older_[alive.run];
  known = {alive, known.times + 1, hearing_.total()};
}

void Namesakes::look(Span since_boot, bool hearing) {
  hearing_.look(since_boot, hearing);
  std::erase_if(
      older_, [&](const auto& entry) { return hearing_.total() - entry.second.last >= kSilence; });
}

const outlet::Alive* Namesakes::aside_for() const {
  const auto found =
      std::ranges::find_if(older_, [](const auto& entry) { return entry.second.times >= kHeard; });
  return found == older_.end() ? nullptr : &found->second.alive;
}

}  // namespace plainwater::service
