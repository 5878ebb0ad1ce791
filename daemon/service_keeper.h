// The engine and its record, kept in step: every input is journaled, folded, its decisions and
// orders recorded, in one transaction. What could not be recorded is not ordered.
//
// A failed write leaves the engine ahead of the store. From then on the keeper is unusable and
// refuses everything until `recover` has read the state back. Not thread-safe: the service holds
// one lock around it.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "engine/engine.h"
#include "notices/desk.h"
#include "outlet/fold.h"
#include "outlet/order_book.h"
#include "outlet/topics.h"
#include "settings/settings.h"
#include "store/store.h"

namespace plainwater {

/// A snapshot after so many inputs, or this much engine time.
inline constexpr std::uint64_t kSnapshotInputs = 100'000;
inline constexpr Span kSnapshotSpan = hours(1);

class Keeper {
 public:
  struct Outgoing {
    std::int64_t id = 0;  ///< in the store's outbox
    outlet::Order order;
  };
  struct OutgoingNotice {
    std::int64_t id = 0;  ///< in the store's outbox
    std::string topic, payload;
    Instant expires{kForever};
  };
  /// What one input brought about, all of it recorded.
  struct Written {
    std::vector<feeding::Decision> decisions;
    std::vector<Outgoing> orders;
    std::vector<OutgoingNotice> notices;
    std::vector<std::pair<std::string, std::string>> told;  ///< kind and urgency of each message
    bool nights = false;                                    ///< some closed, or were revised
    std::uint64_t taken = 0;     ///< readings or reports that are new in the journal
    std::uint64_t repeated = 0;  ///< those that it had already
  };
  struct Answered {
    feeding::Reply reply;
    Written written;
  };

  /// Opens the store and reads the state back. Older orders in the outbox are struck off: they are
  /// derived anew.
  static Result<std::unique_ptr<Keeper>> open(std::shared_ptr<const Settings> settings);

  /// Journals the settings and the rules revision when they are not those in force.
  Status enforce_settings(Instant now);

  /// Readings of one message. In `clock.time: readings` each is taken at its own time, and `now` is
  /// not used; of a `backlog` too, as far as engine time still stands before it, so that a night
  /// that closed meanwhile gets them.
  Result<Written> take(std::span<const Reading> readings, Instant now, bool backlog);
  /// Pumps' reports of one message, at the same times as readings would be.
  Result<Written> take(std::span<const feeding::DoseReport> reports, Instant now, bool backlog);
  Result<Answered> take(const feeding::Request& request, Instant now);
  Result<Written> advance(Instant now);
  Result<Written> settle_clock(bool settled, Instant now);

  /// What has become due to be told, by time alone; nothing most of the time.
  Result<Written> tell();
  /// Something that is no decision of the engine.
  Result<Written> tell(notices::Matter matter);
  /// A notice is acknowledged: it changes no decision, so it is not journaled.
  Result<feeding::Reply> acknowledge(const feeding::Request& request);
  const notices::Desk& desk() const { return desk_; }

  /// Orders may go out: the backlog is drained and the time is believed. The first time gives all
  /// of them.
  Result<Written> allow_orders();
  void forbid_orders() { ordering_ = false; }
  bool ordering() const { return ordering_; }
  /// Engine time ran so far since the last re-issue that orders will soon expire.
  bool reissue_overdue() const { return ordering_ && book_.overdue(folded_.engine.now()); }
  /// Orders that the re-issue interval has made due; nothing most of the time.
  Result<Written> reissue();
  /// Recorded, and the broker has not acknowledged them: they go out once it can be reached.
  Result<std::vector<OutgoingNotice>> pending_notices();
  /// Orders on their way are given anew after a reconnect; what is left of them in the outbox is
  /// settled.
  Status strike_off_old_orders();
  /// The broker has it, or it was replaced before it could go out.
  Status strike_off(std::int64_t outbox_id);

  /// When enough came in or enough time passed, or always.
  bool snapshot_due() const;
  Status snapshot();
  /// One bounded step of thinning; true when there is more to do.
  Result<bool> retain();

  bool usable() const { return !stale_ && store_->healthy(); }
  /// Why not usable, one sentence; "healthy" when it is.
  std::string trouble() const;
  /// Tries to write again and reads the state back.
  Status recover();

  const engine::Engine& engine() const { return folded_.engine; }
  const outlet::Folded& folded() const { return folded_; }
  outlet::OrderBook& book() { return book_; }
  store::Store& store() { return *store_; }

 private:
  Keeper(std::shared_ptr<const Settings> settings, std::unique_ptr<store::Store> store,
         outlet::Folded folded, std::int64_t epoch);
  Status journal_settings(Instant now);
  store::JournalRow journal_row(const Reading& reading, Instant now) const;
  store::JournalRow journal_row(const feeding::DoseReport& report, Instant now) const;
  template <class Item>
  Status take_one(store::Transaction& transaction, const Item& item, Instant now, Written& written);
  /// Each of what one message told, at its time.
  template <class Item>
  Result<Written> take_each(std::span<const Item> items, Instant now, bool backlog);
  Status record(store::Transaction& transaction, engine::Outcome outcome, Written& written);
  Result<Written> finish(store::Transaction& transaction, Written written, bool look_at_orders);
  Status put(store::Transaction& transaction, std::vector<outlet::Order> orders, Written& written);
  void look(std::vector<notices::Matter> matters);
  std::vector<notices::Message> due_messages();
  /// Messages, and the desk as it is after them.
  Status put(store::Transaction& transaction, const std::vector<notices::Message>& messages,
             Written& written);
  /// The same in a transaction of its own; none when there is nothing to write.
  Result<Written> put_told(const std::vector<notices::Message>& messages);
  Status read_desk();
  Status put_snapshot(store::Transaction& transaction, bool for_ever = false);
  Error fail(const Error& why);

  std::shared_ptr<const Settings> settings_;
  outlet::Topics topics_;
  std::unique_ptr<store::Store> store_;
  outlet::Folded folded_;
  outlet::OrderBook book_;
  notices::Desk desk_;
  bool ordering_ = false;
  bool stale_ = false;
  std::string why_stale_;
  std::uint64_t inputs_since_snapshot_ = 0;
  Instant last_snapshot_{kNever};
};

}  // namespace plainwater
