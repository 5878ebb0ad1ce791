#include "season/position_watch.h"

#include <algorithm>
#include <cmath>

#include "common/json_text.h"

namespace plainwater::season {
namespace {

constexpr Span kWordStands = kDay;
constexpr int kSureLooks = 2;
constexpr double kBack = 0.98;

/// How sure the filter must be to change what is said: probabilities.
struct Sureness {
  double sure;     ///< said if two looks in a row, a sensor's lag apart, are this sure
  double at_once;  ///< said if one look is this sure; above 1: never
  double doubt;    ///< unknown if the place said is less probable than this
};

Sureness sureness(const MoveRules& rules) {
  Sureness s{0.992, 0.9985, 0.85};
  if (rules.preset == MovePreset::quiet) s = {0.998, 2, 0.7};
  if (rules.preset == MovePreset::fast) s = {0.975, 0.995, 0.85};
  s.sure = rules.sure.value_or(s.sure);
  s.at_once = std::max(s.sure, rules.at_once.value_or(s.at_once));
  s.doubt = std::min(s.doubt, s.sure);
  return s;
}

}  // namespace

double PositionWatch::probability() const {
  if (told_ != Told::by_air) return 1;
  return last_known_ == Position::unknown ? 0 : filter_.probability(last_known_);
}

PlaceChange PositionWatch::change_to(Position place, Told told, Instant now, Instant since,
                                     double probability) {
  const bool corrected =
      told_ == Told::by_settings && told == Told::by_contact && since < assumed_ + kWordStands;
  const Position from = corrected ? Position::unknown : last_known_;
  const PlaceChange change{from, place, told, now, since, rounded(probability, 4)};
  position_ = place;
  told_ = told;
  if (place != Position::unknown) {
    sure_looks_ = 0;  // but not by "unknown": looks sure of the other place still count
    if (place != last_known_) since_ = since;
    last_known_ = place;
  }
  return change;
}

std::optional<PlaceChange> PositionWatch::look(const Sighting& sighting, Instant now,
                                               const MoveRules& rules) {
  const bool word_stands = sighting.time < told_until_;
  if (!filter_.take(sighting, word_stands ? last_known_ : Position::unknown, rules))
    return std::nullopt;
  if (word_stands) return std::nullopt;

  const Sureness s = sureness(rules);
  const Position likely = filter_.outdoors() > 0.5 ? Position::outdoors : Position::indoors;
  const double probability = filter_.probability(likely);
  if (likely != position_) {
    sure_looks_ = probability >= s.sure ? sure_looks_ + 1 : 0;
    if (sure_looks_ == 1) sure_since_ = sighting.time;
    // Sensor and pots lag, and one wild reading proves nothing: what was seen must last.
    const bool lasted = sure_looks_ >= kSureLooks &&
                        sighting.time - sure_since_ >= Span(std::llround(rules.lag_min * 60'000));
    // The place said before the doubt is no move: one sure look is enough.
    const bool back =
        position_ == Position::unknown && likely == last_known_ && probability >= kBack;
    if (probability >= s.at_once || lasted || back)
      return change_to(likely, Told::by_air, now, filter_.entered(likely), probability);
  } else {
    sure_looks_ = 0;
  }
  if (position_ == Position::unknown) return std::nullopt;
  const double standing = filter_.probability(position_);
  if (standing >= s.doubt) return std::nullopt;
  return change_to(Position::unknown, Told::by_air, now, kNever, standing);
}

std::optional<PlaceChange> PositionWatch::tell(Position place, Told told, Instant moved,
                                               Instant now) {
  const bool same = place == position_;
  filter_.believe(place, moved);
  word_ = std::max(word_, std::min(moved, now));  // a word may be minutes ahead
  if (!same) return change_to(place, told, now, moved, 1);
  told_ = told;
  sure_looks_ = 0;
  return std::nullopt;
}

std::optional<PlaceChange> PositionWatch::declare(Position place, Instant moved, Instant now) {
  if (told_ == Told::by_contact && place == position_)
    return std::nullopt;  // the contact's word lasts longer
  if (is_overtaken(place, moved)) return std::nullopt;
  told_until_ = now + kWordStands;
  return tell(place, Told::by_person, moved, now);
}

std::optional<PlaceChange> PositionWatch::contact(Position place, Instant time, Instant now) {
  if (time < word_) return std::nullopt;  // late: a newer word is known
  told_until_ = kForever;
  return tell(place, Told::by_contact, time, now);
}

void PositionWatch::assume(Position place, Instant now) {
  if (told_ != Told::by_settings) assumed_ = now;
  position_ = last_known_ = place;
  told_ = Told::by_settings;
  filter_.believe(place, kNever);
}

void PositionWatch::forget_contact() {
  if (told_ != Told::by_contact) return;
  told_ = Told::by_person;  // as an old word, which the air may contradict
  told_until_ = kNever;
}

std::optional<PlaceChange> PositionWatch::unseen(Instant now, const MoveRules& rules) {
  if (position_ == Position::unknown || now < told_until_) return std::nullopt;
  const Instant seen = filter_.last_look();
  if (seen != kNever && hours_of(now - seen) < rules.undecided_h) return std::nullopt;
  return change_to(Position::unknown, Told::by_air, now, kNever, filter_.probability(last_known_));
}

}  // namespace plainwater::season
