// The absence of whoever keeps the house: from when, until when, and who looks after it meanwhile.
// Then no pump is armed or trusted, since nobody who may decide that sees the line; what is armed
// goes on. All limits that have a date end as published. What asks a person is answered by nobody:
// it stays as it is, and the end of the absence tells so.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "engine/turn.h"

namespace plainwater::engine {

/// The longest absence, from its beginning to its end.
inline constexpr Span kLongestAbsence = 92 * kDay;

class Absence {
 public:
  static constexpr std::uint32_t kVersion = 9;  ///< of snapshots; older ones know of none

  /// What needs a person: a bench's question, or a pump that is not trusted.
  struct Waiting {
    std::string about;  ///< the bench's or the pump's name
    feeding::Cause cause = feeding::Cause::none;
    bool operator==(const Waiting&) const = default;
    template <class A>
    void fields(A& a) {
      a(about);
      a(cause);
    }
  };
  /// Whether nobody has seen to it yet.
  using StillWaits = std::function<bool(const Waiting&)>;

  /// Announced, or in force; one at a time.
  bool known() const { return stay_.has_value(); }
  bool in_force() const { return known() && stay_->begun; }
  /// When it begins or ends; kForever: never. It does not end while the clock is not believed.
  Instant due(bool settled) const;
  /// Begins or ends it; it must be due.
  void fire(const StillWaits& waits, const Turn& turn);
  /// Keeps in mind what decisions from index `first` on ask of a person.
  void note(const std::vector<feeding::Decision>& decisions, std::size_t first);

  /// Takes `absence` or `back`.
  feeding::Reply take(const feeding::Request& request, const StillWaits& waits, const Turn& turn);
  /// The refusal of a request that would let feed flow while nobody sees it; none for others.
  std::optional<feeding::Reply> refused(const feeding::Request& request, const Settings& settings,
                                        Instant now);
  /// None while there is none.
  std::optional<AbsenceNow> now(const StillWaits& waits, const Settings& settings) const;

  template <class A>
  void fields(A& a) {
    a(stay_);
  }

 private:
  struct Stay {
    // Not `= default`: clang takes a class with initial values for one that cannot be made, while
    // the class around it is not complete.
    Stay() {}
    Instant from{}, until{};
    std::string person;  ///< who looks after the house
    std::string who;     ///< who asked, and is away
    bool begun = false;
    std::vector<Waiting> asked;  ///< since it began, each once
    std::uint32_t refused = 0;   ///< requests to arm or trust a pump
    std::string id;              ///< of the request that asked for it
    template <class A>
    void fields(A& a) {
      a(from);
      a(until);
      a(person);
      a(who);
      a(begun);
      a(asked);
      a(refused);
      a(id);
    }
  };

  static Stay stay_of(const feeding::Request& request, Instant from, Instant until, Instant now);
  feeding::Reply take_absence(const feeding::Request& request, const Turn& turn);
  feeding::Reply take_back(const feeding::Request& request, const StillWaits& waits,
                           const Turn& turn);
  /// What came up meanwhile, and what became of it.
  words::Sentence summary(const StillWaits& waits) const;
  void end(words::Sentence said, feeding::Evidence evidence, const StillWaits& waits,
           const Turn& turn);

  std::optional<Stay> stay_;
};

}  // namespace plainwater::engine
