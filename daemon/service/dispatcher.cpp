#include "service/dispatcher.h"

#include <optional>
#include <utility>

#include "common/check.h"

namespace plainwater::service {

void Dispatcher::connected(int protocol_version) {
  lost();
  rows_.clear();
  version_ = protocol_version;
}

void Dispatcher::lost() {
  version_ = 0;
  // Rows stay known as on their way: only a new connection gives them anew.
  for (auto& queue : waiting_) queue.clear();
  state_topics_.clear();
  first_state_ = next_state_;
  handed_over_.clear();
}

bool Dispatcher::send(Rank rank, broker::Publication publication, std::int64_t outbox_row) {
  if (outbox_row != 0) rows_.insert(outbox_row);
  if (!is_connected()) return false;
  auto& queue = waiting_[static_cast<std::size_t>(rank)];
  if (rank == Rank::reply && queue.size() >= kMostReplies) return false;
  if (rank == Rank::state) {
    const auto [known, is_new] = state_topics_.try_emplace(publication.topic, next_state_);
    if (!is_new) {
      check(known->second - first_state_ < queue.size());
      queue[known->second - first_state_].publication = std::move(publication);
      return true;
    }
    ++next_state_;
  }
  queue.push_back({std::move(publication), outbox_row});
  return true;
}

std::vector<broker::Publication> Dispatcher::next() { return take(kWindow); }

std::vector<broker::Publication> Dispatcher::rest() { return take(SIZE_MAX); }

std::vector<broker::Publication> Dispatcher::take(std::size_t most) {
  std::vector<broker::Publication> out;
  for (std::size_t rank = 0; rank < waiting_.size(); ++rank) {
    auto& queue = waiting_[rank];
    while (!queue.empty() && handed_over_.size() < most) {
      Waiting first = std::move(queue.front());
      queue.pop_front();
      if (rank == static_cast<std::size_t>(Rank::state)) {
        state_topics_.erase(first.publication.topic);
        ++first_state_;
      }
      first.publication.id = ++last_id_;
      handed_over_.emplace(last_id_, first.outbox_row);
      out.push_back(std::move(first.publication));
    }
  }
  return out;
}

void Dispatcher::finished(std::uint64_t id) {
  const auto found = handed_over_.find(id);
  if (found == handed_over_.end()) return;
  if (found->second != 0) settle(found->second);
  handed_over_.erase(found);
}

void Dispatcher::settle(std::int64_t outbox_row) {
  rows_.erase(outbox_row);
  to_strike_off_.insert(outbox_row);
}

}  // namespace plainwater::service
