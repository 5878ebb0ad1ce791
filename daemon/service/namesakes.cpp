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

void Namesakes::heard(const outlet::Alive& alive, Span since_boot) {
  if (alive.run == own_.run || alive.aside || !goes_before(alive, own_)) return;
  if (!older_.contains(alive.run) && older_.size() >= kMost) return;
  auto& known = older_[alive.run];
  known = {alive, known.times + 1, since_boot};
}

void Namesakes::look(Span since_boot, bool hearing) {
  const bool again = hearing && !hearing_;
  hearing_ = hearing;
  if (!hearing) return;
  for (auto& [run, known] : older_)
    if (again) known.last = since_boot;
  std::erase_if(older_,
                [&](const auto& entry) { return since_boot - entry.second.last >= kSilence; });
}

const outlet::Alive* Namesakes::aside_for() const {
  const auto found =
      std::ranges::find_if(older_, [](const auto& entry) { return entry.second.times >= kHeard; });
  return found == older_.end() ? nullptr : &found->second.alive;
}

}  // namespace plainwater::service
