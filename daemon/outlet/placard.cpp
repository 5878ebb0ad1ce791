#include "outlet/placard.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "common/json_text.h"

namespace plainwater::outlet {

// A provisional hold is decided between two nights, that of a move some nights after it; the second
// is named once the first has gone by.
Instant decision_day(const engine::BenchNow& bench, const Settings& settings) {
  if (is_move(bench.hold->cause))
    return bench.hold->judged_from + kDay * settings.moves.judged_nights;
  const DropRules& rules = settings.drops;
  const Instant first = bench.hold->judged_from + kDay * rules.decide_night;
  return !bench.night.empty() && bench.air_time > first
             ? bench.hold->judged_from + kDay * rules.latest_decide_night
             : first;
}

namespace {

using feeding::Cause;
using feeding::Feeding;
using words::say;
using words::Sentence;

/// Ways to say one thing, the longest first. The first that fits is taken.
using Ways = std::vector<std::string>;

/// As the table has them, with | between.
Ways ways_of(const Sentence& said, const Settings& settings) {
  Ways ways;
  std::string all = settings.board.reader()(said);
  if (settings.placards.ascii) all = plain_ascii(all);
  for (std::size_t at = 0; !all.empty() && at <= all.size();) {
    const std::size_t end = std::min(all.find('|', at), all.size());
    ways.push_back(all.substr(at, end - at));
    at = end + 1;
  }
  return ways;
}

bool plain_water(const engine::BenchNow& bench) {
  return bench.feeding == Feeding::plain_water || bench.strength_percent <= 0;
}

Sentence headline(const engine::BenchNow& bench) {
  if (plain_water(bench)) return say("placard.plain-water");
  if (bench.feeding == Feeding::full && bench.strength_percent >= 100)
    return say("placard.full-feed");
  return say("placard.feed", {{"percent", words::count(bench.strength_percent)}});
}

/// A day in a board's words, with its year where it is not the nearest such day.
struct BoardDay {
  Sentence full;   ///< "14 Oct", "14 Oct 2027"
  Sentence close;  ///< "14Oct", "14Oct2027"
  Sentence least;  ///< what the smallest board may say of it: "14Oct", "2027"
};

/// When `now` a board shows what it says.
class BoardCalendar {
 public:
  BoardCalendar(const LocalTime& local, Instant now) : local_(local), now_(now) {}

  BoardDay day(Instant t) const {
    static constexpr std::array kMonths{
        "month-short.january", "month-short.february", "month-short.march",
        "month-short.april",   "month-short.may",      "month-short.june",
        "month-short.july",    "month-short.august",   "month-short.september",
        "month-short.october", "month-short.november", "month-short.december"};
    const auto shown = local_.day(t);
    const words::Value date = words::count(static_cast<unsigned>(shown.day())),
                       month = Sentence(
                           words::Said{kMonths[static_cast<unsigned>(shown.month()) - 1], {}}),
                       year = words::count(static_cast<int>(shown.year()));
    const Sentence full = say("placard.day", {{"day", date}, {"month", month}}),
                   close = say("placard.day-close", {{"day", date}, {"month", month}});
    if (!words::day(midnight(t), midnight(now_)).with_year) return {full, close, close};
    return {say("placard.day-year", {{"day", full}, {"year", year}}),
            say("placard.day-year-close", {{"day", close}, {"year", year}}),
            say("placard.year", {{"year", year}})};
  }

 private:
  Instant midnight(Instant t) const { return std::chrono::sys_days(local_.day(t)); }

  const LocalTime& local_;
  Instant now_;
};

Sentence since(const engine::BenchNow& bench, const BoardCalendar& calendar) {
  if (bench.since != kNever) return say("placard.since", {{"day", calendar.day(bench.since).full}});
  return bench.learning ? say("placard.learning") : say("placard.as-usual");
}

Sentence until_about(const BoardDay& day) {
  return say("placard.until", {{"day", day.full}, {"close", day.close}, {"least", day.least}});
}

/// An end that a person set is a date.
Sentence until_date(const BoardDay& day) {
  return say("placard.until-date", {{"day", day.full}, {"close", day.close}, {"least", day.least}});
}

/// In the words of the bench's cause; nothing where they would tell nothing.
Sentence cause_in_words(Cause cause) {
  switch (cause) {
    case Cause::sharp_drop: return say("placard.because-sharp-drop");
    case Cause::chill: return say("placard.because-chill");
    case Cause::moved_outdoors: return say("placard.because-moved-outdoors");
    case Cause::moved_indoors: return say("placard.because-moved-indoors");
    case Cause::shuttling: return say("placard.because-shuttling");
    case Cause::grower:
    case Cause::announced: return say("placard.because-asked");
    case Cause::blind: return say("placard.because-blind");
    case Cause::pump_untrusted: return say("placard.because-pump");
    case Cause::clock: return say("placard.because-clock");
    case Cause::after_hold: return say("placard.because-after-hold");
    case Cause::after_move: return say("placard.because-after-move");
    case Cause::cool_nights: return say("placard.because-cool-nights");
    case Cause::dull_season: return say("placard.because-dull-season");
    case Cause::learning: return say("placard.learning");
    case Cause::not_heard: return say("placard.because-not-heard");
    case Cause::cap:
    case Cause::yearly_budget: return say("placard.because-please-decide");
    case Cause::ramp: return say("placard.because-ramp");
    case Cause::bright_season: return say("placard.because-bright-season");
    case Cause::growth_started: return say("placard.because-growth");
    default: return {};
  }
}

/// Until when; or, where no day is known, why.
Ways plain_water_line(const engine::BenchNow& bench, const Settings& settings,
                      const BoardCalendar& calendar) {
  const auto ways = [&](const Sentence& said) { return ways_of(said, settings); };
  if (bench.cause == Cause::blind || bench.cause == Cause::not_heard ||
      bench.cause == Cause::pump_untrusted || bench.cause == Cause::clock)
    return ways(cause_in_words(bench.cause));
  if (!bench.hold && bench.chilled_until != kNever) {
    const BoardDay day = calendar.day(bench.chilled_until);
    Ways until = ways(until_about(day));
    // A board with no third line has the reason here.
    if (settings.placards.lines < 3) {
      const Ways chill = ways(say("placard.chill-until", {{"day", day.full}}));
      until.insert(until.begin(), chill.begin(), chill.end());
    }
    return until;
  }
  if (!bench.hold) return ways(say("placard.until-you-end-it"));
  if (bench.hold->provisional)
    return ways(
        say("placard.decides", {{"day", calendar.day(decision_day(bench, settings)).full}}));
  const BoardDay end = calendar.day(bench.hold->planned_end);
  const bool asked = bench.hold->cause == Cause::grower || bench.hold->cause == Cause::announced;
  return ways(asked ? until_date(end) : until_about(end));
}

bool told_by_cause(Cause cause) {
  switch (cause) {
    case Cause::after_hold:
    case Cause::after_move:
    case Cause::cool_nights:
    case Cause::dull_season:
    case Cause::learning:
    case Cause::blind:
    case Cause::cap:
    case Cause::yearly_budget: return true;
    default: return false;
  }
}

Sentence dose_line(const engine::BenchNow& bench, const feeding::Dose* dose) {
  // A pump that follows a more careful bench gives less than this bench's words say.
  if (dose == nullptr || plain_water(bench) || dose->ml_per_litre <= 0 ||
      std::abs(dose->strength_percent - bench.strength_percent) > 0.5)
    return {};
  int decimals = 2;
  const std::string exact = fixed(dose->ml_per_litre, decimals);
  for (auto at = exact.rbegin(); decimals > 0 && *at == '0'; ++at) --decimals;
  return say("placard.dose", {{"ml", words::number(dose->ml_per_litre, decimals)}});
}

/// Characters: bytes that do not continue one.
int width_of(std::string_view text) {
  int width = 0;
  for (const char c : text) width += (static_cast<unsigned char>(c) & 0xC0) != 0x80;
  return width;
}

/// A name as it is; or up to a word's end, so that no word is cut.
Ways name_line(const engine::BenchNow& bench, bool ascii) {
  const std::string name = ascii ? plain_ascii(bench.name) : bench.name;
  Ways ways{name};
  for (std::size_t end = name.find_last_of(" -_."); end != std::string::npos && end > 0;
       end = name.find_last_of(" -_.", end - 1))
    ways.push_back(name.substr(0, end));
  return ways;
}

}  // namespace

std::string placard(const engine::BenchNow& bench, const Settings& settings, const LocalTime& local,
                    Instant now, const feeding::Dose* dose) {
  const BoardCalendar calendar(local, now);
  const Placards& board = settings.placards;
  const bool plain = plain_water(bench);
  std::vector<Ways> parts;
  const auto add = [&](const Sentence& said) { parts.push_back(ways_of(said, settings)); };
  add(headline(bench));
  if (plain) {
    parts.push_back(plain_water_line(bench, settings, calendar));
    add(bench.hold ? cause_in_words(bench.hold->cause) : cause_in_words(bench.cause));
  } else if (bench.feeding == Feeding::reduced && told_by_cause(bench.cause)) {
    add(cause_in_words(bench.cause));
    if (bench.since != kNever) add(since(bench, calendar));
  } else {
    add(since(bench, calendar));
    add(cause_in_words(bench.cause));
  }
  parts.push_back(name_line(bench, board.ascii));
  add(dose_line(bench, dose));
  if (std::isfinite(bench.night_mean_c))
    add(say("placard.night", {{"exact", words::degrees(bench.night_mean_c, 1)},
                              {"whole", words::degrees(bench.night_mean_c, 0)}}));
  if (std::isfinite(bench.acclimated_c))
    add(say("placard.used-to", {{"exact", words::degrees(bench.acclimated_c, 1)},
                                {"whole", words::degrees(bench.acclimated_c, 0)}}));

  std::string text, before;
  int lines = 0;
  for (const Ways& ways : parts) {
    if (lines == board.lines) break;
    for (const std::string& way : ways) {
      if (way.empty() || width_of(way) > board.width) continue;
      if (way == before) break;
      if (lines++ > 0) text += '\n';
      text += before = way;
      break;
    }
  }
  return text;
}

}  // namespace plainwater::outlet
