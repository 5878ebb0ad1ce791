#include "season/position_watch.h"

#include "common/json_text.h"

namespace plainwater::season {
namespace {

constexpr Span kWordStands = kDay;
constexpr int kSureLooks = 2;

/// What it takes to say something.
struct Sureness {
  double sure;      ///< in two looks in a row: said
  double at_once;   ///< in one look: said
  double doubt;     ///< the place said is less probable than this: unknown
  double unsure;    ///< less probable than this for `unsure_h`: unknown
  double unsure_h;
};

Sureness sureness(const MoveRules& rules) {
  Sureness s{0.972, 0.998, 0.8, 0.9, 1};
  if (rules.preset == MovePreset::quiet) s = {0.99, 0.9989, 0.5, 0.8, 2};
  if (rules.preset == MovePreset::fast) s = {0.92, 0.98, 0.8, 0.9, 1};
  s.sure = rules.sure.value_or(s.sure);
  s.at_once = std::max(s.sure, rules.at_once.value_or(s.at_once));
  return s;
}

}  // namespace

double PositionWatch::probability() const {
  if (told_ == Told::by_contact) return 1;
  return last_known_ == Position::unknown ? 0 : filter_.probability(last_known_);
}

PlaceChange PositionWatch::change_to(Position place, Told told, Instant now, Instant since, double probability) {
  const PlaceChange change{last_known_, place, told, now, since, rounded(probability, 4)};
  position_ = place;
  told_ = told;
  sure_looks_ = 0;
  unsure_since_ = kNever;
  if (place != Position::unknown) {
    if (place != last_known_) since_ = since;
    last_known_ = place;
  }
  return change;
}

std::optional<PlaceChange> PositionWatch::look(const Sighting& sighting, Instant now, const MoveRules& rules) {
  const bool word_stands = sighting.time < told_until_;
  if (!filter_.take(sighting, word_stands ? last_known_ : Position::unknown, rules)) return std::nullopt;
  if (word_stands) return std::nullopt;

  const Sureness s = sureness(rules);
  const Position likely = filter_.outdoors() > 0.5 ? Position::outdoors : Position::indoors;
  const double probability = filter_.probability(likely);
  if (likely != position_) {
    sure_looks_ = probability >= s.sure ? sure_looks_ + 1 : 0;
    if (probability >= s.at_once || sure_looks_ >= kSureLooks) return change_to(likely, Told::by_air, now, filter_.entered(likely), probability);
  } else {
    sure_looks_ = 0;
  }
  if (position_ == Position::unknown) return std::nullopt;
  const double standing = filter_.probability(position_);
  if (standing >= s.unsure) {
    unsure_since_ = kNever;
    return std::nullopt;
  }
  if (unsure_since_ == kNever) unsure_since_ = sighting.time;
  const bool for_long = hours_of(sighting.time - unsure_since_) >= s.unsure_h;
  if (standing >= s.doubt && !for_long) return std::nullopt;
  return change_to(Position::unknown, Told::by_air, now, kNever, standing);
}

std::optional<PlaceChange> PositionWatch::tell(Position place, Told told, Instant moved, Instant now) {
  const bool same = place == position_;
  filter_.believe(place, moved);
  word_ = moved;
  if (!same) return change_to(place, told, now, moved, 1);
  told_ = told;
  sure_looks_ = 0;
  unsure_since_ = kNever;
  return std::nullopt;
}

std::optional<PlaceChange> PositionWatch::declare(Position place, Instant moved, Instant now) {
  if (told_ == Told::by_contact && place == position_) return std::nullopt;  // its word stands longer
  told_until_ = now + kWordStands;
  return tell(place, Told::by_person, moved, now);
}

std::optional<PlaceChange> PositionWatch::contact(Position place, Instant time, Instant now) {
  if (time < word_) return std::nullopt;  // it comes late: a newer one is known
  told_until_ = kForever;
  return tell(place, Told::by_contact, time, now);
}

std::optional<PlaceChange> PositionWatch::unseen(Instant now, const MoveRules& rules) {
  if (position_ == Position::unknown || now < told_until_) return std::nullopt;
  const Instant seen = filter_.last_look();
  if (seen != kNever && hours_of(now - seen) < rules.undecided_h) return std::nullopt;
  return change_to(Position::unknown, Told::by_air, now, kNever, filter_.probability(last_known_));
}

}  // namespace plainwater::season
