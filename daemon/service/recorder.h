// The engine and its record, kept in step: every input is journaled, folded, its decisions, orders
// and notices recorded, in one transaction. What could not be recorded is not ordered.
//
// A failed write leaves the engine ahead of the store. From then on there is `trouble`, and nothing
// is taken until `recover` has read the state back. Not thread-safe.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <type_traits>
#include <utility>
#include <vector>

#include "engine/engine.h"
#include "notices/desk.h"
#include "orders/order_book.h"
#include "outlet/topics.h"
#include "replay/fold.h"
#include "service/measurements.h"
#include "settings/settings.h"
#include "store/store.h"

namespace plainwater::service {

/// Of rows in the outbox.
inline constexpr const char* kOrderKind = "order";
inline constexpr const char* kNoticeKind = "notice";

struct OutgoingOrder {
  std::int64_t row = 0;  ///< in the store's outbox
  orders::Order order;
};
struct OutgoingNotice {
  std::int64_t row = 0;  ///< in the store's outbox
  std::string topic, payload;
  Instant expires{kForever};
};

/// What one input brought about, all of it recorded.
struct Written {
  std::vector<feeding::Decision> decisions;
  std::vector<OutgoingOrder> orders;
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

/// The state as far as it is recorded, but for what `trouble` says.
struct Recorded {
  replay::Folded folded;
  orders::OrderBook book;
  notices::Desk desk;
  bool ordering = false;  ///< orders may go out

  const engine::Engine& engine() const { return folded.engine; }
  Instant now() const { return folded.engine.now(); }
};

class Recorder {
 public:
  /// The store's state, read back under `settings`. Orders that were still in the outbox are struck
  /// off: they are derived anew.
  static Result<std::unique_ptr<Recorder>> open(const std::shared_ptr<const Settings>& settings,
                                                store::Store& store);

  /// Journals the settings and the rules revision when they are not those in force.
  Status enforce_settings(Instant now);

  /// What one message measured. In `clock.time: readings` each is taken at its own time, and `now`
  /// is not used; of a `backlog` too, as far as engine time still stands before it, so that a night
  /// that closed meanwhile gets them.
  Result<Written> take(const Measurements& measurements, Instant now, bool backlog);
  Result<Answered> take(const feeding::Request& request, Instant now);
  /// The refusal of a request whose id was answered so long ago that the answer is forgotten.
  Result<std::optional<feeding::Reply>> answered_before(const feeding::Request& request);
  Result<Written> advance(Instant now);
  Result<Written> settle_clock(ClockTrust trust, Instant now);
  /// Time goes back by `by`, to `to`, and the epoch of orders rises, so that those that follow
  /// outrank those of the time that was wrong.
  Result<Written> set_back(Span by, Instant to);

  /// What has become due to be told, by time alone, or a matter that is no decision of the engine;
  /// nothing most of the time.
  Result<Written> tell(std::optional<notices::Matter> matter = std::nullopt);
  /// A notice is acknowledged: it changes no decision, so it is not journaled.
  Result<feeding::Reply> acknowledge(const feeding::Request& request);

  /// Orders may go out: the backlog is drained and the time is believed. Gives all of them.
  Result<Written> allow_orders();
  void forbid_orders() { state_.ordering = false; }
  /// Orders that the re-issue interval has made due; nothing most of the time.
  Result<Written> reissue();
  /// An order that the broker holds.
  void elders_heard(std::optional<std::set<std::string>> instances) {
    state_.book.elders_heard(std::move(instances));
  }
  void note_order(const std::string& bench, const orders::OrderStamp& stamp);
  /// Stores the numbers of others that rose, since pumps remember them; nothing most of the time.
  Status keep_numbers();
  /// What people are to be told of an order that was overruled; none: they know.
  using TellOverruled = std::function<std::optional<notices::Matter>(const orders::Overruled&)>;
  /// Orders of others as they look at `now`, which is believed; nothing most of the time. Those
  /// that are beyond reason are overruled: see OrdersSeen::judge.
  Result<Written> judge_orders(Instant now, bool believed, const TellOverruled& tell);

  Status snapshot();

  /// The last failure was about the input that was being taken, not about the store: a row that
  /// SQLite will not have, or a decision that could not be made.
  bool refuses_input() const { return stale_ && refused_ && store_.healthy(); }
  /// Keeps an input that is refused again and again, as it came, if the journal takes another row.
  /// How many there ever were.
  Result<std::int64_t> set_aside(const store::NotStored& input);

  /// Why nothing can be taken; none when all is well.
  std::optional<Error> trouble() const;
  /// Tries to write again and reads the state back.
  Status recover();

  const Recorded& state() const { return state_; }

 private:
  Recorder(const std::shared_ptr<const Settings>& settings, store::Store& store,
           replay::Folded folded, std::int64_t epoch);
  Status journal_settings(Instant now);
  static store::JournalRow row_of(store::JournalKind kind, Instant now, std::string body = {});
  Result<std::int64_t> append(store::Transaction& transaction, const store::JournalRow& row);
  /// What is said of the clock goes into journal and state.
  Status take(store::Transaction& transaction, const replay::ClockRow& what, Instant now,
              Written& written);
  store::JournalRow journal_row(const Reading& reading, Instant now) const;
  store::JournalRow journal_row(const feeding::DoseReport& report, Instant now) const;
  template <class Item>
  Status take_each(store::Transaction& transaction, const std::vector<Item>& items, Instant now,
                   bool backlog, Written& written);
  Status record(store::Transaction& transaction, engine::Outcome outcome, Written& written);
  Result<Written> finish(store::Transaction& transaction, Written written, bool look_at_orders);
  Status put(store::Transaction& transaction, std::vector<orders::Order> orders, Written& written);
  void look(std::vector<notices::Matter> matters);
  void look(std::vector<notices::Matter> matters, const std::vector<engine::BenchNow>& benches,
            const std::vector<engine::PumpNow>& pumps);
  std::vector<notices::Message> due_messages();
  /// Messages, and the desk as it is after them.
  Status put(store::Transaction& transaction, const std::vector<notices::Message>& messages,
             Written& written);
  /// The same in a transaction of its own; none when there is nothing to write.
  Result<Written> put_told(const std::vector<notices::Message>& messages);
  Status read_desk();
  Status read_numbers();
  Status put_snapshot(store::Transaction& transaction, bool for_ever = false);
  /// Takes an input; a failure, or what is thrown, is remembered as of an input.
  template <class Work>
  auto taking(Work&& work) -> std::invoke_result_t<Work&>;
  Result<Written> record_new(const Measurements& measurements, Instant now, bool backlog);
  Result<Answered> record_new(const feeding::Request& request, Instant now);
  Status takes_other_rows();
  Error fail(const Error& why);

  std::shared_ptr<const Settings> settings_;
  outlet::Topics topics_;
  store::Store& store_;
  Recorded state_;
  std::optional<Error> stale_;  ///< the failed write since which the engine is ahead of the store
  bool refused_ = false;        ///< that write was of an input
};

}  // namespace plainwater::service
