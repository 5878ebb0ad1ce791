// What is on its way to the broker: in which order it is handed over, what became of it, and which
// rows of the outbox are settled by that. Pure; times are those of the boot clock.
//
// Plain water first. A publication is handed over only while few others are, so that an order
// overtakes all that still waits here. Of orders, placards and states one waits for each topic, the
// newest; notices wait in the store's outbox but for a few: what is kept here is bounded by the
// number of benches. Nothing that waits outlives a lost connection: orders and notices are sent
// again by their owner, all else is not.
//
// What the broker refuses is kept and tried again (`Retries`); what makes it hang up is tried by
// itself and, if it is that, set aside (`Suspects`); what is larger than it takes never leaves.
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

/// What goes out first; all of one rank in the order in which it was sent.
enum class Rank : std::uint8_t {
  plain_water,  ///< orders and strengths that lock the stock
  order,        ///< other orders and strengths
  placard,
  notice,
  reply,
  state,
};

class Dispatcher {
 public:
  /// Handed over and not acknowledged, at most: more than the publisher has on the wire at a time,
  /// and few enough that an order waits for milliseconds only. Of orders more are handed over, so
  /// that they do not wait for a slow disk between two handfuls.
  static constexpr std::size_t kWindow = 32, kOrderWindow = 128, kPlainWaterWindow = 1024;
  /// Notices that wait here, at most; the others wait in the outbox.
  static constexpr std::size_t kMostNotices = 64;
  /// Replies that wait, at most: whoever asks so fast can ask again.
  static constexpr std::size_t kMostReplies = 10'000, kMostReplyBytes = 16 * 1024 * 1024;
  /// Handed over at the end of the service, at most: what the publisher has room for.
  static constexpr std::size_t kMostAtTheEnd = 8'000;

  /// The boot clock's time from now on.
  void at(Span since_boot);

  /// A new connection: all that was on its way is forgotten. `largest_packet` of MQTT 5: the
  /// broker takes nothing larger, bytes; 0: it did not say.
  void connected(int protocol_version, std::uint32_t largest_packet = 0);
  void lost();
  bool is_connected() const { return version_ != 0; }
  int protocol_version() const { return version_; }  ///< 5, 3, or 0 when not connected

  /// False when it was not taken: not connected, or too many replies or notices wait. A later
  /// order, placard or state replaces an earlier one of its topic that still waits, and settles its
  /// row. `outbox_row` 0: it has none.
  bool send(Rank rank, broker::Publication publication, std::int64_t outbox_row = 0);
  /// What may be handed over now, with ids of this class.
  std::vector<broker::Publication> next();
  /// All that waits, at the end of the service.
  std::vector<broker::Publication> rest();
  /// The broker has it. Unknown ids, of a connection before, do nothing.
  void finished(std::uint64_t id);
  /// The broker answered that it will not have it, or the library cannot send it.
  void refused(std::uint64_t id, const std::string& reason);

  /// What waits for this topic is not to go out any more, unless it is this payload.
  void withdraw(const std::string& topic, std::string_view unless = "");
  /// This row needs no publication any more: it has expired or was overtaken.
  void settle(std::int64_t outbox_row);
  /// Rows to be struck off the outbox; they stay until `struck_off`.
  const std::set<std::int64_t>& to_strike_off() const { return to_strike_off_; }
  void struck_off() { to_strike_off_.clear(); }

  bool is_on_the_way(std::int64_t outbox_row) const { return rows_.contains(outbox_row); }
  /// Rows on their way, those not struck off yet, and notices left in the outbox.
  std::size_t unsettled() const { return rows_.size() + to_strike_off_.size() + left_; }

  /// Orders that were not handed over yet.
  bool orders_wait() const {
    return !line(Rank::plain_water).empty() || !line(Rank::order).empty();
  }
  /// Notices that only the outbox has. The owner counts them at the start; `send` adds those that
  /// it did not take.
  std::size_t left() const { return left_; }
  void leave(std::size_t notices) { left_ = notices; }
  /// How many notices may be sent now.
  std::size_t room_for_notices() const;
  /// Notices of this topic wait until the broker may take them again.
  bool is_held_back(const std::string& topic) const { return retries_.waits(topic); }

  /// Orders and strengths that the broker does not take, by topic.
  const std::set<std::string>& refused_orders() const { return refused_orders_; }
  /// Why it does not take what goes to this topic; empty: it does.
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
  /// It could not be delivered. `lasting`: nor would it be the next time.
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
  std::map<std::string, Place> places_;  ///< by topic, of ranks of which one waits for each topic
  std::size_t reply_bytes_ = 0;
  std::uint64_t next_number_ = 0, last_id_ = 0;
  std::size_t suspects_out_ = 0;                     ///< of those handed over
  std::map<std::uint64_t, HandedOver> handed_over_;  ///< by id
  struct Held {
    Rank rank;
    Waiting waiting;
  };
  std::map<std::string, Held> held_;                 ///< by topic, until `Retries` lets it go
  std::deque<Waiting> held_notices_;                 ///< those without a row
  std::map<std::string, std::int64_t> unsent_rows_;  ///< by topic: orders while not connected
  std::set<std::int64_t> rows_;                      ///< known here
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
