// Checks numbers that must fit each other.
#include <fmt/format.h>

#include <set>

#include "settings/check.h"
#include "settings/keys.h"

namespace plainwater {
namespace {

class Order {
 public:
  Order(const Draft& draft, Findings& findings) : draft_(draft), findings_(findings) {}

  /// Blames the key that was given; if both were, the one that should be smaller.
  void at_most(std::string_view small_key, double small, std::string_view large_key, double large) {
    if (small <= large || draft_.doubtful(small_key) || draft_.doubtful(large_key)) return;
    const bool blame_large = !draft_.lines.contains(small_key) && draft_.lines.contains(large_key);
    const std::string_view key = blame_large ? large_key : small_key;
    if (!blamed_.insert(key).second) return;  // one number that is out of order with several
    findings_.problems.push_back({draft_.line(key), std::string(key),
                                  fmt::format("expected {} ({}) to be no more than {} ({})",
                                              small_key, decimal(small), large_key, decimal(large)),
                                  "change one of the two"});
  }

 private:
  const Draft& draft_;
  Findings& findings_;
  std::set<std::string_view> blamed_;
};

}  // namespace

void check_rules(const Draft& draft, Findings& findings) {
  Order order(draft, findings);
  const DropRules& d = draft.settings.drops;
  order.at_most("detection.shortest_days", d.shortest_days, "detection.longest_days",
                d.longest_days);
  order.at_most("detection.longest_days", d.longest_days, "detection.longest_plain_water_days",
                d.longest_plain_water_days);
  order.at_most("detection.longest_plain_water_days", d.longest_plain_water_days,
                "detection.yearly_plain_water_days", d.yearly_plain_water_days);
  order.at_most("detection.decide_night", d.decide_night, "detection.latest_decide_night",
                d.latest_decide_night);
  order.at_most("detection.latest_decide_night", d.latest_decide_night, "detection.shortest_days",
                d.shortest_days);
  order.at_most("detection.fall", d.fall_c, "detection.severe_fall", d.severe_fall_c);
  order.at_most("detection.fall", d.fall_c, "detection.gate_passing_fall", d.gate_passing_fall_c);

  order.at_most("detection.chill_deep", d.chill_deep_c, "detection.chill_deepest",
                d.chill_deepest_c);
  order.at_most("detection.chill_shortest_days", d.chill_shortest_days, "detection.chill_days",
                d.chill_days);

  const MoveRules& m = draft.settings.moves;
  if (m.sure && m.at_once) order.at_most("moves.sure", *m.sure, "moves.at_once", *m.at_once);
  order.at_most("moves.shuttle_days", m.shuttle_days, "moves.shuttle_within_days",
                m.shuttle_within_days);

  const FeedingRules& f = draft.settings.feeding;
  order.at_most("feeding.weakest_percent", f.weakest_percent, "feeding.strongest_reduced_percent",
                f.strongest_reduced_percent);
  order.at_most("feeding.after_hold_percent", f.after_hold_percent,
                "feeding.strongest_reduced_percent", f.strongest_reduced_percent);
  order.at_most("feeding.dull_day", f.dull_day_h, "feeding.bright_day", f.bright_day_h);
  order.at_most("feeding.blind_reduced_nights", f.blind_reduced_nights,
                "feeding.blind_plain_nights", f.blind_plain_nights);
  if (f.reissue_s * 2 > f.order_valid_s && !draft.doubtful("feeding.reissue") &&
      !draft.doubtful("feeding.order_valid"))
    findings.problems.push_back({draft.line("feeding.reissue"), "feeding.reissue",
                                 fmt::format("expected a feed order to be repeated twice before it "
                                             "expires, but {} s is more than half of {} s",
                                             f.reissue_s, f.order_valid_s),
                                 "repeat orders more often, or let them last longer"});
  order.at_most("sensor_watch.lowest", draft.settings.watch.lowest_c, "sensor_watch.highest",
                draft.settings.watch.highest_c);
}

}  // namespace plainwater
