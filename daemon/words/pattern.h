// A pattern of ICU's MessageFormat, as translators know it, read once:
//
//   "{name} has been silent for {days, plural, one {# day} other {# days}}."
//
// Plain arguments, `plural` and `select`; numbers and temperatures are written by `render`, so
// patterns have no formats of their own.
// https://unicode-org.github.io/icu/userguide/format_parse/messages/
#pragma once

#include <map>
#include <memory>
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "common/result.h"

namespace plainwater::words {

struct Piece {
  enum class Kind { text, argument, plural, select };
  Kind kind = Kind::text;
  std::string text;                                                ///< or the argument's name
  std::map<std::string, std::vector<Piece>, std::less<>> cases{};  ///< "one", "=0", "other"
};
using Pattern = std::vector<Piece>;

/// The error says what is wrong with it, without a place.
Result<Pattern> read_pattern(std::string_view text);
/// The names of its arguments.
std::set<std::string> arguments_of(const Pattern& pattern);
/// All text outside of its arguments.
std::string text_of(const Pattern& pattern);

/// How a language counts: "one", "few", "other" …
class PluralRules {
 public:
  /// By a BCP 47 tag, "pt-BR"; an error where the language is not known.
  static Result<PluralRules> of(std::string_view tag);
  std::string category(double n) const;

 private:
  struct Rules;
  explicit PluralRules(std::shared_ptr<const Rules> rules) : rules_(std::move(rules)) {}
  std::shared_ptr<const Rules> rules_;
};

}  // namespace plainwater::words
