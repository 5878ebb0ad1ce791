#include "words/pattern.h"

#include <unicode/locid.h>
#include <unicode/messagepattern.h>
#include <unicode/plurrule.h>

#include <algorithm>
#include <memory>
#include <optional>

namespace plainwater::words {
namespace {

using Part = icu::MessagePattern::Part;

std::string utf8(const icu::UnicodeString& text) {
  std::string out;
  return text.toUTF8String(out);
}

/// Walks ICU's parts, which are in the order of the text.
class PartReader {
 public:
  explicit PartReader(const icu::MessagePattern& pattern) : pattern_(pattern) {}

  /// From a message's start to its limit; leaves `at_` behind that.
  Pattern message(const std::string& counted) {
    Pattern pieces;
    int from = part().getLimit();
    for (++at_; part().getType() != UMSGPAT_PART_TYPE_MSG_LIMIT;) {
      add_text(pieces, from, part().getIndex());
      from = part().getLimit();
      switch (part().getType()) {
        case UMSGPAT_PART_TYPE_ARG_START:
          pieces.push_back(argument());
          from = pattern_.getPart(at_ - 1).getLimit();
          break;
        case UMSGPAT_PART_TYPE_REPLACE_NUMBER:
          pieces.push_back({Piece::Kind::argument, counted});
          ++at_;
          break;
        default: ++at_;  // an apostrophe that quotes, or one that is to be put in
      }
    }
    add_text(pieces, from, part().getIndex());
    ++at_;
    return pieces;
  }

  const std::string& fault() const { return fault_; }

 private:
  const Part& part() const { return pattern_.getPart(at_); }

  void add_text(Pattern& pieces, int from, int to) const {
    if (to <= from) return;
    const std::string text = utf8(pattern_.getPatternString().tempSubStringBetween(from, to));
    if (!pieces.empty() && pieces.back().kind == Piece::Kind::text)
      pieces.back().text += text;
    else
      pieces.push_back({Piece::Kind::text, text});
  }

  Piece argument() {
    const UMessagePatternArgType type = part().getArgType();
    const int limit = pattern_.getLimitPartIndex(at_);
    ++at_;
    const std::string name = utf8(pattern_.getSubstring(part()));
    if (part().getType() != UMSGPAT_PART_TYPE_ARG_NAME)
      fault_ = "argument {" + name + "} has a number for a name";
    ++at_;
    Piece piece{Piece::Kind::argument, name};
    if (type == UMSGPAT_ARG_TYPE_PLURAL || type == UMSGPAT_ARG_TYPE_SELECT) {
      piece.kind = type == UMSGPAT_ARG_TYPE_PLURAL ? Piece::Kind::plural : Piece::Kind::select;
      read_cases(piece, limit);
    } else if (type != UMSGPAT_ARG_TYPE_NONE) {
      fault_ = "argument {" + name + "} has a format; only plural and select are understood";
    }
    at_ = limit + 1;
    return piece;
  }

  void read_cases(Piece& piece, int limit) {
    while (at_ < limit) {
      if (part().getType() != UMSGPAT_PART_TYPE_ARG_SELECTOR) {
        fault_ = "argument {" + piece.text + "} has an offset, which is not understood";
        return;
      }
      const std::string selector = utf8(pattern_.getSubstring(part()));
      ++at_;
      if (Part::hasNumericValue(part().getType())) ++at_;  // of "=0"
      piece.cases[selector] =
          message(piece.kind == Piece::Kind::plural ? piece.text : std::string());
    }
  }

  const icu::MessagePattern& pattern_;
  int at_ = 0;
  std::string fault_;
};

template <class Visit>
void visit(const Pattern& pattern, Visit each) {
  for (const Piece& piece : pattern) {
    each(piece);
    for (const auto& [selector, message] : piece.cases) visit(message, each);
  }
}

}  // namespace

Result<Pattern> read_pattern(std::string_view text) {
  UErrorCode failed = U_ZERO_ERROR;
  UParseError where{};
  icu::MessagePattern pattern(UMSGPAT_APOS_DOUBLE_OPTIONAL, failed);
  pattern.parse(icu::UnicodeString::fromUTF8(
                    icu::StringPiece(text.data(), static_cast<std::int32_t>(text.size()))),
                &where, failed);
  if (U_FAILURE(failed)) {
    const std::string near = utf8(icu::UnicodeString(where.preContext));
    return Error{"this is no message pattern: it goes wrong" +
                     (near.empty() ? "" : " after \"" + near + "\""),
                 "", "look for braces that do not match; a brace in the text is written '{'"};
  }
  PartReader reader(pattern);
  Pattern read = reader.message({});
  if (!reader.fault().empty()) return Error{reader.fault(), "", ""};
  return read;
}

std::set<std::string> arguments_of(const Pattern& pattern) {
  std::set<std::string> names;
  visit(pattern, [&](const Piece& piece) {
    if (piece.kind != Piece::Kind::text) names.insert(piece.text);
  });
  return names;
}

std::string text_of(const Pattern& pattern) {
  std::string text;
  visit(pattern, [&](const Piece& piece) {
    if (piece.kind == Piece::Kind::text) text += piece.text;
  });
  return text;
}

struct PluralRules::Rules {
  std::unique_ptr<const icu::PluralRules> icu;
};

Result<PluralRules> PluralRules::of(std::string_view tag) {
  UErrorCode failed = U_ZERO_ERROR;
  const icu::Locale locale = icu::Locale::forLanguageTag(
      icu::StringPiece(tag.data(), static_cast<std::int32_t>(tag.size())), failed);
  // What ICU does not know it counts as if it had no plurals at all.
  const bool known = U_SUCCESS(failed) && *locale.getISO3Language() != '\0';
  std::unique_ptr<const icu::PluralRules> rules(known ? icu::PluralRules::forLocale(locale, failed)
                                                      : nullptr);
  if (!rules || U_FAILURE(failed))
    return Error{"the language " + std::string(tag) + " is not known", "",
                 "give the tag of a language: de, pt-BR"};
  return PluralRules(std::make_shared<const Rules>(Rules{std::move(rules)}));
}

std::string PluralRules::category(double n) const { return utf8(rules_->icu->select(n)); }

}  // namespace plainwater::words
