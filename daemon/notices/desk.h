// The desk: which matters are open, what was told, and what is due. Each matter is told once when
// it begins or happens, again while it lasts unacknowledged, and once when it is over. Has no
// clock; not thread-safe.
//
// A matter that comes and goes is told as one: if it is back within ten minutes it was never gone,
// and if it is back within a day it is told no sooner than its first repeat would have been.
//
// While whoever keeps the house is away, an urgent chill that nobody has acknowledged half an hour
// after it was told goes once more, to whoever looks after the house: `Message::reminds`.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "engine/engine.h"
#include "feeding/request.h"
#include "notices/item.h"
#include "notices/message.h"
#include "notices/rhythm.h"

namespace plainwater::notices {

/// `now` measures the time between tellings; quiet hours, the digest and written times go by
/// `site`.
struct When {
  Instant now{};
  Instant site{kNever};  ///< kNever: unknown; then there are no quiet hours and no digest
};
inline When at(Instant t) { return {t, t}; }

class Desk {
 public:
  explicit Desk(const Settings& settings);
  /// Restores the items as they were stored.
  void restore(std::vector<Item> items);

  /// Who is away now, or will be; before `due`.
  void take(std::optional<engine::AbsenceNow> absence) { absence_ = std::move(absence); }
  /// Takes matters from decisions. What happened goes out once. Those of lasting kinds only give
  /// the next `look` their particulars, and are dropped if it does not see the matter.
  void take(std::vector<Matter> matters, const When& when);
  /// Takes all troubles that last now.
  void look(std::vector<Matter> lasting, const When& when);
  /// What is to be told now. The caller then reports with `sent` where it went.
  std::vector<Message> due(const When& when,
                           const std::function<std::vector<engine::BenchNow>()>& benches);
  /// When `look` and `due` may next have something to tell by time alone, in terms of `When::now`.
  Instant next_due() const;
  /// The outbox has the message; `effects` are its rows there.
  void sent(const Message& message, const std::vector<std::int64_t>& effects);
  /// Outbox rows of the same matters' earlier messages, which this one replaces.
  std::vector<std::int64_t> replaced(const Message& message) const;

  /// Time goes back by `by`: past and due tellings move with it.
  void set_back(Span by);

  /// Acknowledges a notice by id, so that it is not told again while it lasts.
  feeding::Reply acknowledge(std::string_view id, const std::string& who, const When& when);
  /// Whether it is open, or a decision taken since the last `look` says so.
  bool is_open(std::string_view id) const;
  const std::map<std::string, Item, std::less<>>& items() const { return items_; }

  /// What has changed since the last call: items to store, keys to forget.
  struct Changes {
    std::vector<Item> items;
    std::vector<std::string> dropped;
    bool empty() const { return items.empty() && dropped.empty(); }
  };
  Changes changes();
  bool changed() const { return !changed_.empty(); }

 private:
  using Items = std::map<std::string, Item, std::less<>>;
  void put(Item item);
  Items::iterator drop(Items::iterator at);
  void begin(Matter matter, const When& when);
  /// The matter is still there, or is back.
  void see(Item& item, Matter matter, const When& when, bool decided_again);
  /// The matter was not seen. Returns whether to forget it.
  bool miss(Item& item, const When& when);
  Instant due_at(Instant after, Urgency urgency, const When& when) const;
  bool is_told(Items::const_iterator at) const;
  feeding::Reply no_such_notice(std::string_view id) const;
  void tell(Item& item, const When& when);
  /// From when it is told on, time runs for somebody to acknowledge it.
  static void expect_heard(Item& item);
  /// It is told now, maybe later than it was due.
  static void await_hearing(Item& item, const When& when);
  /// Somebody who can be reached looks after the house.
  bool is_cared_for() const { return absence_ && absence_->in_force && absence_->person_known; }
  /// Whether whoever looks after the house is to hear of it again at `when.now`.
  bool reminds(const Item& item, const When& when) const;
  void remind(std::vector<Message>& messages, const When& when);
  std::optional<Message> digest(const When& when,
                                const std::function<std::vector<engine::BenchNow>()>& benches);

  Rhythm rhythm_;
  Site site_;
  Style style_;
  std::optional<engine::AbsenceNow> absence_;
  Items items_;
  std::map<std::string, Matter>
      particulars_;  ///< by id, for lasting matters: from decisions since the last look
  std::map<std::string, bool, std::less<>> changed_;  ///< by key; false: dropped
};

}  // namespace plainwater::notices
