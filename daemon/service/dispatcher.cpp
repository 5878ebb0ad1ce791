#include "service/dispatcher.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

namespace plainwater::service {
namespace {

constexpr std::size_t kMostHeldNotices = 16;

std::string row_key(std::int64_t row) { return fmt::format("row {}", row); }

/// Ranks of which only the newest waits for each topic.
bool is_newest_only(Rank rank) { return rank != Rank::notice && rank != Rank::reply; }
bool is_order(Rank rank) { return rank == Rank::plain_water || rank == Rank::order; }

/// The key by which a publication is recognized on another connection; empty: none.
std::string key_of(Rank rank, const broker::Publication& publication, std::int64_t row) {
  if (is_newest_only(rank)) return publication.topic;
  return rank == Rank::notice && row != 0 ? row_key(row) : std::string();
}

std::size_t window_of(Rank rank) {
  if (rank == Rank::plain_water) return Dispatcher::kPlainWaterWindow;
  return rank == Rank::order ? Dispatcher::kOrderWindow : Dispatcher::kWindow;
}

}  // namespace

void Dispatcher::at(Span since_boot) {
  now_ = since_boot;
  if (!is_connected()) return;
  for (const auto& topic : retries_.due(now_)) {
    if (auto held = held_.extract(topic))
      push(held.mapped().rank, std::move(held.mapped().waiting));
    for (auto at = held_notices_.begin(); at != held_notices_.end();) {
      if (at->publication.topic == topic) {
        push(Rank::notice, std::move(*at));
        at = held_notices_.erase(at);
      } else {
        ++at;
      }
    }
  }
}

void Dispatcher::connected(int protocol_version, std::uint32_t largest_packet) {
  lost();
  rows_.clear();
  unsent_rows_.clear();
  version_ = protocol_version;
  largest_packet_ = largest_packet;
  worked_ = false;
  told_topics_ = 0;
  retries_.connected();
  for (auto& waiting : std::exchange(held_notices_, {})) push(Rank::notice, std::move(waiting));
}

void Dispatcher::lost() {
  version_ = 0;
  std::vector<std::string> on_the_wire;
  for (const auto& [id, out] : handed_over_) {
    if (on_the_wire.size() == broker::kMostOnTheWire) break;
    on_the_wire.push_back(key_of(out.rank, out.waiting.publication, out.waiting.outbox_row));
  }
  if (const auto key = suspects_.lost(on_the_wire, worked_); !key.empty()) convict(key);
  // Rows of orders stay on their way: only a new connection gives orders anew.
  const auto part = [this](Rank rank, Waiting& waiting) {
    if (is_newest_only(rank)) return keep_row(waiting.publication.topic, waiting.outbox_row);
    if (rank != Rank::notice) return;
    if (waiting.outbox_row != 0)
      leave_row(waiting.outbox_row);
    else if (held_notices_.size() < kMostHeldNotices)
      held_notices_.push_back(std::move(waiting));
  };
  for (auto& [id, out] : handed_over_) part(out.rank, out.waiting);
  for (std::size_t rank = 0; rank < kRanks; ++rank)
    for (auto& [number, waiting] : waiting_[rank]) part(static_cast<Rank>(rank), waiting);
  for (auto& [topic, held] : held_) part(held.rank, held.waiting);
  for (auto& line : waiting_) line.clear();
  places_.clear();
  held_.clear();
  handed_over_.clear();
  suspects_out_ = reply_bytes_ = 0;
}

void Dispatcher::convict(const std::string& key) {
  const auto out = std::ranges::find_if(handed_over_, [&](const auto& entry) {
    const auto& [rank, suspect, waiting] = entry.second;
    return key_of(rank, waiting.publication, waiting.outbox_row) == key;
  });
  if (out == handed_over_.end()) return;
  HandedOver guilty = std::move(out->second);
  handed_over_.erase(out);
  fail(guilty.rank, std::move(guilty.waiting), Refusal::undeliverable,
       fmt::format("the broker hung up on it {} times", Suspects::kMostLosses));
}

void Dispatcher::keep_row(const std::string& topic, std::int64_t row) {
  if (row == 0) return;
  rows_.insert(row);
  const auto [known, is_new] = unsent_rows_.try_emplace(topic, row);
  if (!is_new && known->second != row) settle(std::exchange(known->second, row));
}

void Dispatcher::leave_row(std::int64_t row) {
  rows_.erase(row);
  ++left_;
}

bool Dispatcher::send(Rank rank, broker::Publication publication, std::int64_t outbox_row) {
  Waiting waiting{std::move(publication), outbox_row, now_};
  if (is_newest_only(rank)) return send_newest(rank, std::move(waiting));
  if (rank == Rank::notice) return send_notice(std::move(waiting));
  const std::size_t bytes = waiting.publication.packet_size();
  if (!is_connected() || line(rank).size() >= kMostReplies ||
      reply_bytes_ + bytes > kMostReplyBytes || (largest_packet_ != 0 && bytes > largest_packet_))
    return false;
  push(rank, std::move(waiting));
  return true;
}

bool Dispatcher::send_newest(Rank rank, Waiting waiting) {
  const std::string topic = waiting.publication.topic;
  if (!is_connected()) {
    keep_row(topic, waiting.outbox_row);
    return false;
  }
  if (waiting.outbox_row != 0) rows_.insert(waiting.outbox_row);
  const auto* trouble = retries_.trouble(topic);
  bool same = false;
  if (const auto held = held_.extract(topic)) {
    const Waiting& older = held.mapped().waiting;
    same = older.publication.payload == waiting.publication.payload;
    if (older.outbox_row != waiting.outbox_row) settle(older.outbox_row);
  }
  if (trouble != nullptr && trouble->waits &&
      (same || trouble->refusal == Refusal::undeliverable)) {
    held_.insert_or_assign(topic, Held{rank, std::move(waiting)});
    return true;
  }
  if (const auto place = places_.find(topic); place != places_.end()) {
    auto& older = line(place->second.rank).at(place->second.number);
    if (older.outbox_row != waiting.outbox_row) settle(older.outbox_row);
    if (place->second.rank == rank) {
      older = std::move(waiting);
      return true;
    }
    line(place->second.rank).erase(place->second.number);
    places_.erase(place);
  }
  push(rank, std::move(waiting));
  return true;
}

bool Dispatcher::send_notice(Waiting waiting) {
  const std::size_t waits = line(Rank::notice).size();
  const bool held_back = retries_.waits(waiting.publication.topic);
  if (waiting.outbox_row != 0) {
    if (!is_connected() || waits >= kMostNotices || held_back) {
      ++left_;
      return false;
    }
    rows_.insert(waiting.outbox_row);
  } else if (!is_connected() || waits >= 2 * kMostNotices) {
    return false;  // a house notice, which bypasses the outbox
  } else if (held_back) {
    if (held_notices_.size() >= kMostHeldNotices) return false;
    held_notices_.push_back(std::move(waiting));
    return true;
  }
  push(Rank::notice, std::move(waiting));
  return true;
}

std::size_t Dispatcher::room_for_notices() const {
  const std::size_t waits = line(Rank::notice).size();
  return is_connected() && waits < kMostNotices ? kMostNotices - waits : 0;
}

void Dispatcher::push(Rank rank, Waiting waiting) {
  const std::uint64_t number = ++next_number_;
  if (is_newest_only(rank)) places_[waiting.publication.topic] = {rank, number};
  if (rank == Rank::reply) reply_bytes_ += waiting.publication.packet_size();
  line(rank).emplace(number, std::move(waiting));
}

Dispatcher::Waiting Dispatcher::remove(Rank rank, Line::iterator at) {
  Waiting waiting = std::move(at->second);
  line(rank).erase(at);
  if (is_newest_only(rank)) places_.erase(waiting.publication.topic);
  if (rank == Rank::reply) reply_bytes_ -= waiting.publication.packet_size();
  return waiting;
}

std::vector<broker::Publication> Dispatcher::next() { return take(false); }

std::vector<broker::Publication> Dispatcher::rest() { return take(true); }

std::vector<broker::Publication> Dispatcher::take(bool all) {
  std::vector<broker::Publication> out;
  for (std::size_t rank = 0; rank < kRanks; ++rank)
    if (!take_rank(static_cast<Rank>(rank), all, out)) break;
  return out;
}

/// Returns false if lower ranks have to wait.
bool Dispatcher::take_rank(Rank rank, bool all, std::vector<broker::Publication>& out) {
  const std::size_t most = all ? kMostAtTheEnd : window_of(rank);
  std::vector<Line::iterator> suspects;
  for (auto next = line(rank).begin(); next != line(rank).end();) {
    if (handed_over_.size() >= most) return false;
    // A suspect goes alone, but plain water waits for nothing.
    if (suspects_out_ > 0 && rank != Rank::plain_water && !all) return false;
    const auto at = next++;
    if (!fits(rank, at)) continue;
    const auto& waiting = at->second;
    if (suspects_.is_suspect(key_of(rank, waiting.publication, waiting.outbox_row)))
      suspects.push_back(at);
    else
      hand_over(rank, at, false, out);
  }
  if (suspects.empty()) return true;
  if (all) {
    // At the end a suspect may cost what follows; only an order is worth that.
    if (is_order(rank))
      for (const auto at : suspects) hand_over(rank, at, true, out);
    return true;
  }
  if (handed_over_.empty()) hand_over(rank, suspects.front(), true, out);
  return false;
}

bool Dispatcher::fits(Rank rank, Line::iterator at) {
  const std::size_t size = at->second.publication.packet_size();
  if (largest_packet_ == 0 || size <= largest_packet_) return true;
  const auto reason =
      fmt::format("{} bytes are larger than the broker takes ({})", size, largest_packet_);
  Waiting waiting = remove(rank, at);
  if (rank == Rank::notice)
    put_aside(waiting, reason);
  else
    fail(rank, std::move(waiting), Refusal::refused, reason);
  return false;
}

void Dispatcher::hand_over(Rank rank, Line::iterator at, bool suspect,
                           std::vector<broker::Publication>& out) {
  Waiting waiting = remove(rank, at);
  auto& publication = waiting.publication;
  publication.id = ++last_id_;
  if (publication.expiry_s) {
    const auto waited = std::chrono::duration_cast<seconds>(now_ - waiting.since).count();
    publication.expiry_s = static_cast<std::uint32_t>(
        std::max<std::int64_t>(1, *publication.expiry_s - std::max<std::int64_t>(0, waited)));
  }
  waiting.since = now_;
  out.push_back(publication);
  suspects_out_ += suspect ? 1 : 0;
  handed_over_.emplace(last_id_, HandedOver{rank, suspect, std::move(waiting)});
}

void Dispatcher::finished(std::uint64_t id) {
  const auto found = handed_over_.find(id);
  if (found == handed_over_.end()) return;
  const auto& [rank, suspect, waiting] = found->second;
  worked_ = true;
  suspects_out_ -= suspect ? 1 : 0;
  suspects_.clear(key_of(rank, waiting.publication, waiting.outbox_row));
  retries_.taken(waiting.publication.topic);
  refused_orders_.erase(waiting.publication.topic);
  settle(waiting.outbox_row);
  handed_over_.erase(found);
}

void Dispatcher::refused(std::uint64_t id, const std::string& reason) {
  const auto found = handed_over_.find(id);
  if (found == handed_over_.end()) return;
  HandedOver out = std::move(found->second);
  handed_over_.erase(found);
  worked_ = true;
  suspects_out_ -= out.suspect ? 1 : 0;
  suspects_.clear(key_of(out.rank, out.waiting.publication, out.waiting.outbox_row));
  fail(out.rank, std::move(out.waiting), Refusal::refused, reason);
}

void Dispatcher::fail(Rank rank, Waiting waiting, Refusal refusal, const std::string& reason) {
  const std::string topic = waiting.publication.topic;
  if (rank == Rank::reply) return tell(topic, reason);
  if (rank == Rank::notice && refusal == Refusal::undeliverable) return put_aside(waiting, reason);
  if (retries_.refused(topic, refusal, reason, now_)) tell(topic, reason);
  if (is_order(rank)) refused_orders_.insert(topic);
  if (rank == Rank::notice && waiting.outbox_row != 0) return leave_row(waiting.outbox_row);
  if (rank == Rank::notice) {
    if (held_notices_.size() < kMostHeldNotices) held_notices_.push_back(std::move(waiting));
    return;
  }
  // A newer publication makes this one obsolete.
  if (places_.contains(topic) || held_.contains(topic) ||
      is_newer_handed_over(topic, waiting.publication.id))
    return settle(waiting.outbox_row);
  if (!is_connected()) return keep_row(topic, waiting.outbox_row);
  held_.emplace(topic, Held{rank, std::move(waiting)});
}

bool Dispatcher::is_newer_handed_over(const std::string& topic, std::uint64_t id) const {
  if (id == 0) return false;  // this one was never handed over
  return std::any_of(handed_over_.upper_bound(id), handed_over_.end(), [&](const auto& entry) {
    return entry.second.waiting.publication.topic == topic;
  });
}

void Dispatcher::put_aside(const Waiting& waiting, const std::string& reason) {
  ++set_aside_.count;
  set_aside_.last = waiting.publication.topic + ": " + reason;
  set_aside_.when = now_;
  tell(waiting.publication.topic, reason + "; it is set aside");
  settle(waiting.outbox_row);
}

void Dispatcher::tell(const std::string& topic, const std::string& reason) {
  static constexpr std::size_t kTopicTold = 200;
  if (told_topics_ > kToldTopics) return;
  if (told_topics_++ == kToldTopics)
    told_.emplace_back("more is not delivered; it is not listed one by one");
  else
    told_.push_back(fmt::format("not delivered to {}: {}", topic.substr(0, kTopicTold), reason));
}

std::vector<std::string> Dispatcher::take_told() { return std::exchange(told_, {}); }

std::string Dispatcher::why_refused(const std::string& topic) const {
  const auto* trouble = retries_.trouble(topic);
  return trouble == nullptr ? std::string() : trouble->reason;
}

void Dispatcher::withdraw(const std::string& topic, std::string_view unless) {
  refused_orders_.erase(topic);  // nothing of ours belongs there now
  const auto stays = [&](const Waiting& waiting) {
    return !unless.empty() && waiting.publication.payload == unless;
  };
  if (const auto held = held_.find(topic); held != held_.end() && !stays(held->second.waiting))
    settle(held_.extract(held).mapped().waiting.outbox_row);
  const auto place = places_.find(topic);
  if (place == places_.end()) return;
  const auto [rank, number] = place->second;
  const auto at = line(rank).find(number);
  if (!stays(at->second)) settle(remove(rank, at).outbox_row);
}

void Dispatcher::settle(std::int64_t outbox_row) {
  if (outbox_row == 0) return;
  rows_.erase(outbox_row);
  to_strike_off_.insert(outbox_row);
  suspects_.clear(row_key(outbox_row));
}

}  // namespace plainwater::service
