#include "plainwater/local_times.h"

#include <algorithm>
#include <charconv>
#include <chrono>

#include "settings/csv_columns.h"
#include "settings/zone.h"

namespace plainwater::tool {
namespace {

namespace chrono = std::chrono;

constexpr bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// Takes what it knows off the front of a text.
class Scan {
 public:
  explicit Scan(std::string_view text) : rest_(text) {}

  /// Between `least` and `most` digits, no more following.
  std::optional<int> number(std::size_t least, std::size_t most) {
    std::size_t n = 0;
    while (n < rest_.size() && is_digit(rest_[n])) ++n;
    if (n < least || n > most) return std::nullopt;
    int value = 0;
    std::from_chars(rest_.data(), rest_.data() + n, value);
    digits_ = n;
    rest_.remove_prefix(n);
    return value;
  }
  std::size_t digits() const { return digits_; }  ///< of the last number
  /// One of these characters; 0: none.
  char one_of(std::string_view any) {
    if (rest_.empty() || any.find(rest_.front()) == std::string_view::npos) return 0;
    const char c = rest_.front();
    rest_.remove_prefix(1);
    return c;
  }
  void spaces() {
    while (!rest_.empty() && rest_.front() == ' ') rest_.remove_prefix(1);
  }
  bool word(std::string_view upper) {
    if (rest_.size() < upper.size()) return false;
    for (std::size_t i = 0; i < upper.size(); ++i)
      if ((rest_[i] & ~0x20) != upper[i]) return false;
    rest_.remove_prefix(upper.size());
    return true;
  }
  bool ended() const { return rest_.empty(); }

 private:
  std::string_view rest_;
  std::size_t digits_ = 0;
};

struct Numbers {
  int first = 0, second = 0, third = 0;
  std::size_t first_digits = 0, third_digits = 0;
};

/// Three numbers with the same mark between them.
std::optional<Numbers> three_numbers(Scan& scan) {
  Numbers n;
  const auto first = scan.number(1, 4);
  n.first_digits = scan.digits();
  const char mark = first ? scan.one_of("-./") : 0;
  const auto second = mark != 0 ? scan.number(1, 2) : std::nullopt;
  if (!second || scan.one_of(std::string_view(&mark, 1)) == 0) return std::nullopt;
  const auto third = scan.number(1, 4);
  if (!third) return std::nullopt;
  n.third_digits = scan.digits();
  n.first = *first;
  n.second = *second;
  n.third = *third;
  return n;
}

std::optional<Span> midnight(int year, int month, int day) {
  const chrono::year_month_day date(chrono::year(year), chrono::month(static_cast<unsigned>(month)),
                                    chrono::day(static_cast<unsigned>(day)));
  if (!date.ok() || year < 1) return std::nullopt;
  return Span(chrono::sys_days(date).time_since_epoch());
}

std::optional<Span> read_date(Scan& scan, CsvTimes times) {
  const auto n = three_numbers(scan);
  if (!n) return std::nullopt;
  if (n->first_digits == 4) {
    if (times == CsvTimes::day_first || times == CsvTimes::month_first || n->third_digits > 2)
      return std::nullopt;
    return midnight(n->first, n->second, n->third);
  }
  if (n->first_digits > 2 || (n->third_digits != 4 && n->third_digits != 2)) return std::nullopt;
  const int year = n->third_digits == 2 ? 2000 + n->third : n->third;
  if (times == CsvTimes::day_first) return midnight(year, n->second, n->first);
  if (times == CsvTimes::month_first) return midnight(year, n->first, n->second);
  return std::nullopt;
}

/// "5:31", "05:31:30.25", "5:31 PM"
std::optional<Span> read_clock(Scan& scan) {
  const auto hour = scan.number(1, 2);
  if (!hour || scan.one_of(":") == 0) return std::nullopt;
  const auto minute = scan.number(2, 2);
  if (!minute) return std::nullopt;
  Span time = hours(*hour) + minutes(*minute);
  if (scan.one_of(":") != 0) {
    const auto second = scan.number(2, 2);
    if (!second || *second > 59) return std::nullopt;
    time += seconds(*second);
    if (scan.one_of(".,") != 0) {
      const auto fraction = scan.number(1, 9);
      if (!fraction) return std::nullopt;
      int ms = *fraction;
      for (std::size_t i = scan.digits(); i < 3; ++i) ms *= 10;
      for (std::size_t i = scan.digits(); i > 3; --i) ms /= 10;
      time += Span(ms);
    }
  }
  scan.spaces();
  const bool morning = scan.word("AM"), evening = !morning && scan.word("PM");
  if (morning || evening) {
    if (*hour < 1 || *hour > 12) return std::nullopt;
    if (*hour == 12) time -= hours(12);
    if (evening) time += hours(12);
  }
  if (*hour > 23 || *minute > 59) return std::nullopt;
  return time;
}

/// "Z", "+01:00", "+0100"; false when something else follows.
bool read_offset(Scan& scan, std::optional<int>& offset_s) {
  scan.spaces();
  if (scan.ended()) return true;
  if (scan.one_of("Zz") != 0) {
    offset_s = 0;
    return scan.ended();
  }
  const char sign = scan.one_of("+-");
  if (sign == 0) return false;
  const auto first = scan.number(2, 4);
  if (!first) return false;
  int minutes_off = scan.digits() == 4 ? *first / 100 * 60 + *first % 100 : *first * 60;
  if (scan.digits() == 2 && scan.one_of(":") != 0) {
    const auto more = scan.number(2, 2);
    if (!more || *more > 59) return false;
    minutes_off += *more;
  }
  if (minutes_off > 14 * 60) return false;
  offset_s = (sign == '-' ? -60 : 60) * minutes_off;
  return scan.ended();
}

std::optional<WrittenTime> read_unix(std::string_view text) {
  double value = 0;
  const auto end = std::from_chars(text.data(), text.data() + text.size(), value);
  if (end.ec != std::errc() || end.ptr != text.data() + text.size()) return std::nullopt;
  constexpr double kMilliseconds = 1e11;  // as seconds, this would be the year 5138
  const double ms = value >= kMilliseconds ? value : value * 1000;
  if (!(ms >= 0 && ms < 2.5e14)) return std::nullopt;
  return WrittenTime{{}, std::nullopt, from_ms(static_cast<std::int64_t>(ms + 0.5))};
}

/// Ten digits of seconds, or 13 of milliseconds; 12 and 14 may be 202509200730 and the like.
bool looks_like_unix(std::string_view text) {
  std::size_t n = 0;
  while (n < text.size() && is_digit(text[n])) ++n;
  return (n == 10 || n == 13) && (n == text.size() || text[n] == '.');
}

}  // namespace

std::optional<DayPair> day_pair(std::string_view text) {
  Scan scan(text);
  const auto n = three_numbers(scan);
  if (!n || n->first_digits > 2 || (n->third_digits != 4 && n->third_digits != 2))
    return std::nullopt;
  return DayPair{n->first, n->second, n->third_digits == 2};
}

bool may_be_digits_of_date(std::string_view text) {
  if (text.size() != 10 || !std::ranges::all_of(text, is_digit)) return false;
  const auto two = [&](std::size_t at) { return (text[at] - '0') * 10 + text[at + 1] - '0'; };
  const int century = two(0);
  if ((century == 19 || century == 20) && two(8) < 24 &&
      midnight(century * 100 + two(2), two(4), two(6)))
    return true;
  return two(6) < 24 && two(8) < 60 && midnight(2000 + two(0), two(2), two(4));
}

std::optional<WrittenTime> read_time(std::string_view text, CsvTimes times) {
  if (times == CsvTimes::unix || (times == CsvTimes::guess && looks_like_unix(text)))
    return read_unix(text);
  if (times == CsvTimes::guess || times == CsvTimes::rfc3339) {
    Instant at;
    if (parse_rfc3339_into(text, at)) return WrittenTime{{}, std::nullopt, at};
    if (times == CsvTimes::rfc3339) return std::nullopt;
  }
  Scan scan(text);
  const auto date = read_date(scan, times);
  if (!date) return std::nullopt;
  if (scan.one_of("T") == 0) {
    if (scan.one_of(" ") == 0) return std::nullopt;
    scan.spaces();
  }
  const auto clock = read_clock(scan);
  if (!clock) return std::nullopt;
  WrittenTime written{*date + *clock, std::nullopt, std::nullopt};
  if (!read_offset(scan, written.offset_s)) return std::nullopt;
  return written;
}

Result<ZoneTimes> ZoneTimes::of(const std::string& zone, const Site& site) {
  ZoneTimes made;
  const std::string& name = zone == "site" ? site.time_zone : zone;
  if (const auto offset = read_utc_offset(name)) {
    made.offsets_.push_back({kNever, *offset});
  } else if (name == "UTC") {
    made.offsets_.push_back({kNever, 0});
  } else {
    made.offsets_ = zone_offsets(name);
    if (made.offsets_.empty())
      return Error{"no time zone \"" + name + "\" on this machine", "",
                   "give an IANA name such as Europe/London, or an offset such as +01:00"};
    made.offsets_.front().from = kNever;
  }
  return made;
}

ZoneTimes::Found ZoneTimes::at(Span local) const {
  // No offset is as large as a day, and no two changes follow within one.
  const Instant about(local);
  auto next = std::ranges::upper_bound(offsets_, about - kDay, {}, &ZoneOffset::from);
  auto at = next == offsets_.begin() ? next : std::prev(next);
  Found found;
  for (; at != offsets_.end() && (at->from == kNever || at->from <= about + kDay); ++at) {
    const Instant t = about - seconds(at->seconds);
    const bool begun = at->from <= t;
    const bool over = std::next(at) != offsets_.end() && std::next(at)->from <= t;
    if (!begun || over) continue;
    (found.count == 0 ? found.first : found.second) = t;
    if (++found.count == 2) break;
  }
  return found;
}

LocalTimes::Fault LocalTimes::resolve(const WrittenTime& written, std::string_view sensor,
                                      int quantity, Instant& out) {
  if (written.instant) return out = *written.instant, Fault::none;
  if (written.offset_s)
    return out = Instant(written.local) - seconds(*written.offset_s), Fault::none;
  if (!zone_) return Fault::no_zone;
  if (!first_local_) first_local_ = last_local_ = written.local;
  falls_ += written.local < *last_local_ ? 1 : 0;
  rises_ += written.local > *last_local_ ? 1 : 0;
  last_local_ = written.local;
  const auto found = zone_->at(written.local);
  if (found.count == 0) return Fault::never;
  out = found.first;
  if (found.count == 1) return Fault::none;
  ++twice_;
  auto& of_quantity = passed_[quantity];
  const auto passed = of_quantity.find(sensor);
  if (passed == of_quantity.end()) {
    if (of_quantity.size() >= kMostRemembered) return Fault::forgotten;
    of_quantity.emplace(sensor, out);
  } else {
    if (found.first <= passed->second && passed->second < found.second + kDay) out = found.second;
    passed->second = out;
  }
  return Fault::none;
}

}  // namespace plainwater::tool
