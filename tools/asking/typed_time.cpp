#include "asking/typed_time.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <string>
#include <vector>

#include "common/quoted.h"

namespace plainwater::asking {
namespace {

constexpr const char* kRemedy =
    "write a date like 2026-10-12 or \"12 Oct\", a time like 18:30, or both, as in \"2026-10-12 "
    "18:30\" or \"yesterday 18:30\"";
constexpr std::size_t kLongest = 60;

Error not_understood(std::string_view text) {
  return {fmt::format("{} is not understood as a time", quoted(std::string(text), kLongest)), "",
          kRemedy};
}

/// Up to four decimal digits and nothing else.
std::optional<int> figures(std::string_view text) {
  if (text.empty() || text.size() > 4) return std::nullopt;
  int value = 0;
  for (const char c : text) {
    if (c < '0' || c > '9') return std::nullopt;
    value = value * 10 + (c - '0');
  }
  return value;
}

std::vector<std::string> split(std::string_view text, std::string_view at) {
  std::vector<std::string> parts(1);
  for (const char c : text)
    if (at.find(c) != at.npos)
      parts.emplace_back();
    else
      parts.back() += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return parts;
}

/// January is 1; from three letters on; 0: no month.
int month_named(std::string_view word) {
  static constexpr std::array<std::string_view, 12> kMonths{
      "january", "february", "march",     "april",   "may",      "june",
      "july",    "august",   "september", "october", "november", "december"};
  if (word.ends_with('.')) word.remove_suffix(1);
  if (word == "sept") return 9;
  if (word.size() < 3) return 0;
  for (std::size_t i = 0; i < kMonths.size(); ++i)
    if (kMonths[i].starts_with(word)) return static_cast<int>(i) + 1;
  return 0;
}

/// "fri", "friday"; Sunday is 0.
std::optional<int> weekday_named(std::string_view word) {
  static constexpr std::array<std::string_view, 7> kDays{
      "sunday", "monday", "tuesday", "wednesday", "thursday", "friday", "saturday"};
  if (word.size() < 3) return std::nullopt;
  for (std::size_t i = 0; i < kDays.size(); ++i)
    if (kDays[i].starts_with(word)) return static_cast<int>(i);
  return std::nullopt;
}

/// Of "min", "hours", "d" and the like; none for other words.
std::optional<Span> unit_named(std::string_view word) {
  if (word == "m" || word == "min" || word == "mins" || word == "minute" || word == "minutes")
    return Span(minutes(1));
  if (word == "h" || word == "hour" || word == "hours") return Span(hours(1));
  if (word == "d" || word == "day" || word == "days") return Span(kDay);
  if (word == "week" || word == "weeks") return Span(7 * kDay);
  return std::nullopt;
}

/// "in 2 weeks", "2 weeks", "12h", "3 h ago"
std::optional<Span> read_from_now(std::vector<std::string> words) {
  const bool ago = !words.empty() && words.back() == "ago";
  if (ago) words.pop_back();
  if (!ago && !words.empty() && words.front() == "in") words.erase(words.begin());
  if (words.size() == 1) {  // "12h"
    const auto end = words[0].find_first_not_of("0123456789");
    if (end == 0 || end == std::string::npos) return std::nullopt;
    words = {words[0].substr(0, end), words[0].substr(end)};
  }
  if (words.size() != 2) return std::nullopt;
  const auto count = figures(words[0]);
  const auto unit = unit_named(words[1]);
  if (!count || !unit) return std::nullopt;
  return *count * *unit * (ago ? -1 : 1);
}

/// "12", "12th", "12."
std::optional<int> day_number(std::string_view word) {
  for (const std::string_view end : {"st", "nd", "rd", "th", "."})
    if (word.size() > end.size() && word.ends_with(end)) {
      word.remove_suffix(end.size());
      break;
    }
  return word.size() > 2 ? std::nullopt : figures(word);
}

/// "18:30", "8:05", "18:30:15"
bool read_clock(std::string_view word, TypedTime& typed) {
  const auto parts = split(word, ":");
  if (parts.size() < 2 || parts.size() > 3) return false;
  static constexpr std::array kMost{23, 59, 59};
  Span since(0);
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const auto value = figures(parts[i]);
    if (!value || *value > kMost[i] || parts[i].size() > 2 || (i > 0 && parts[i].size() != 2))
      return false;
    since += i == 0 ? Span(hours(*value)) : i == 1 ? Span(minutes(*value)) : Span(seconds(*value));
  }
  typed.clock = since;
  return true;
}

Error either_order(std::string_view word, int a, int b, std::optional<int> year) {
  const auto dated = [&](int month, int day) {
    return year ? fmt::format("{:04}-{:02}-{:02}", *year, month, day)
                : fmt::format(
                      "\"{} {}\"", day,
                      std::array{"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep",
                                 "Oct", "Nov", "Dec"}[static_cast<std::size_t>(month - 1)]);
  };
  return {fmt::format("{} can be read in two ways", word), "",
          fmt::format("did you mean {} or {}?", dated(b, a), dated(a, b))};
}

/// "12.10.2026", "12/10", "12.10.": two numbers whose order differs from country to country.
Status read_two_numbers(std::string_view word, std::string_view mark, TypedTime& typed) {
  auto parts = split(word, mark);
  if (mark == "." && parts.size() == 3 && parts.back().empty()) parts.pop_back();
  const bool whole = parts.size() == 3;
  if (parts.size() != 2 && !whole) return not_understood(word);
  // "18.30" is no day of a month.
  if (mark == "." && !whole && parts[1].size() == 2) {
    const auto hour = figures(parts[0]), minute = figures(parts[1]);
    if (hour && minute && (*minute > 31 || std::min(*hour, *minute) > 12 || *hour == 0))
      return read_clock(parts[0] + ":" + parts[1], typed) ? Status(Done{})
                                                          : Status(not_understood(word));
  }
  const auto a = figures(parts[0]), b = figures(parts[1]);
  const auto year = whole ? figures(parts[2]) : std::nullopt;
  if (!a || !b || (whole && !year) || *a < 1 || *b < 1 || std::max(*a, *b) > 31 ||
      std::min(*a, *b) > 12)
    return not_understood(word);
  if (whole && parts[2].size() != 4)
    return Error{fmt::format("{} has no year of four figures", word), "", kRemedy};
  if (*a <= 12 && *b <= 12 && *a != *b) return either_order(word, *a, *b, year);
  typed.year = year;
  typed.day = std::max(*a, *b);
  typed.month = std::min(*a, *b);
  return Done{};
}

/// "12 oct", "oct 12", "12 oct 2026"
bool read_named_month(const std::vector<std::string>& words, TypedTime& typed) {
  if (words.size() < 2 || words.size() > 3) return false;
  const bool month_first = month_named(words[0]) != 0;
  const int month = month_named(words[month_first ? 0 : 1]);
  const auto day = day_number(words[month_first ? 1 : 0]);
  if (month == 0 || !day || *day < 1) return false;
  if (words.size() == 3) {
    typed.year = figures(words[2]);
    if (!typed.year || words[2].size() != 4) return false;
  }
  typed.month = month;
  typed.day = day;
  return true;
}

/// "2026-10-12"
bool read_iso_date(std::string_view word, TypedTime& typed) {
  const auto parts = split(word, "-");
  if (parts.size() != 3 || parts[0].size() != 4) return false;
  typed.year = figures(parts[0]);
  typed.month = figures(parts[1]);
  typed.day = figures(parts[2]);
  return typed.year && typed.month && typed.day && parts[1].size() <= 2 && parts[2].size() <= 2 &&
         *typed.month >= 1 && *typed.month <= 12 && *typed.day >= 1;
}

/// 29 February counts where no year is given.
bool exists(const TypedTime& typed) {
  if (!typed.day) return true;
  const std::chrono::year_month_day date(std::chrono::year(typed.year.value_or(2024)),
                                         std::chrono::month(static_cast<unsigned>(*typed.month)),
                                         std::chrono::day(static_cast<unsigned>(*typed.day)));
  return date.ok();
}

Status read_date(const std::vector<std::string>& words, std::string_view text, TypedTime& typed) {
  if (words.empty()) return Done{};
  if (words.size() > 1)
    return read_named_month(words, typed) ? Status(Done{}) : Status(not_understood(text));
  const std::string& word = words.front();
  if (word == "today" || word == "yesterday" || word == "tomorrow") {
    typed.days_off = word == "today" ? 0 : word == "yesterday" ? -1 : 1;
    return Done{};
  }
  if ((typed.weekday = weekday_named(word))) return Done{};
  if (read_iso_date(word, typed)) return Done{};
  typed.year = typed.month = typed.day = std::nullopt;
  for (const char* mark : {"/", "."})
    if (word.find(mark) != word.npos) return read_two_numbers(word, mark, typed);
  return not_understood(text);
}

}  // namespace

Result<TypedTime> read_typed_time(std::string_view text) {
  if (text.size() > kLongest) return not_understood(text);
  std::vector<std::string> words;
  for (std::string& word : split(text, " \t,"))
    if (!word.empty()) words.push_back(std::move(word));
  // "2026-10-12T18:30"
  if (words.size() == 1 && words[0].size() > 10 && words[0][10] == 't')
    words = {words[0].substr(0, 10), words[0].substr(11)};
  TypedTime typed;
  if (words.size() == 1 && words[0] == "now") {
    typed.now = true;
    return typed;
  }
  if ((typed.from_now = read_from_now(words))) return typed;
  std::vector<std::string> date;
  for (const std::string& word : words)
    if (word.find(':') == word.npos)
      date.push_back(word);
    else if (typed.clock || !read_clock(word, typed))
      return not_understood(text);
  if (date.empty() && !typed.clock) return not_understood(text);
  if (const auto read = read_date(date, text, typed); !read) return read.error();
  if (!exists(typed))
    return Error{fmt::format("there is no such day as {}", quoted(std::string(text), kLongest)), "",
                 kRemedy};
  return typed;
}

}  // namespace plainwater::asking
