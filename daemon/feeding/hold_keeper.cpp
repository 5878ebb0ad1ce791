#include "feeding/hold_keeper.h"

#include <algorithm>

namespace plainwater::feeding {

HoldView HoldKeeper::local_view(const Settings& settings) const {
  HoldView view = hold_->view(settings.drops);
  for (Instant* t :
       {&view.placed, &view.judged_from, &view.earliest_end, &view.planned_end, &view.latest_end})
    *t = settings.site.local(*t);
  return view;
}

const HoldEvent* HoldKeeper::move_event() const {
  if (!hold_) return nullptr;
  const auto found =
      std::find_if(hold_->events.rbegin(), hold_->events.rend(),
                   [](const HoldEvent& e) { return is_move(e.cause) && e.stands(); });
  return found == hold_->events.rend() ? nullptr : &*found;
}

HoldEvent* HoldKeeper::move_event() {
  return const_cast<HoldEvent*>(std::as_const(*this).move_event());
}

DecisionKind HoldKeeper::place_or_extend(HoldEvent event, Instant t, const SeasonFeed& before) {
  event.during_hold = hold_.has_value();
  if (hold_) {
    hold_->events.push_back(std::move(event));
    return DecisionKind::hold_extended;
  }
  Hold hold;
  hold.id = ++last_id_;
  hold.cause = event.cause;
  hold.placed = t;
  hold.before = before;
  hold.asked_at = t;
  hold.events.push_back(std::move(event));
  hold_ = std::move(hold);
  return DecisionKind::hold_placed;
}

bool HoldKeeper::recast_move(Cause cause, Instant moved) {
  HoldEvent* event = move_event();
  if (event == nullptr || event->proof != Proof::provisional) return false;
  if (hold_->cause == event->cause) hold_->cause = cause;
  event->cause = cause;
  event->moved = moved;
  return true;
}

void HoldKeeper::confirm_drops() {
  for (HoldEvent& event : hold_->events)
    if (event.cause == Cause::sharp_drop && event.proof == Proof::provisional)
      event.proof = Proof::confirmed;
}

void HoldKeeper::join(const HoldKeeper& other, const SeasonFeed& own, const SeasonFeed& others) {
  last_id_ = std::max(last_id_, other.last_id_);
  if (!hold_ && !other.hold_) return;
  if (!hold_ || !other.hold_) {
    const SeasonFeed& without_hold = hold_ ? others : own;
    if (!hold_) hold_ = other.hold_;
    hold_->before.join(without_hold);
    return;
  }
  hold_->before.join(other.hold_->before);
  hold_->placed = std::min(hold_->placed, other.hold_->placed);
  if (other.hold_->relieved == kNever) hold_->relieved = kNever;
  auto& events = hold_->events;
  events.insert(events.end(), other.hold_->events.begin(), other.hold_->events.end());
  std::stable_sort(events.begin(), events.end(),
                   [](const auto& a, const auto& b) { return a.placed < b.placed; });
}

}  // namespace plainwater::feeding
