// Readings from the future, each waiting for its time.
#pragma once

#include <compare>
#include <optional>
#include <vector>

#include "common/bytes.h"
#include "common/reading.h"
#include "settings/settings.h"

namespace plainwater::engine {

class Quarantine {
 public:
  /// When it falls due; none when too many wait already (10 000).
  std::optional<Instant> add(const Reading& reading);
  /// kForever: nothing waits.
  Instant due() const { return waiting_.empty() ? kForever : waiting_.front().due; }
  /// The next one, which waits no more; there must be one.
  Reading take();

  /// Sensors go by name, so that settings may change between.
  void save(ByteWriter& out, const Settings& settings) const;
  void load(ByteReader& in, const Settings& settings);

 private:
  struct Waiting {
    Instant due{};
    Reading reading;
    auto operator<=>(const Waiting&) const = default;
  };
  std::vector<Waiting> waiting_;  ///< sorted
};

}  // namespace plainwater::engine
