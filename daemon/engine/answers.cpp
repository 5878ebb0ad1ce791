#include "engine/answers.h"

#include <algorithm>

#include "common/quoted.h"

namespace plainwater::engine {
namespace {
constexpr Span kAnswersKept = 400 * kDay;
constexpr std::size_t kAnswersMost = 10'000;
}  // namespace

feeding::Reply Answers::Former::reply() const {
  auto read = words::sentence_of(said);
  return {done, problem, read ? std::move(*read) : words::as_it_is(said)};
}

std::optional<feeding::Reply> Answers::find(const feeding::Request& request) const {
  const auto seen = by_id_.find(request.id);
  if (seen == by_id_.end()) return std::nullopt;
  const Answered& first = seen->second;
  if (!first.digest || *first.digest == feeding::digest_of(request)) return first.reply();
  return feeding::Reply{false, "id-reused",
                        words::say("request.id-reused", {{"id", words::name(quoted(request.id))}})};
}

std::vector<Obeyed> Answers::obeyed_since(Instant since) const {
  std::vector<Obeyed> obeyed;
  for (const auto& [id, answer] : by_id_)
    if (answer.done && answer.when >= since)
      obeyed.push_back({id, answer.when, answer.digest, answer.said});
  return obeyed;
}

void Answers::keep(const feeding::Request& request, const feeding::Reply& reply, Instant now) {
  const auto forget = [&](auto entry) {
    forgotten_ = std::max(forgotten_, entry->second.when);
    return by_id_.erase(entry);
  };
  for (auto entry = by_id_.begin(); entry != by_id_.end();)
    entry = entry->second.when < now - kAnswersKept ? forget(entry) : std::next(entry);
  if (by_id_.size() >= kAnswersMost)
    forget(std::min_element(by_id_.begin(), by_id_.end(), [](const auto& a, const auto& b) {
      return a.second.when < b.second.when;
    }));
  by_id_[request.id] = {{now, reply.done, reply.problem, words::to_json(reply.said)},
                        feeding::digest_of(request)};
}

}  // namespace plainwater::engine
