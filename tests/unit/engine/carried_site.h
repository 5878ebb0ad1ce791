// A made-up site with two airs, and a bench that is carried between them.
#pragma once

#include <limits>

#include "synthetic_site.h"

namespace plainwater::engine {

inline constexpr Position kIn = Position::indoors, kOut = Position::outdoors;
inline constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();
inline constexpr SensorId kContact = SensorId(3);

/// A site with a reference outdoors and one indoors, and a bench that is carried between the two
/// airs.
struct CarriedSite : SyntheticSite {
  Position place = kIn;
  double outdoor_c = 8, indoor_c = 18, outdoor_swing_c = 3;
  bool silent = false;  ///< the bench's own sensor

  explicit CarriedSite(Moves moves = Moves::watched) {
    settings->sensors.push_back({"outdoors", Reports::regularly});
    settings->sensors.push_back({"parlour", Reports::regularly});
    settings->sensors.push_back({"rail", Reports::on_change});
    settings->site.outdoor_reference = "outdoors";
    settings->site.indoor_reference = "parlour";
    settings->benches[0].moves = moves;
    interval = minutes(10);
    says = [this](std::size_t s, Instant t, double) {
      return s == 3 ? kNothing : s == 2 ? indoors(t) : s == 1 ? outdoors(t) : at_bench(t);
    };
  }
  CarriedSite(const CarriedSite&) = delete;

  static double day(Instant t) {
    return std::sin((static_cast<double>(to_ms(t) % 86'400'000) / 86'400'000.0 - 0.3) *
                    6.283185307);
  }
  /// A little restlessness, the same for the same minute.
  static double restless(Instant t, int of) {
    return 0.1 * std::sin(static_cast<double>(to_ms(t) / 60'000 % 9973) * (1.7 + of));
  }
  double outdoors(Instant t) const { return outdoor_c + outdoor_swing_c * day(t) + restless(t, 1); }
  double indoors(Instant t) const { return indoor_c + 0.7 * day(t) + restless(t, 2); }
  double at_bench(Instant t) {
    const double air_c = place == kOut ? outdoors(t) - 0.4 : indoors(t) + 0.3;
    if (std::isnan(bench_c_)) bench_c_ = air_c;
    bench_c_ += (air_c - bench_c_) * (1 - std::exp(-hours_of(interval) * 3));
    return silent ? kNothing : bench_c_ + restless(t, 3);
  }
  /// As the contact tells it, at its time.
  Taken word(Position where, Instant at, Instant heard) {
    return engine->take({kContact, Quantity::place, at, milli_of(where)}, heard, out);
  }
  feeding::Reply move(std::optional<Position> to, std::optional<Instant> from = {},
                      bool hold = false, std::optional<Instant> until = {}) {
    return ask(feeding::RequestKind::move, [&](feeding::Request& r) {
      r.to = to;
      r.from = from;
      r.hold = hold;
      r.until = until;
    });
  }
  std::vector<feeding::Decision> changes() const {
    return told(feeding::DecisionKind::position_changed);
  }
  /// From one place to the other; in between it may be unknown for a look or two.
  std::vector<feeding::Decision> moves() const {
    std::vector<feeding::Decision> found = changes();
    std::erase_if(found, [](const feeding::Decision& d) { return !is_move(d.cause); });
    return found;
  }
  int holds() const {
    return static_cast<int>(count(feeding::DecisionKind::hold_placed) +
                            count(feeding::DecisionKind::hold_extended));
  }
  PlaceNow stands() const { return bench().place; }

 private:
  double bench_c_ = kNothing;
};

struct ContactSite : CarriedSite {
  explicit ContactSite(Moves moves = Moves::watched) : CarriedSite(moves) {
    settings->benches[0].contact = kContact;
  }
};

inline bool in_order(const Outcome& out) {
  return std::is_sorted(
      out.decisions.begin(), out.decisions.end(),
      [](const feeding::Decision& a, const feeding::Decision& b) { return a.time < b.time; });
}

}  // namespace plainwater::engine
