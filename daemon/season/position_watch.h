// What is said about a bench's place: the filter's probability with hysteresis, "unknown" where it
// cannot be told, and the word of people and contacts above both.
#pragma once

#include <optional>

#include "season/position_filter.h"

namespace plainwater::season {

/// Who says where a bench stands.
enum class Told : std::uint8_t { by_air, by_contact, by_person, by_settings };

/// What is said about the place has changed.
struct PlaceChange {
  Position from = Position::unknown;  ///< the last place that was known
  Position to = Position::unknown;
  Told told = Told::by_air;
  Instant time{};          ///< when it was decided
  Instant since{kNever};   ///< when it probably happened; kNever: not known
  double probability = 0;  ///< of `to`, by the air; of `from` when the place is unknown now
  /// From one known place to the other.
  bool moved() const { return from != Position::unknown && to != Position::unknown && from != to; }
};

class PositionWatch {
 public:
  /// Takes the bench's air; `now` is when it is judged, at or after the look's own time.
  std::optional<PlaceChange> look(const Sighting& sighting, Instant now, const MoveRules& rules);
  /// A person's word: it stands against the air for a day. `moved` is when it was carried. An older
  /// word than the last that names another place counts no more.
  std::optional<PlaceChange> declare(Position place, Instant moved, Instant now);
  /// A contact's word: it stands until its next one. One that is older than the last word, of a
  /// contact or a person, counts no more.
  std::optional<PlaceChange> contact(Position place, Instant time, Instant now);
  /// The settings' place, for a bench of which only words tell. A contact that says otherwise
  /// within a day corrects it, and saw no move.
  void assume(Position place, Instant now);
  /// The bench has no contact any more: its last word ends.
  void forget_contact();
  /// Nothing was seen for so long that the place cannot be vouched for.
  std::optional<PlaceChange> unseen(Instant now, const MoveRules& rules);

  Position position() const { return position_; }
  Position last_known() const { return last_known_; }
  Told told() const { return told_; }
  /// Since when it stands there, as far as known; kNever: not known.
  Instant since() const { return since_; }
  /// Of the place that is or was last known: 1 where somebody tells it, else by the air; 0: nothing
  /// is known.
  double probability() const;
  /// When the bench was carried or stood there, by the last word; kNever: no word is known.
  Instant last_word() const { return word_; }
  /// That the bench was carried there then is an older word than the last, of another place.
  bool is_overtaken(Position place, Instant moved) const {
    return place != position_ && moved < word_;
  }
  const PositionFilter& filter() const { return filter_; }

  template <class A>
  void fields(A& a) {
    a(filter_);
    a(position_);
    a(last_known_);
    a(told_);
    a(since_);
    a(sure_looks_);
    a(sure_since_);
    a(told_until_);
    a(assumed_);
    a(word_);
  }

 private:
  PlaceChange change_to(Position place, Told told, Instant now, Instant since, double probability);
  std::optional<PlaceChange> tell(Position place, Told told, Instant moved, Instant now);

  PositionFilter filter_;
  Position position_ = Position::unknown, last_known_ = Position::unknown;
  Told told_ = Told::by_air;
  Instant since_{kNever};
  std::int32_t sure_looks_ =
      0;                        ///< looks in a row that are sure of another place than the one said
  Instant sure_since_{kNever};  ///< the first of them
  Instant told_until_{kNever};  ///< a word stands so long against the air
  Instant assumed_{kNever};     ///< when the settings' place was taken over
  Instant word_{kNever};        ///< see last_word
};

}  // namespace plainwater::season
