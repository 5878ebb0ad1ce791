// What is on its way to the broker: in which order it is handed over, what becomes of it, and which
// outbox rows that settles. Pure; times are by the boot clock.
//
// Plain water first. A publication is handed over only while few others are unacknowledged, so that
// an order overtakes all that still waits here. Only the newest order, placard and state wait for
// each topic, and all but a few notices wait in the store's outbox: so memory is bounded by the
// number of benches. What waits is dropped with the connection: orders and notices are sent again
// by their owner, all else is not.
//
// What the broker refuses is kept and tried again (`Retries`). What may have made it hang up is
// tried alone and, if it is to blame, set aside (`Suspects`). What is larger than the broker takes
// is never sent.
#pragma once

#include <array>
#include <cstdint>
#include <deque>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "broker/publication.h"
#include "common/instant.h"
#include "service/retries.h"
#include "service/suspects.h"

namespace plainwater::service {

/// What goes out first; within a rank in the order of sending.
enum class Rank : std::uint8_t {
  plain_water,  ///< orders and strengths that lock the feed stock
  order,        ///< other orders and strengths
  placard,
  notice,
  reply,
  state,
};

class Dispatcher {
 public:
  /// At most this many are handed over and not acknowledged: more than the publisher has on the
  /// wire at a time, and few enough that an order waits only milliseconds. Orders get more, so that
  /// they do not wait for a slow disk between batches.
  static constexpr std::size_t kWindow = 32, kOrderWindow = 128, kPlainWaterWindow = 1024;
  /// Most notices that wait here; the others wait in the outbox.
  static constexpr std::size_t kMostNotices = 64;
  /// Most replies that wait: whoever asks that fast can ask again.
  static constexpr std::size_t kMostReplies = 10'000, kMostReplyBytes = 16 * 1024 * 1024;
  /// Most that is handed over when the service ends: what the publisher has room for.
  static constexpr std::size_t kMostAtTheEnd = 8'000;

  /// Sets the boot clock's time; retries that are due join the queue.
  void at(Span since_boot);

  /// A new connection: forgets all that was on its way. `largest_packet` (MQTT 5): bytes, the
  /// broker takes nothing larger; 0: it did not say.
  void connected(int protocol_version, std::uint32_t largest_packet = 0);
  void lost();
  bool is_connected() const { return version_ != 0; }
  int protocol_version() const { return version_; }  ///< 5, 3, or 0 when not connected

  /// False when it was not taken: not connected, or too many replies or notices wait. An order,
  /// placard or state replaces an earlier one of its topic that still waits, and settles its row.
  /// `outbox_row` 0: none.
  bool send(Rank rank, broker::Publication publication, std::int64_t outbox_row = 0);
  /// What may be handed over now, with ids assigned here.
  std::vector<broker::Publication> next();
  /// All that waits; for the end of the service.
  std::vector<broker::Publication> rest();
  /// The broker has it. Ids from an earlier connection are ignored.
  void finished(std::uint64_t id);
  /// The broker refused it, or the library cannot send it.
  void refused(std::uint64_t id, const std::string& reason);

  /// Drops what waits for this topic, unless its payload is `unless`.
  void withdraw(const std::string& topic, std::string_view unless = "");
  /// This row no longer needs publishing: it has expired or was overtaken.
  void settle(std::int64_t outbox_row);
  /// Rows to strike off the outbox; kept until `struck_off`.
  const std::set<std::int64_t>& to_strike_off() const { return to_strike_off_; }
  void struck_off() { to_strike_off_.clear(); }

  bool is_on_the_way(std::int64_t outbox_row) const { return rows_.contains(outbox_row); }
  /// How many rows are on their way or not yet struck off, plus notices left in the outbox.
  std::size_t unsettled() const { return rows_.size() + to_strike_off_.size() + left_; }

  /// Whether some orders are not handed over yet.
  bool orders_wait() const {
    return !line(Rank::plain_water).empty() || !line(Rank::order).empty();
  }
  /// How many notices only the outbox has. The owner counts them at the start; `send` adds those
  /// that it does not take.
  std::size_t left() const { return left_; }
  void leave(std::size_t notices) { left_ = notices; }
  /// How many notices may be sent now.
  std::size_t room_for_notices() const;
  /// Whether notices of this topic wait for a retry.
  bool is_held_back(const std::string& topic) const { return retries_.waits(topic); }

  /// Topics of orders and strengths that the broker refuses.
  const std::set<std::string>& refused_orders() const { return refused_orders_; }
  /// Why the broker refuses what goes to this topic; empty: it does not.
  std::string why_refused(const std::string& topic) const;

  /// A notice or reply that will never be delivered.
  struct SetAside {
    std::uint64_t count = 0;  ///< since the start
    std::string last;         ///< topic and reason
    Span when{0};
  };
  const SetAside& set_aside() const { return set_aside_; }
  /// Lines for the log, once each.
  std::vector<std::string> take_told();

 private:
  struct Waiting {
    broker::Publication publication;
    std::int64_t outbox_row = 0;
    Span since{0};
  };
  using Line = std::map<std::uint64_t, Waiting>;  ///< by number of arrival
  struct Place {
    Rank rank;
    std::uint64_t number;
  };
  struct HandedOver {
    Rank rank;
    bool suspect;
    Waiting waiting;
  };
  static constexpr std::size_t kRanks = 6;
  static constexpr std::size_t kToldTopics = 20;  ///< in the log, until the next connection

  Line& line(Rank rank) { return waiting_[static_cast<std::size_t>(rank)]; }
  const Line& line(Rank rank) const { return waiting_[static_cast<std::size_t>(rank)]; }
  std::vector<broker::Publication> take(bool all);
  bool take_rank(Rank rank, bool all, std::vector<broker::Publication>& out);
  void hand_over(Rank rank, Line::iterator at, bool suspect, std::vector<broker::Publication>& out);
  bool fits(Rank rank, Line::iterator at);
  Waiting remove(Rank rank, Line::iterator at);
  void push(Rank rank, Waiting waiting);
  bool send_newest(Rank rank, Waiting waiting);
  bool send_notice(Waiting waiting);
  void keep_row(const std::string& topic, std::int64_t row);
  void leave_row(std::int64_t row);
  /// It could not be delivered. `refusal` says whether trying again may help.
  void fail(Rank rank, Waiting waiting, Refusal refusal, const std::string& reason);
  void convict(const std::string& key);
  void put_aside(const Waiting& waiting, const std::string& reason);
  void tell(const std::string& topic, const std::string& reason);
  bool is_newer_handed_over(const std::string& topic, std::uint64_t id) const;

  int version_ = 0;
  std::uint32_t largest_packet_ = 0;
  Span now_{0};
  bool worked_ = false;  ///< the broker has answered something on this connection
  std::array<Line, kRanks> waiting_;
  std::map<std::string, Place> places_;  ///< by topic, for ranks that keep only the newest
  std::size_t reply_bytes_ = 0;
  std::uint64_t next_number_ = 0, last_id_ = 0;
  std::size_t suspects_out_ = 0;                     ///< how many of `handed_over_`
  std::map<std::uint64_t, HandedOver> handed_over_;  ///< by id
  struct Held {
    Rank rank;
    Waiting waiting;
  };
  std::map<std::string, Held> held_;                 ///< by topic, until its retry is due
  std::deque<Waiting> held_notices_;                 ///< those without a row
  std::map<std::string, std::int64_t> unsent_rows_;  ///< by topic: of orders while not connected
  std::set<std::int64_t> rows_;                      ///< all rows known here
  std::set<std::int64_t> to_strike_off_;
  std::size_t left_ = 0;
  Retries retries_;
  Suspects suspects_;
  std::set<std::string> refused_orders_;
  SetAside set_aside_;
  std::vector<std::string> told_;
  std::size_t told_topics_ = 0;
};

}  // namespace plainwater::service
