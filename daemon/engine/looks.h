// Looks at where benches stand, by a bench's air or a contact's word; each waits for the reorder
// window. They are many, so they have their own queue.
#pragma once

#include <compare>
#include <deque>
#include <vector>

#include "common/bytes.h"
#include "engine/turn.h"

namespace plainwater::engine {

struct Look {
  Instant due{};
  Instant time{};
  std::uint32_t bench = 0;
  Position word = Position::unknown;  ///< a contact's; unknown: this is a look at the bench's air
  auto operator<=>(const Look&) const = default;
};

class Looks {
 public:
  explicit Looks(const Settings& settings);

  /// Queues a look at each bench whose place depends on the reading.
  void await(const Reading& reading, Instant now, const Settings& settings, const Benches& benches);
  /// kForever: none waits.
  Instant due() const { return waiting_.empty() ? kForever : waiting_.front().due; }
  /// Removes and returns the next one; there must be one.
  Look take();
  /// Contacts bounce: of words within the reorder window only the last counts. Whether a waiting
  /// newer word makes this one a bounce; a word much older than the newer one is none.
  bool bounced(const Look& word) const;

  /// Time is set back by `by`; nothing has to wait longer because of that.
  void set_back(Span by);

  /// Benches are saved by name, so that settings may change in between.
  void save(ByteWriter& out, const Settings& settings) const;
  void load(ByteReader& in, const Settings& settings);

 private:
  std::vector<std::vector<std::uint32_t>> watchers_;  ///< by SensorId: benches whose place it shows
  std::deque<Look> waiting_;                          ///< sorted
};

}  // namespace plainwater::engine
