#include "outlet/placard.h"

#include <fmt/format.h>

#include <cmath>
#include <initializer_list>
#include <vector>

namespace plainwater::outlet {

// A provisional hold is decided between two nights, that of a move some nights after it; the second
// is named once the first has gone by.
Instant decision_day(const engine::BenchNow& bench, const Settings& settings) {
  if (is_move(bench.hold->cause)) return bench.hold->placed + kDay * settings.moves.judged_nights;
  const DropRules& rules = settings.drops;
  const Instant first = bench.hold->placed + kDay * rules.decide_night;
  return !bench.night.empty() && bench.air_time > first
             ? bench.hold->placed + kDay * rules.latest_decide_night
             : first;
}

namespace {

using feeding::Cause;
using feeding::Feeding;

/// Ways to say one thing, the longest first. The first that fits is taken.
using Ways = std::vector<std::string>;

bool plain_water(const engine::BenchNow& bench) {
  return bench.feeding == Feeding::plain_water || bench.strength_percent <= 0;
}

Ways headline(const engine::BenchNow& bench) {
  if (plain_water(bench)) return {"PLAIN WATER ONLY", "PLAIN WATER", "NO FEED"};
  const std::string percent = std::to_string(bench.strength_percent);
  if (bench.feeding == Feeding::full && bench.strength_percent >= 100)
    return {"FULL FEED", "FEED100%"};
  return {"FEED " + percent + " %", "FEED " + percent + "%", "FEED" + percent + "%"};
}

Ways until(const std::string& day) {
  return {"until about " + day, "till " + day, "to " + day,
          "to " + day.substr(0, day.find(' ')) + day.substr(day.find(' ') + 1)};
}

Ways since(const engine::BenchNow& bench, const LocalTime& local) {
  if (bench.since != kNever) {
    const std::string day = local.day_month(bench.since);
    return {"since " + day, "from " + day, day + " on", day + "+"};
  }
  if (bench.learning) return {"still learning", "learning"};
  return {"as usual"};
}

/// In the words of the bench's cause; nothing where they would tell nothing.
Ways cause_in_words(Cause cause) {
  switch (cause) {
    case Cause::sharp_drop: return {"nights got cooler", "cooler nights", "cooler"};
    case Cause::chill: return {"chill"};
    case Cause::moved_outdoors: return {"carried outdoors", "outdoors"};
    case Cause::moved_indoors: return {"carried indoors", "indoors"};
    case Cause::shuttling: return {"carried in and out", "out and in", "out/in"};
    case Cause::grower:
    case Cause::announced: return {"a person asked for it", "a person asked", "asked"};
    case Cause::blind: return {"no readings", "no data"};
    case Cause::pump_untrusted: return {"pump disobeyed", "bad pump"};
    case Cause::clock: return {"clock not believed", "bad clock"};
    case Cause::after_hold: return {"after a hold", "was held"};
    case Cause::after_move: return {"in a new place", "new place", "moved"};
    case Cause::cool_nights: return {"cool nights", "cool"};
    case Cause::dull_season: return {"short days", "dull"};
    case Cause::learning: return {"still learning", "learning"};
    case Cause::cap:
    case Cause::yearly_budget: return {"please decide", "decide!"};
    case Cause::ramp: return {"rising step by step", "rising"};
    case Cause::bright_season: return {"long days, warm nights", "long days", "bright"};
    case Cause::growth_started: return {"growth has begun", "growth"};
    default: return {};
  }
}

/// Until when; or, where no day is known, why.
Ways plain_water_line(const engine::BenchNow& bench, const Settings& settings,
                      const LocalTime& local) {
  if (bench.cause == Cause::blind || bench.cause == Cause::pump_untrusted ||
      bench.cause == Cause::clock)
    return cause_in_words(bench.cause);
  if (!bench.hold) return {"until you end it", "until told", "for now"};
  if (bench.hold->provisional) {
    const std::string day = local.day_month(decision_day(bench, settings));
    return {"decides " + day, "till " + day + "?", "to " + day + "?", day + " ?"};
  }
  const std::string day = local.day_month(bench.hold->planned_end);
  Ways ways = until(day);
  // A board with no third line has the reason here.
  if (bench.hold->cause == Cause::chill && settings.placards.lines < 3)
    ways.insert(ways.begin(), "chill, to " + day);
  return ways;
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

std::string figure(double value, int decimals) {
  std::string text = fmt::format("{:.{}f}", value, decimals);
  // "-0.0" is no temperature.
  return text.find_first_of("123456789") == std::string::npos && text.front() == '-'
             ? text.substr(1)
             : text;
}

Ways degrees(const std::string& words, const std::string& short_words, double celsius, bool ascii) {
  if (!std::isfinite(celsius)) return {};
  const std::string exact = figure(celsius, 1);
  return {words + " " + exact + (ascii ? " C" : " °C"), words + " " + exact,
          short_words + " " + figure(celsius, 0)};
}

Ways dose_line(const engine::BenchNow& bench, const feeding::Dose* dose) {
  // A pump that follows a more careful bench gives less than this bench's words say.
  if (dose == nullptr || plain_water(bench) || dose->ml_per_litre <= 0 ||
      std::abs(dose->strength_percent - bench.strength_percent) > 0.5)
    return {};
  std::string amount = figure(dose->ml_per_litre, 2);
  amount.erase(amount.find_last_not_of('0') + 1);
  if (amount.back() == '.') amount.pop_back();
  return {"dose " + amount + " mL per litre", amount + " mL per litre", amount + " mL/L",
          amount + "mL/L"};
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
                    const feeding::Dose* dose) {
  const Placards& board = settings.placards;
  const bool plain = plain_water(bench);
  std::vector<Ways> parts{headline(bench)};
  if (plain) {
    parts.push_back(plain_water_line(bench, settings, local));
    parts.push_back(bench.hold ? cause_in_words(bench.hold->cause) : cause_in_words(bench.cause));
  } else if (bench.feeding == Feeding::reduced && told_by_cause(bench.cause)) {
    parts.push_back(cause_in_words(bench.cause));
    if (bench.since != kNever) parts.push_back(since(bench, local));
  } else {
    parts.push_back(since(bench, local));
    parts.push_back(cause_in_words(bench.cause));
  }
  parts.push_back(name_line(bench, board.ascii));
  parts.push_back(dose_line(bench, dose));
  parts.push_back(degrees("night", "night", bench.night_mean_c, board.ascii));
  parts.push_back(degrees("used to", "used to", bench.acclimated_c, board.ascii));

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
