// Readings cold enough to chill a bench, waiting for the reorder window.
#pragma once

#include <compare>
#include <optional>
#include <vector>

#include "common/bytes.h"
#include "engine/turn.h"

namespace plainwater::engine {

class ColdAir {
 public:
  /// Keeps a temperature under the chill floor of a bench on which the sensor stands. Returns when
  /// it falls due; none if it is not that cold.
  std::optional<Instant> add(const Reading& reading, Instant now, const Settings& settings);
  /// kForever: nothing waits.
  Instant due() const { return waiting_.empty() ? kForever : waiting_.front().due; }
  /// Judges the first one: chills the benches whose air was under their floor, if the previous
  /// reading was too.
  void judge_next(const Sensors& sensors, const Turn& turn);

  /// Time is set back by `by`; nothing has to wait longer because of that.
  void set_back(Span by);

  /// Sensors are saved by name, so that settings may change in between.
  void save(ByteWriter& out, const Settings& settings) const;
  void load(ByteReader& in, const Settings& settings);

 private:
  struct Cold {
    Instant due{};
    Instant time{};
    std::uint32_t sensor = 0;
    auto operator<=>(const Cold&) const = default;
  };
  std::vector<Cold> waiting_;  ///< sorted
};

}  // namespace plainwater::engine
