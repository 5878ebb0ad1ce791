#include "service/answered_asks.h"

#include <algorithm>

namespace plainwater::service {

const AnsweredAsk* AnsweredAsks::find(const feeding::Request& request) const {
  const auto digest = feeding::digest_of(request);
  const auto found = std::ranges::find_if(
      kept_, [&](const Kept& kept) { return kept.id == request.id && kept.digest == digest; });
  return found == kept_.end() ? nullptr : &found->answer;
}

void AnsweredAsks::keep(const feeding::Request& request, const AnsweredAsk& answer) {
  if (kept_.size() >= kMost) kept_.pop_front();
  kept_.push_back({request.id, feeding::digest_of(request), answer});
}

}  // namespace plainwater::service
