// Whether anybody has seen a matter: acknowledgements, and the reminder of what nobody
// acknowledges.
#include "notices/desk.h"
#include "settings/scalar.h"

namespace plainwater::notices {
namespace {

constexpr minutes kUnheard{30};  ///< until a chill that nobody acknowledges is told once more

}  // namespace

void Desk::expect_heard(Item& item) {
  const bool urgent_chill = item.matter.kind == "chill" && item.matter.urgency == Urgency::urgent;
  item.unheard = urgent_chill ? item.due + kUnheard : kNever;
}

void Desk::await_hearing(Item& item, const When& when) {
  const bool just_begun = item.unheard != kNever && item.unheard == item.due + kUnheard;
  if (just_begun) item.unheard = when.now + kUnheard;
}

bool Desk::reminds(const Item& item, const When& when) const {
  return is_cared_for() && item.state == State::open && item.gone == kNever && item.told > 0 &&
         item.matter.urgency == Urgency::urgent && item.unheard != kNever &&
         item.unheard <= when.now;
}

void Desk::remind(std::vector<Message>& messages, const When& when) {
  std::vector<Item> told;
  for (auto& [key, item] : items_) {
    if (!reminds(item, when)) continue;
    item.unheard = kNever;
    changed_[key] = true;
    told.push_back(item);
    ++told.back().told;  // with this message, which the others do not get
  }
  std::vector<const Item*> all;
  for (const Item& item : told) all.push_back(&item);
  const std::size_t at_once = all.size() > kTold ? all.size() : 1;
  for (std::size_t i = 0; i < all.size(); i += at_once)
    messages.push_back(
        reminder(std::span(all).subspan(i, at_once), kUnheard.count(), when.site, style_));
}

bool Desk::is_open(std::string_view id) const {
  const auto at = items_.find(id);
  return particulars_.contains(std::string(id)) || is_told(at);
}

bool Desk::is_told(Items::const_iterator at) const {
  return at != items_.end() && at->second.matter.lasts && at->second.state == State::open;
}

feeding::Reply Desk::no_such_notice(std::string_view id) const {
  std::vector<std::string_view> open;
  for (auto at = items_.begin(); at != items_.end(); ++at)
    if (is_told(at)) open.push_back(at->first);
  const std::string near = nearest(id, open, [](std::string_view name) { return name; });
  const words::Value named = words::name(id);
  return {false, "unknown-notice",
          near.empty() ? words::say("request.unknown-notice", {{"notice", named}})
                       : words::say("request.unknown-notice-near",
                                    {{"notice", named}, {"near", words::name(near)}})};
}

feeding::Reply Desk::acknowledge(std::string_view id, const std::string& who, const When& when) {
  if (!is_told(items_.find(id))) return no_such_notice(id);
  Item& item = items_.find(id)->second;
  if (item.acknowledged != kNever)
    return {
        true, "",
        words::say("request.acknowledged-already", {{"who", words::name(item.acknowledged_by)}})};
  item.acknowledged = when.now;
  item.acknowledged_by = who;
  item.due = kForever;
  item.unheard = kNever;
  changed_[item.key] = true;
  return {true, "", words::say("request.acknowledged-notice")};
}

}  // namespace plainwater::notices
