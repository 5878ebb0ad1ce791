// What is to be said to people, before it has words: which sentence, and the figures in it. Only
// `render` makes text of it, in the language and the unit of whoever reads.
//
//   say("hold.placed", {{"from", degrees(21.3)}, {"to", degrees(12)}}) + say("go-on-watering")
//
// The first argument is a key of the table (words/english/), the names in braces are those of its
// pattern. A test holds each `say("…")` of the sources against the table.
#pragma once

#include <cstdint>
#include <initializer_list>
#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "common/instant.h"
#include "common/result.h"

namespace plainwater::words {

// Bodies that make or destroy a Sentence wait in the source until Said is complete: libstdc++ has
// its vector of an incomplete type only so far.
struct Said;
struct Value;

/// Sentences in a row; empty: nothing is said.
class Sentence {
 public:
  Sentence();
  explicit Sentence(Said one);

  const std::vector<Said>& parts() const { return parts_; }
  bool empty() const { return parts_.empty(); }
  /// The first alone: what has happened, before what to do about it.
  Sentence first() const;

  Sentence& operator+=(const Sentence& next);
  friend Sentence operator+(Sentence a, const Sentence& b);
  bool operator==(const Sentence&) const;

  /// One text in a snapshot. What versions before kept there, words as they are, is read too.
  template <class A>
  void fields(A& a) {
    std::string text = kept();
    a(text);
    take_kept(text);
  }

 private:
  std::string kept() const;
  void take_kept(const std::string& text);

  std::vector<Said> parts_;
};

/// A figure or a name in a sentence.
struct Value {
  enum class Kind : std::uint8_t {
    degrees,     ///< a temperature, °C
    difference,  ///< of two temperatures, °C
    number,      ///< whatever its pattern says of it
    count,       ///< whole; plurals go by it
    day,         ///< of the site's clocks
    moment,      ///< RFC 3339, UTC
    name,        ///< of a bench, a sensor, a person; what a library said: never translated
    said,        ///< other words of the table
  };
  Kind kind = Kind::name;
  std::int32_t decimals = 0;  ///< of degrees, difference and number: 0..9
  double figure = 0;          ///< of these; a temperature to six decimals, a number as it is shown
  std::int64_t whole = 0;     ///< of a count; of a moment, ms since 1970; of a day, days since 1970
  bool with_year = false;     ///< of a day
  std::string text{};         ///< of a name
  Sentence sentence{};

  Value();
  Value(Sentence said);  // NOLINT: implicit on purpose

  bool operator==(const Value&) const = default;
};

Value degrees(double celsius, int decimals = 1);
Value difference(double celsius, int decimals = 1);
Value number(double value, int decimals);
/// With so many figures at most, and no zeros behind the point: 3, 2.5, 0.125.
Value figures(double value, int most = 3);
Value count(std::int64_t n);
/// A date, said at the moment `said`; both are what the site's clocks show. It carries its year
/// when it is more than half a year away: without one, people take the nearest such day. That is
/// settled when the sentence is made, so that a stored one reads the same for ever.
Value day(Instant shown, Instant said);
/// The same with its hour, when that is less than two days away: "14 September at 18:30".
Value day_or_hour(Instant shown, Instant said);
/// "18:30".
std::string hour(Instant shown);
/// The same as `day`, always with its year.
Value day_and_year(Instant shown);
Value moment(Instant t);
/// A byte that is not UTF-8 becomes a question mark.
Value name(std::string_view text);

using Values = std::map<std::string, Value, std::less<>>;

/// One sentence of the table, or a few words of it.
struct Said {
  std::string key;
  Values with;

  bool operator==(const Said&) const = default;
};

Sentence say(std::string_view key,
             std::initializer_list<std::pair<const std::string, Value>> with = {});
/// A sentence that is still true at `now`, as it is said then: each of its dates with its year or
/// without, as `day` has it.
Sentence said_again(const Sentence& sentence, Instant now);
/// What has its words already: what an earlier version stored, or a library said.
Sentence as_it_is(std::string_view text);
/// One after the other by the pattern `key` of `before` and `next`; empty for none.
Sentence joined(const std::vector<Sentence>& all, std::string_view key);

/// Stable: the same sentence gives the same bytes, in every version.
///   [{"say":"hold.placed","with":{"day":{"day":"2026-09-14"},"to":{"degrees":12,"decimals":1}}}]
/// A day with its year: {"day":"2027-09-14","year":true}.
std::string to_json(const Sentence& sentence);
/// What `to_json` wrote, in this version or another. A kind of figure that this version does not
/// know is refused; keys are not looked up.
Result<Sentence> sentence_of(std::string_view json);

}  // namespace plainwater::words
