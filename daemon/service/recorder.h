// Keeps the engine and its record in step: each input is journaled and folded, and its decisions,
// orders and notices are recorded, all in one transaction. What could not be recorded is not
// ordered.
//
// A failed write leaves the engine ahead of the store. Then there is `trouble`, and nothing is
// taken until `recover` has read the state back. Not thread-safe.
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

/// Kinds of rows in the outbox.
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

/// What one input led to, all of it recorded.
struct Written {
  std::vector<feeding::Decision> decisions;
  std::vector<OutgoingOrder> orders;
  std::vector<OutgoingNotice> notices;
  std::vector<std::pair<std::string, std::string>> told;  ///< kind and urgency of each message
  bool nights = false;                                    ///< some nights closed or were revised
  std::uint64_t taken = 0;     ///< readings or reports new in the journal
  std::uint64_t repeated = 0;  ///< readings or reports that it had already
};
struct Answered {
  feeding::Reply reply;
  Written written;
};

/// Where a request was made. What a page asked for is published once it is done: a hot spare hears
/// only what the broker has.
enum class AskedOn { broker, page };

/// The state as recorded, unless there is `trouble`.
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
  /// Reads the store's state back under `settings`. Strikes off orders still in the outbox: they
  /// are derived anew.
  static Result<std::unique_ptr<Recorder>> open(const std::shared_ptr<const Settings>& settings,
                                                store::Store& store);

  /// Journals the settings and the rules revision if they differ from those in force.
  Status enforce_settings(Instant now);
  /// The same while the service runs: takes over from `before`, which goes on if this fails.
  Status take_over(const Recorder& before, Instant now);

  /// Takes the measurements of one message. With `clock.time: readings` each is taken at its own
  /// time and `now` is not used. In a `backlog` this also applies to those later than engine time,
  /// so that nights that ended meanwhile get their readings.
  Result<Written> take(const Measurements& measurements, Instant now, bool backlog);
  Result<Answered> take(const feeding::Request& request, Instant now, AskedOn where);
  /// The refusal of a request whose id was answered so long ago that the answer is forgotten; else
  /// none.
  Result<std::optional<feeding::Reply>> answered_before(const feeding::Request& request);
  Result<Written> advance(Instant now);
  Result<Written> settle_clock(ClockTrust trust, Instant now);
  /// Sets time back by `by`, to `to`, and raises the epoch of orders, so that new orders outrank
  /// those given at the wrong time.
  Result<Written> set_back(Span by, Instant to);

  /// Tells what has become due by time alone, and `matter`, which is no decision of the engine;
  /// mostly there is nothing.
  Result<Written> tell(std::optional<notices::Matter> matter = std::nullopt);
  /// Acknowledges a notice. Not journaled, since it changes no decision.
  Result<Answered> acknowledge(const feeding::Request& request, AskedOn where);

  /// Orders may go out from now on; gives all of them.
  Result<Written> allow_orders();
  void forbid_orders() { state_.ordering = false; }
  /// Gives the orders due by the re-issue interval; mostly none.
  Result<Written> reissue();
  /// The older services that are alive: see Elders.
  void elders_heard(std::optional<std::set<std::string>> instances) {
    state_.book.elders_heard(std::move(instances));
  }
  /// An order that the broker holds.
  void note_order(const std::string& bench, const orders::OrderStamp& stamp);
  /// Stores order numbers of others that rose, since pumps remember them; mostly none did.
  Status keep_numbers();
  /// What people are to hear of an overruled order; none: they know already.
  using TellOverruled = std::function<std::optional<notices::Matter>(const orders::Overruled&)>;
  /// Judges orders of others at `now`; `believed` says whether that time is. Overrules orders
  /// beyond reason: see OrdersSeen::judge. Mostly there is nothing to do.
  Result<Written> judge_orders(Instant now, bool believed, const TellOverruled& tell);

  Status snapshot();

  /// Whether the last failure was due to the input, not the store: a row that SQLite refuses, or a
  /// decision that could not be made.
  bool refuses_input() const { return stale_ && refused_ && store_.healthy(); }
  /// Keeps an input that is refused repeatedly, as it came, if the journal takes other rows.
  /// Returns how many there have ever been.
  Result<std::int64_t> set_aside(const store::NotStored& input);

  /// Why nothing can be taken; none if all is well.
  std::optional<Error> trouble() const;
  /// Tries to write, and reads the state back.
  Status recover();

  const Recorded& state() const { return state_; }

 private:
  Recorder(const std::shared_ptr<const Settings>& settings, store::Store& store,
           replay::Folded folded, std::int64_t epoch);
  Status journal_settings(Instant now);
  static store::JournalRow row_of(store::JournalKind kind, Instant now, std::string body = {});
  Result<std::int64_t> append(store::Transaction& transaction, const store::JournalRow& row);
  /// Takes a statement about the clock into journal and state.
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
  /// Stores messages, and the desk as it is after them.
  Status put(store::Transaction& transaction, const std::vector<notices::Message>& messages,
             Written& written);
  /// The same in its own transaction; empty if there is nothing to write.
  Result<Written> put_told(const std::vector<notices::Message>& messages,
                           const feeding::Request* passed_on = nullptr);
  Status read_desk();
  Status read_numbers();
  Status put_snapshot(store::Transaction& transaction, bool for_ever = false);
  /// Runs `work`, which takes an input; remembers a failure or exception as due to an input.
  template <class Work>
  auto taking(Work&& work) -> std::invoke_result_t<Work&>;
  Result<Written> record_new(const Measurements& measurements, Instant now, bool backlog);
  Result<Answered> record_new(const feeding::Request& request, Instant now, AskedOn where);
  /// Puts the request into the outbox for the other services on the broker.
  Status pass_on(store::Transaction& transaction, feeding::Request request, Written& written);
  Status takes_other_rows();
  Error fail(const Error& why);

  std::shared_ptr<const Settings> settings_;
  outlet::Topics topics_;
  store::Store& store_;
  Recorded state_;
  std::optional<Error> stale_;  ///< the failed write that left the engine ahead of the store
  bool refused_ = false;        ///< that failure was of an input
};

}  // namespace plainwater::service
