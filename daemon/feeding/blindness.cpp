#include "feeding/blindness.h"

#include "feeding/phrases.h"

namespace plainwater::feeding {
namespace {

constexpr int kNightsTooLong = 28;  // after plain water began

int raises_at(const FeedingRules& rules) { return rules.blind_plain_nights + kNightsTooLong; }

}  // namespace

bool Blindness::stops(const FeedingRules& rules) const {
  return nights_ >= rules.blind_plain_nights && !too_long(rules);
}

bool Blindness::too_long(const FeedingRules& rules) const { return nights_ >= raises_at(rules); }

void Blindness::take_night(const NightFacts& night, bool releasing, SeasonFeeding& season,
                           Questions& questions, const Teller& to) {
  const FeedingRules& rules = to.rules();
  // Two things would raise the feed: a night that counts again, and too many blind nights. While
  // nothing is released, both wait.
  if (!releasing && (night.counted ? weakens(rules) : nights_ + 1 == raises_at(rules))) return;
  if (night.counted) {
    if (weakens(rules)) season.after_pause(night.time, rules);
    nights_ = 0;
    questions.settle(Cause::blind);
    return;
  }
  // Only plain water that was given starves plants.
  if (!night.listened && nights_ >= rules.blind_plain_nights) return;
  ++nights_;
  if (nights_ <= rules.blind_plain_nights) {
    Decision& d = to.tell(DecisionKind::night_blind, Cause::blind);
    d.evidence.number("coverage", night.air.temperature.coverage, 2)
        .count("nights_in_a_row", nights_);
    d.said = phrases::night_blind(night.air.temperature.coverage, night.air.suspect, nights_);
  }
  if (nights_ != raises_at(rules)) return;
  const words::Value nights = words::count(nights_);
  // A bench that was never heard stays on plain water until it is.
  questions.ask(to, Cause::blind,
                season.known_nights() == 0
                    ? words::say("ask.never-heard", {{"nights", nights}}) +
                          words::say("ask.never-heard-please")
                    : words::say("ask.blind", {{"nights", nights},
                                               {"percent", words::count(rules.weakest_percent)}}) +
                          words::say("ask.blind-please"));
}

}  // namespace plainwater::feeding
