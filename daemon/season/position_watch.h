// Decides what is said about a bench's place: the filter's probability with hysteresis, "unknown"
// if it is too unsure. What people and contacts say outranks both.
#pragma once

#include <optional>

#include "season/position_filter.h"

namespace plainwater::season {

/// Who says where a bench stands.
enum class Told : std::uint8_t { by_air, by_contact, by_person, by_settings };

/// A change of what is said about the place.
struct PlaceChange {
  Position from = Position::unknown;  ///< the last place that was known
  Position to = Position::unknown;
  Told told = Told::by_air;
  Instant time{};          ///< when it was decided
  Instant since{kNever};   ///< when it probably happened; kNever: not known
  double probability = 0;  ///< of `to`, by the air; of `from` if the place is now unknown
  /// From one known place to the other.
  bool moved() const { return from != Position::unknown && to != Position::unknown && from != to; }
};

class PositionWatch {
 public:
  /// Takes the bench's air; `now` is when it is judged, at or after the look's own time.
  std::optional<PlaceChange> look(const Sighting& sighting, Instant now, const MoveRules& rules);
  /// A person says where the bench stands: for a day that outranks the air. `moved` is when it was
  /// carried. A word for another place, older than the last word, is ignored.
  std::optional<PlaceChange> declare(Position place, Instant moved, Instant now);
  /// A contact says where the bench stands: that counts until its next word. A word older than the
  /// last one, from a contact or a person, is ignored.
  std::optional<PlaceChange> contact(Position place, Instant time, Instant now);
  /// Takes the place from the settings, for a bench whose place is only ever declared. A contact
  /// that disagrees within a day corrects the settings; that is no move.
  void assume(Position place, Instant now);
  /// The bench no longer has a contact: the contact's last word no longer counts.
  void forget_contact();
  /// Says "unknown" if nothing has been seen for so long that the place is no longer certain.
  std::optional<PlaceChange> unseen(Instant now, const MoveRules& rules);

  Position position() const { return position_; }
  Position last_known() const { return last_known_; }
  Told told() const { return told_; }
  /// Since when it stands there, as far as known; kNever: not known.
  Instant since() const { return since_; }
  /// Probability of the last known place: 1 if somebody declared it, else by the air; 0: nothing is
  /// known.
  double probability() const;
  /// When the bench was carried or stood there, by the last word of a person or contact; kNever: no
  /// word yet.
  Instant last_word() const { return word_; }
  /// Whether a word for `place` is older than the last word, which was for another place.
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
      0;                        ///< looks in a row that are sure of a place other than the one said
  Instant sure_since_{kNever};  ///< the first of them
  Instant told_until_{kNever};  ///< until then a word outranks the air
  Instant assumed_{kNever};     ///< when the settings' place was adopted
  Instant word_{kNever};        ///< see last_word
};

}  // namespace plainwater::season
