#include "words/render.h"

#include <array>
#include <cmath>
#include <cstdlib>

#include "common/json_text.h"

namespace plainwater::words {
namespace {

class Writer {
 public:
  Writer(const Language& language, Style style) : language_(language), style_(style) {}

  std::string sentence(const Sentence& sentence) const {
    std::string out;
    for (const Said& said : sentence.parts()) {
      std::string next = one(said.key, said.with);
      if (!out.empty() && !next.empty()) out += one("between-sentences", {});
      out += next;
    }
    return out;
  }

 private:
  std::string one(std::string_view key, const Values& with) const {
    const Pattern* pattern = language_.find(key);
    return pattern == nullptr ? std::string(key) : written(*pattern, with);
  }

  std::string written(const Pattern& pattern, const Values& with) const {
    std::string out;
    for (const Piece& piece : pattern) {
      const auto value = with.find(piece.text);
      switch (piece.kind) {
        case Piece::Kind::text: out += piece.text; break;
        case Piece::Kind::argument:
          if (value != with.end())
            out += written(value->second);
          else
            out += piece.text == "unit" ? symbol_of(style_.unit) : "{" + piece.text + "}";
          break;
        case Piece::Kind::plural:
        case Piece::Kind::select:
          if (value != with.end()) out += written(chosen(piece, value->second), with);
      }
    }
    return out;
  }

  const Pattern& chosen(const Piece& piece, const Value& value) const {
    std::string exact, category = value.text;
    if (piece.kind == Piece::Kind::plural) {
      const std::string shown = figure(value);
      const double n = std::strtod(shown.c_str(), nullptr);
      exact = "=" + shown;
      category = language_.plurals().category(n);
    }
    for (const std::string& word : {exact, category})
      if (const auto found = piece.cases.find(word); found != piece.cases.end())
        return found->second;
    return piece.cases.find("other")->second;  // ICU takes no pattern without it
  }

  /// With a point, whatever the language.
  std::string figure(const Value& value) const {
    switch (value.kind) {
      case Value::Kind::degrees:
        return fixed(shown_degrees(value.figure, style_.unit), value.decimals);
      case Value::Kind::difference:
        return fixed(shown_difference(value.figure, style_.unit), value.decimals);
      case Value::Kind::number: return fixed(value.figure, value.decimals);
      default: return std::to_string(value.whole);
    }
  }

  std::string written(const Value& value) const {
    switch (value.kind) {
      case Value::Kind::count: return std::to_string(value.whole);
      case Value::Kind::degrees:
      case Value::Kind::difference:
      case Value::Kind::number: return with_point(figure(value));
      case Value::Kind::day: return date(Instant(kDay * value.whole), value.with_year);
      case Value::Kind::moment: return format_rfc3339(from_ms(value.whole));
      case Value::Kind::name: return value.text;
      case Value::Kind::said: return sentence(value.sentence);
    }
    return {};
  }

  std::string with_point(std::string text) const {
    if (const auto at = text.find('.'); at != std::string::npos)
      text.replace(at, 1, one("decimal-point", {}));
    return text;
  }

  std::string date(Instant midnight, bool with_year) const {
    static constexpr std::array kMonths{"month.january", "month.february", "month.march",
                                        "month.april",   "month.may",      "month.june",
                                        "month.july",    "month.august",   "month.september",
                                        "month.october", "month.november", "month.december"};
    const std::chrono::year_month_day d(std::chrono::floor<std::chrono::days>(midnight));
    const Values date{{"day", count(static_cast<unsigned>(d.day()))},
                      {"month", say(kMonths[static_cast<unsigned>(d.month()) - 1])}};
    if (!with_year) return one("day-and-month", date);
    return one("day-and-year", {{"day", Sentence(Said{"day-and-month", date})},
                                {"year", name(format_date(midnight).substr(0, 4))}});
  }

  const Language& language_;
  Style style_;
};

}  // namespace

std::string render(const Sentence& sentence, const Language& language, Style style) {
  return Writer(language, style).sentence(sentence);
}

std::string in_english(const Sentence& sentence) { return render(sentence, english()); }

std::string stored(const std::string& said, const std::string& text, const Reader& reader) {
  if (said.empty()) return text;
  const auto sentence = sentence_of(said);
  return sentence && is_known(*sentence) ? reader(*sentence) : text;
}

}  // namespace plainwater::words
