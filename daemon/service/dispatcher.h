// What is on its way to the broker: in which order it is handed over, what became of it, and which
// rows of the outbox are settled by that. Pure.
//
// A publication is handed over only while few others are, so that an order overtakes notices,
// replies and climate that still wait here. Nothing that waits outlives a lost connection:
// orders and notices are sent again by their owner, all else is not.
#pragma once

#include <array>
#include <cstdint>
#include <deque>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "broker/publication.h"

namespace plainwater::service {

/// What goes out first; all of one rank in the order in which it was sent.
enum class Rank : std::uint8_t { order, notice, reply, state };

class Dispatcher {
 public:
  /// Handed over and not acknowledged, at most: more than the publisher has on the wire at a time,
  /// and few enough that an order waits for milliseconds only.
  static constexpr std::size_t kWindow = 32;
  /// Replies that wait, at most: whoever asks so fast can ask again.
  static constexpr std::size_t kMostReplies = 10'000;

  /// A new connection: all that was on its way is forgotten.
  void connected(int protocol_version);
  void lost();
  bool is_connected() const { return version_ != 0; }
  int protocol_version() const { return version_; }  ///< 5, 3, or 0 when not connected

  /// False when it was not taken: not connected, or too many replies wait. Of rank `state` a later
  /// one replaces an earlier one of its topic that still waits. `outbox_row` 0: it has none.
  bool send(Rank rank, broker::Publication publication, std::int64_t outbox_row = 0);
  /// What may be handed over now, with ids of this class.
  std::vector<broker::Publication> next();
  /// All that waits, at the end of the service.
  std::vector<broker::Publication> rest();
  /// The broker has it, or will never take it. Unknown ids, of a connection before, do nothing.
  void finished(std::uint64_t id);

  /// This row needs no publication any more: it has expired or was overtaken.
  void settle(std::int64_t outbox_row);
  /// Rows to be struck off the outbox; they stay until `struck_off`.
  const std::set<std::int64_t>& to_strike_off() const { return to_strike_off_; }
  void struck_off() { to_strike_off_.clear(); }

  bool is_on_the_way(std::int64_t outbox_row) const { return rows_.contains(outbox_row); }
  /// Rows on their way, and those not struck off yet.
  std::size_t unsettled() const { return rows_.size() + to_strike_off_.size(); }

 private:
  struct Waiting {
    broker::Publication publication;
    std::int64_t outbox_row = 0;
  };
  std::vector<broker::Publication> take(std::size_t most);

  int version_ = 0;
  std::array<std::deque<Waiting>, 4> waiting_;  ///< by rank
  /// Of rank `state`: topic -> its number in the queue, which begins at `first_state_`.
  std::map<std::string, std::uint64_t> state_topics_;
  std::uint64_t first_state_ = 0, next_state_ = 0;
  std::map<std::uint64_t, std::int64_t> handed_over_;  ///< id -> row
  std::set<std::int64_t> rows_;                        ///< waiting or handed over
  std::set<std::int64_t> to_strike_off_;
  std::uint64_t last_id_ = 0;
};

}  // namespace plainwater::service
