// What a bench's changes of place amount to, a single move or shuttling, and how they changed its
// climate.
#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <vector>

#include "common/instant.h"
#include "common/position.h"
#include "settings/settings.h"

namespace plainwater::season {

enum class Pattern : std::uint8_t { settled, shuttling };
constexpr const char* name_of(Pattern pattern) {
  return pattern == Pattern::shuttling ? "shuttling" : "settled";
}

/// What kind of change of place it is.
enum class Carried : std::uint8_t {
  once,        ///< a single move, as far as can be told
  back,        ///< coming back from a stay of at most 20 hours
  to_and_fro,  ///< the change that makes it shuttling
  again,       ///< one more change while shuttling
  undone,      ///< back within the hour: does not count as a move
};

/// A bench's cycle: a day and the night after it; °C, NaN where readings do not cover it.
struct Cycle {
  Instant dawn{}, sunset{}, sunrise{};
  double day_c = 0, night_c = 0;
  template <class A>
  void fields(A& a) {
    a(dawn);
    a(sunset);
    a(sunrise);
    a(day_c);
    a(night_c);
  }
};

/// Climate before and after a move, °C: medians over the means of the last nights and days before
/// it and since it, at most 7 each; NaN where there are none.
struct ClimateChange {
  static constexpr double kNone = std::numeric_limits<double>::quiet_NaN();
  double night_before_c = kNone, night_after_c = kNone, day_before_c = kNone, day_after_c = kNone;
  int nights_after = 0;  ///< covered nights since the move
  /// Whether there is anything to compare.
  bool known() const;
  /// The larger fall of the two, °C; not under 0.
  double fall_c() const;
  /// The larger rise of the two, °C; not under 0.
  double rise_c() const;
};

class MoveWatch {
 public:
  /// Takes a change from one known place to the other, at about `since`.
  Carried take(Position to, Instant since, const MoveRules& rules);
  /// Takes a closed cycle. Returns whether shuttling has ended with it; never while the place is
  /// unknown.
  bool close(const Cycle& cycle, bool place_known, const MoveRules& rules);

  Pattern pattern() const { return pattern_; }
  /// When the present shuttling began, else the last move; kNever: none yet.
  Instant episode() const;
  /// Where the bench was last carried to.
  Position last_to() const { return legs_.empty() ? Position::unknown : legs_.back().to; }
  Instant last_move() const { return legs_.empty() ? kNever : legs_.back().since; }
  /// When the bench was carried to where it rests now; kNever: it is not at rest. Coming back from
  /// a short stay does not count; while shuttling, a bench is at rest once it stays longer than a
  /// short stay.
  Instant resting_move(Instant now) const;
  /// How the bench's climate changed from before `from` to after `since`.
  ClimateChange climate_change(Instant from, Instant since) const;

  template <class A>
  void fields(A& a) {
    a(legs_);
    a(cycles_);
    a(pattern_);
    a(shuttling_since_);
  }

 private:
  struct Leg {
    Position to = Position::unknown;
    Instant since{};
    template <class A>
    void fields(A& a) {
      a(to);
      a(since);
    }
  };
  /// Days on which the bench came back to `home` from a stay of at most 20 hours; only stays wholly
  /// within the last `within` count. `first`: when the first of them began.
  int excursions(Position home, Instant now, Span within, Instant& first) const;

  std::vector<Leg> legs_;      ///< of the last days, newest last
  std::vector<Cycle> cycles_;  ///< of the last weeks, newest last
  Pattern pattern_ = Pattern::settled;
  Instant shuttling_since_{kNever};
};

}  // namespace plainwater::season
