// Spans of time, times of the day and hours of the day, as people write them.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "settings/meant.h"
#include "settings/scalar.h"

namespace plainwater {
namespace {

struct SpanUnit {
  std::string_view name;
  double seconds;
};

constexpr SpanUnit kSpanUnits[] = {
    {"s", 1},         {"sec", 1},       {"secs", 1},     {"second", 1},  {"seconds", 1},
    {"m", 60},        {"min", 60},      {"mins", 60},    {"minute", 60}, {"minutes", 60},
    {"h", 3600},      {"hr", 3600},     {"hrs", 3600},   {"hour", 3600}, {"hours", 3600},
    {"d", 86400},     {"day", 86400},   {"days", 86400}, {"w", 604800},  {"wk", 604800},
    {"week", 604800}, {"weeks", 604800}};

bool in_number(char c) { return (c >= '0' && c <= '9') || c == '.'; }

/// "1 h 30 min", "1.5 hours"; none without a unit.
std::optional<double> span_of(std::string text) {
  std::replace(text.begin(), text.end(), ',', '.');
  double sum = 0;
  std::string_view rest = text;
  do {
    const auto end = static_cast<std::size_t>(
        std::find_if_not(rest.begin(), rest.end(), in_number) - rest.begin());
    const auto count = read_number(rest.substr(0, end));
    if (!count) return std::nullopt;
    rest.remove_prefix(end);
    rest.remove_prefix(std::min(rest.find_first_not_of(' '), rest.size()));
    const auto unit_end =
        std::min(rest.find_first_not_of("abcdefghijklmnopqrstuvwxyz"), rest.size());
    const auto unit =
        std::find_if(std::begin(kSpanUnits), std::end(kSpanUnits),
                     [&](const SpanUnit& known) { return known.name == rest.substr(0, unit_end); });
    if (unit == std::end(kSpanUnits)) return std::nullopt;
    sum += *count * unit->seconds;
    rest.remove_prefix(unit_end);
    rest.remove_prefix(std::min(rest.find_first_not_of(' '), rest.size()));
  } while (!rest.empty());
  return sum;
}

/// Minutes since midnight; the end of a day counts as its beginning.
std::optional<int> minute_of(std::string_view typed) {
  std::string text = plain_letters(typed);
  if (text == "noon" || text == "midday") return 720;
  if (text == "midnight") return 0;
  std::erase(text, ' ');
  int half = -1;
  for (const std::string_view end : {"a.m.", "am", "p.m.", "pm"})
    if (text.ends_with(end)) {
      half = end.front() == 'p' ? 1 : 0;
      text.resize(text.size() - end.size());
      break;
    }
  if (text.ends_with('h')) text.pop_back();
  if (text.size() == 8 && text.ends_with(":00")) text.resize(5);  // seconds
  const auto mark = text.find_first_of(":.h");
  std::string hours = text.substr(0, mark), minutes = "00";
  if (mark != std::string::npos)
    minutes = text.substr(mark + 1);
  else if (text.size() == 3 || text.size() == 4) {
    hours = text.substr(0, text.size() - 2);
    minutes = text.substr(text.size() - 2);
  }
  const auto all_digits = [](const std::string& digits) {
    return !digits.empty() && digits.size() <= 2 &&
           digits.find_first_not_of("0123456789") == std::string::npos;
  };
  if (!all_digits(hours) || !all_digits(minutes) || minutes.size() != 2) return std::nullopt;
  int hour = *read_whole(hours);
  const int minute = *read_whole(minutes);
  if (half >= 0 && (hour < 1 || hour > 12)) return std::nullopt;
  if (half >= 0) hour = hour % 12 + half * 12;
  if (minute > 59 || hour > 24 || (hour == 24 && minute > 0)) return std::nullopt;
  return hour % 24 * 60 + minute;
}

std::string clock_text(int minute) { return fmt::format("{:02}:{:02}", minute / 60, minute % 60); }

bool means_none(std::string_view typed) {
  const std::string text = plain_letters(typed);
  for (const std::string_view none : {"none", "never", "no", "off", "false", "null"})
    if (text == none) return true;
  return false;
}

constexpr const char* kNone = "write \"\" for none";

}  // namespace

std::string meant_seconds(const Key& key, std::string_view typed) {
  const std::string text = plain_letters(typed);
  const auto fits = [&](double span_s) {
    return span_s >= key.range.least && span_s <= key.range.most && span_s == std::floor(span_s);
  };
  if (const auto span = span_of(text)) {
    int whole_s = fits(*span) ? static_cast<int>(*span) : 0;
    return whole_s > 0 ? "write " + yaml_of(SecondsSlot{&whole_s}) : std::string();
  }
  const auto bare = read_number(text);
  if (!bare || *bare <= 0) return {};
  std::string ways;
  for (const SpanUnit unit :
       {SpanUnit{"s", 1}, SpanUnit{"min", 60}, SpanUnit{"h", 3600}, SpanUnit{"d", 86400}})
    if (fits(*bare * unit.seconds))
      ways += fmt::format("{}{} {}", ways.empty() ? "" : " or ", short_decimal(*bare), unit.name);
  return ways.empty() ? "" : fmt::format("give it a unit: {}", ways);
}

std::string meant_time_of_day(std::string_view typed) {
  if (means_none(typed)) return kNone;
  if (const auto minute = minute_of(typed)) return "write " + clock_text(*minute);
  return plain_letters(typed).find_first_not_of("0123456789:.h ") == std::string::npos
             ? "the times of a day go from 00:00 to 23:59"
             : "";
}

std::string meant_hours_of_day(std::string_view typed) {
  if (means_none(typed)) return kNone;
  std::string text = plain_letters(typed);
  if (text.starts_with("from ")) text.erase(0, 5);
  for (const std::string_view word : {" to ", " until ", " till ", " and ", "..", "/", ";", ","})
    if (const auto at = text.find(word); at != std::string::npos) {
      text.replace(at, word.size(), "-");
      break;
    }
  const auto dash = text.find('-');
  if (dash == std::string::npos) {
    return minute_of(text)
               ? fmt::format("say also when they end, as in {}-07:00", clock_text(*minute_of(text)))
               : "";
  }
  const auto from = minute_of(text.substr(0, dash)), to = minute_of(text.substr(dash + 1));
  if (!from || !to)
    return text.find_first_not_of("0123456789:.h- ") == std::string::npos
               ? "the times of a day go from 00:00 to 23:59"
               : "";
  if (*from == *to) return "give a beginning and another end, or \"\" for none";
  return fmt::format("write {}-{}", clock_text(*from), clock_text(*to));
}

}  // namespace plainwater
