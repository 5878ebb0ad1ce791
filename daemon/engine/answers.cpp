#include "engine/answers.h"

#include <algorithm>

namespace plainwater::engine {
namespace {
constexpr Span kAnswersKept = 400 * kDay;
constexpr std::size_t kAnswersMost = 10'000;
}  // namespace

const feeding::Reply* Answers::find(const std::string& id) const {
  const auto seen = by_id_.find(id);
  return seen == by_id_.end() ? nullptr : &seen->second.reply;
}

void Answers::keep(const std::string& id, const feeding::Reply& reply, Instant now) {
  std::erase_if(by_id_, [&](const auto& entry) { return entry.second.when < now - kAnswersKept; });
  if (by_id_.size() >= kAnswersMost)
    by_id_.erase(std::min_element(by_id_.begin(), by_id_.end(), [](const auto& a, const auto& b) {
      return a.second.when < b.second.when;
    }));
  by_id_[id] = {now, reply};
}

}  // namespace plainwater::engine
