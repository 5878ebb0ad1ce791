// Looks at where benches stand, each waiting for the reorder window: at a bench's air, or a
// contact's word. They are many, so they have a queue of their own.
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
  Position word = Position::unknown;  ///< a contact's; unknown: the bench's air is looked at
  auto operator<=>(const Look&) const = default;
};

class Looks {
 public:
  explicit Looks(const Settings& settings);

  /// Keeps a look at each bench whose place the reading tells.
  void await(const Reading& reading, Instant now, const Settings& settings, const Benches& benches);
  /// kForever: none waits.
  Instant due() const { return waiting_.empty() ? kForever : waiting_.front().due; }
  /// The next one, which waits no more; there must be one.
  Look take();
  /// A contact bounces: of words within the window the last one counts. Whether a newer word waits
  /// that makes this one a bounce; one that comes late is no bounce of a newer one.
  bool bounced(const Look& word) const;

  /// Time is set back by `by`: what waits, waits no longer for it.
  void set_back(Span by);

  /// Benches go by name, so that settings may change between.
  void save(ByteWriter& out, const Settings& settings) const;
  void load(ByteReader& in, const Settings& settings);

 private:
  std::vector<std::vector<std::uint32_t>> watchers_;  ///< by SensorId: benches it tells a place of
  std::deque<Look> waiting_;                          ///< sorted
};

}  // namespace plainwater::engine
