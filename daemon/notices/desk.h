// The desk: what is open, what was told, what is due. Each matter is told once when it begins or
// happens, again while it lasts and nobody acknowledges it, and once when it is over. Holds no
// clock; not thread-safe.
//
// What comes and goes is told as one: a matter that is back within ten minutes was never gone, and
// one that is back within a day waits for its turn as if it had lasted (what is urgent, for its
// first repeat).
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

/// `now` counts the time between two tellings; `site` is what quiet hours and the digest go by, and
/// what is written.
struct When {
  Instant now{};
  Instant site{kNever};  ///< never: not known; then nothing is quiet, and no digest is due
};
inline When at(Instant t) { return {t, t}; }

class Desk {
 public:
  explicit Desk(const Settings& settings);
  /// As it was stored.
  void restore(std::vector<Item> items);

  /// Each goes out once. Of what lasts they tell `look` the particulars, and are dropped where it
  /// does not see it.
  void take(std::vector<Matter> matters, const When& when);
  /// All that lasts and is not as it should be, now.
  void look(std::vector<Matter> lasting, const When& when);
  /// What is to be told now. Afterwards the caller says with `sent` where it went.
  std::vector<Message> due(const When& when,
                           const std::function<std::vector<engine::BenchNow>()>& benches);
  /// When `look` and `due` may have something to say by time alone, in the time of `When::now`.
  Instant next_due() const;
  /// The outbox has the message; `effects` are its rows there.
  void sent(const Message& message, const std::vector<std::int64_t>& effects);
  /// Rows that the messages' matters still have in the outbox: those that this one replaces.
  std::vector<std::int64_t> replaced(const Message& message) const;

  /// Time goes back by `by`: what was told, and when it is to be told again, goes with it.
  void set_back(Span by);

  /// By id; keeps it from being told again while it lasts.
  feeding::Reply acknowledge(std::string_view id, const std::string& who, const When& when);
  /// Open, or a decision that `look` has not seen yet says so.
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
  /// Still there, or there again.
  void see(Item& item, Matter matter, const When& when, bool decided_again);
  /// Not seen; true when it is to be forgotten.
  bool miss(Item& item, const When& when);
  Instant due_at(Instant after, Urgency urgency, const When& when) const;
  bool is_told(Items::const_iterator at) const;
  void tell(Item& item, const When& when);
  std::optional<Message> digest(const When& when,
                                const std::function<std::vector<engine::BenchNow>()>& benches);

  Rhythm rhythm_;
  std::string site_name_;
  Style style_;
  Items items_;
  std::map<std::string, Matter>
      particulars_;  ///< by id, of what lasts: from decisions since the last look
  std::map<std::string, bool, std::less<>> changed_;  ///< by key; false: dropped
};

}  // namespace plainwater::notices
