#include "words/sentence.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdlib>

#include "common/json_shapes.h"
#include "common/json_text.h"
#include "common/utf8.h"

namespace plainwater::words {
namespace {

Value of_figure(Value::Kind kind, double figure, int decimals) {
  Value value;
  value.kind = kind;
  value.figure = rounded(figure);
  value.decimals = decimals;
  return value;
}

Value of_whole(Value::Kind kind, std::int64_t whole) {
  Value value;
  value.kind = kind;
  value.whole = whole;
  return value;
}

constexpr std::int64_t kHalfYear = 182;  // the same day of another year is further away

bool needs_year(std::int64_t day, Instant said) {
  if (said == kNever) return true;
  const auto from = std::chrono::floor<std::chrono::days>(said).time_since_epoch().count();
  return std::abs(day - from) > kHalfYear;
}

/// As short as reads back the same.
std::string shortest(double value) {
  if (!std::isfinite(value)) return "null";
  char text[64];
  return {text, std::to_chars(text, text + sizeof text, value).ptr};
}

std::string json_of(const Value& value) {
  const auto figure = [&](const char* kind) {
    return JsonObject().raw(kind, shortest(value.figure)).integer("decimals", value.decimals).str();
  };
  switch (value.kind) {
    case Value::Kind::degrees: return figure("degrees");
    case Value::Kind::difference: return figure("difference");
    case Value::Kind::number: return figure("number");
    case Value::Kind::count: return JsonObject().integer("count", value.whole).str();
    case Value::Kind::day:
      if (value.with_year)
        return JsonObject()
            .text("day", format_date(Instant(kDay * value.whole)))
            .boolean("year", true)
            .str();
      return JsonObject().text("day", format_date(Instant(kDay * value.whole))).str();
    case Value::Kind::moment:
      return JsonObject().text("moment", format_rfc3339(from_ms(value.whole))).str();
    case Value::Kind::name: return JsonObject().text("name", value.text).str();
    case Value::Kind::said: return JsonObject().raw("said", to_json(value.sentence)).str();
  }
  return "{}";
}

}  // namespace

Sentence::Sentence() = default;
Sentence::Sentence(Said one) { parts_.push_back(std::move(one)); }

Sentence Sentence::first() const { return empty() ? Sentence() : Sentence(parts_.front()); }

Sentence& Sentence::operator+=(const Sentence& next) {
  const auto more = next.parts_;  // it may be this one
  parts_.insert(parts_.end(), more.begin(), more.end());
  return *this;
}

Sentence operator+(Sentence a, const Sentence& b) { return std::move(a += b); }

bool Sentence::operator==(const Sentence&) const = default;

Value::Value() = default;
Value::Value(Sentence said) : kind(Kind::said), sentence(std::move(said)) {}

Value degrees(double celsius, int decimals) {
  return of_figure(Value::Kind::degrees, celsius, decimals);
}
Value difference(double celsius, int decimals) {
  return of_figure(Value::Kind::difference, celsius, decimals);
}
Value number(double value, int decimals) {
  // As it is shown: no unit makes another figure of it.
  if (std::isfinite(value)) value = std::strtod(fixed(value, decimals).c_str(), nullptr);
  return of_figure(Value::Kind::number, value, decimals);
}
Value figures(double value, int most) {
  if (!std::isfinite(value) || value == 0) return number(value, 0);
  const double magnitude = std::floor(std::log10(std::abs(value)));
  int decimals = std::clamp(most - 1 - static_cast<int>(magnitude), 0, 6);
  std::string text = fixed(value, decimals);
  for (; decimals > 0 && text.back() == '0'; text.pop_back()) --decimals;
  return number(value, decimals);
}
Value count(std::int64_t n) { return of_whole(Value::Kind::count, n); }
Value day_and_year(Instant shown) {
  Value value = of_whole(Value::Kind::day,
                         std::chrono::floor<std::chrono::days>(shown).time_since_epoch().count());
  value.with_year = true;
  return value;
}
Value day(Instant shown, Instant said) {
  Value value = day_and_year(shown);
  value.with_year = needs_year(value.whole, said);
  return value;
}
std::string hour(Instant shown) {
  const auto midnight = std::chrono::floor<std::chrono::days>(shown);
  const auto minutes = std::chrono::floor<std::chrono::minutes>(shown - midnight).count();
  std::string text = "00:00";
  const auto put = [&](std::size_t at, std::int64_t two) {
    text[at] = static_cast<char>('0' + two / 10);
    text[at + 1] = static_cast<char>('0' + two % 10);
  };
  put(0, minutes / 60);
  put(3, minutes % 60);
  return text;
}
Value day_or_hour(Instant shown, Instant said) {
  constexpr Span kNear = 2 * kDay;
  if (said == kNever || shown > said + kNear || shown < said - kNear) return day(shown, said);
  return say("day-at-hour", {{"day", day(shown, said)}, {"hour", name(hour(shown))}});
}
Value moment(Instant t) { return of_whole(Value::Kind::moment, to_ms(t)); }
Value name(std::string_view text) {
  Value value;
  value.text = made_utf8(text);  // what is not could not be read back
  return value;
}

Sentence say(std::string_view key,
             std::initializer_list<std::pair<const std::string, Value>> with) {
  return Sentence(Said{std::string(key), Values(with)});
}

Sentence said_again(const Sentence& sentence, Instant now) {
  Sentence again;
  for (Said said : sentence.parts()) {
    for (auto& [key, value] : said.with) {
      if (value.kind == Value::Kind::day) value.with_year = needs_year(value.whole, now);
      if (value.kind == Value::Kind::said) value.sentence = said_again(value.sentence, now);
    }
    again += Sentence(std::move(said));
  }
  return again;
}

Sentence as_it_is(std::string_view text) {
  return text.empty() ? Sentence() : say("as-it-is", {{"text", name(text)}});
}

Sentence joined(const std::vector<Sentence>& all, std::string_view key) {
  Sentence row;
  for (const Sentence& next : all)
    row = row.empty() ? next : Sentence(Said{std::string(key), {{"before", row}, {"next", next}}});
  return row;
}

std::string to_json(const Sentence& sentence) {
  return array(sentence.parts(), [](const Said& said) {
    JsonObject one;
    one.text("say", said.key);
    if (said.with.empty()) return one.str();
    JsonObject with;
    for (const auto& [key, value] : said.with) with.raw(key, json_of(value));
    return one.raw("with", with.str()).str();
  });
}

}  // namespace plainwater::words
