// What a bench's changes of place amount to: a single move or shuttling, and what it did to the
// bench's climate.
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

/// What a change of place is.
enum class Carried : std::uint8_t {
  once,        ///< a single move, as far as can be told
  back,        ///< the way back of a stay shorter than a day
  to_and_fro,  ///< the one that makes it shuttling
  again,       ///< one more while shuttling
  undone,      ///< back within the hour: it was none
};

/// A cycle of a bench, a day and the night after it; °C, NaN where it was not covered.
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

/// Means before and after a move, °C: medians of up to 7 nights and days before, and of those
/// since; NaN where there are none.
struct ClimateChange {
  static constexpr double kNone = std::numeric_limits<double>::quiet_NaN();
  double night_before_c = kNone, night_after_c = kNone, day_before_c = kNone, day_after_c = kNone;
  int nights_after = 0;  ///< that were covered
  /// Whether there is anything to compare.
  bool known() const;
  /// The larger fall of the two, °C; not under 0.
  double fall_c() const;
  /// The larger rise of the two, °C; not under 0.
  double rise_c() const;
};

class MoveWatch {
 public:
  /// Takes a change from one known place to the other, which happened at about `since`.
  Carried take(Position to, Instant since, const MoveRules& rules);
  /// Takes a closed cycle; whether shuttling has ended with it, which nobody can say while the
  /// place is not known.
  bool close(const Cycle& cycle, bool place_known, const MoveRules& rules);

  Pattern pattern() const { return pattern_; }
  /// When the running shuttling began; else the last move; kNever: none yet.
  Instant episode() const;
  /// Where the last change led.
  Position last_to() const { return legs_.empty() ? Position::unknown : legs_.back().to; }
  Instant last_move() const { return legs_.empty() ? kNever : legs_.back().since; }
  /// The last move, if it took the bench to another place than where it stood before: no way back
  /// of a short stay. While shuttling it is one once the bench rests longer than its stays. kNever:
  /// none.
  Instant resting_move(Instant now) const;
  /// What changed for the bench from the days before `from` to those after `since`.
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
  /// Days on which a stay of less than a day, all of it within the last `within`, ended by coming
  /// back to `home`; the first of those stays began at `first`.
  int excursions(Position home, Instant now, Span within, Instant& first) const;

  std::vector<Leg> legs_;      ///< of the last days, newest last
  std::vector<Cycle> cycles_;  ///< of the last weeks, newest last
  Pattern pattern_ = Pattern::settled;
  Instant shuttling_since_{kNever};
};

}  // namespace plainwater::season
