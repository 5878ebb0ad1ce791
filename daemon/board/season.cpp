#include "board/season.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "common/json_shapes.h"

namespace plainwater::board {
namespace {

using engine::NightRow;

std::optional<Instant> noon_of(std::string_view date) {
  if (date.size() != 10) return std::nullopt;
  const auto time = parse_rfc3339(std::string(date) + "T12:00:00Z");
  if (!time) return std::nullopt;
  return *time;
}

std::int64_t day_number(std::string_view date) {
  return to_ms(*noon_of(date)) / (24LL * 3600 * 1000);
}

/// One entry a day: a night that is not there is a gap, not a shorter year.
class Days {
 public:
  explicit Days(const std::vector<const NightRow*>& rows) {
    if (rows.empty()) return;
    first_ = day_number(rows.front()->night);
    at_.resize(static_cast<std::size_t>(day_number(rows.back()->night) - first_ + 1), nullptr);
    for (const NightRow* row : rows)
      at_[static_cast<std::size_t>(day_number(row->night) - first_)] = row;
  }
  std::size_t size() const { return at_.size(); }

  template <class Figure>
  std::string dense(int decimals, Figure figure) const {
    return array(at_, [&](const NightRow* row) {
      return row == nullptr ? std::string("null") : fixed(figure(*row), decimals);
    });
  }
  /// Runs of [word, nights]; `word` gives JSON, also of a night that is not there (null).
  template <class Word>
  std::string runs(Word word) const {
    std::string json = "[";
    for (std::size_t i = 0; i < at_.size();) {
      const std::string here = word(at_[i]);
      std::size_t end = i + 1;
      while (end < at_.size() && word(at_[end]) == here) ++end;
      json += fmt::format("{}[{},{}]", i == 0 ? "" : ",", here, end - i);
      i = end;
    }
    return json + "]";
  }

 private:
  std::int64_t first_ = 0;
  std::vector<const NightRow*> at_;
};

std::string bench_json(const Bench& bench, const std::vector<const NightRow*>& rows,
                       const SeasonRows& season) {
  const Days days(rows);
  const auto when_covered = [](double NightRow::* figure) {
    return [figure](const NightRow& n) { return n.coverage > 0 ? n.*figure : std::nan(""); };
  };
  const auto plain = [](double NightRow::* figure) {
    return [figure](const NightRow& n) { return n.*figure; };
  };
  return JsonObject()
      .text("name", bench.name)
      .text("group", name_of(bench.group))
      .number("group_night_c", group_night_c(bench), 1)
      .number("chill_floor_c", chill_floor_c(bench), 1)
      .raw("first_night", rows.empty() ? "null" : json_string(rows.front()->night))
      .integer("nights", static_cast<std::int64_t>(days.size()))
      .raw("mean_c", days.dense(2, when_covered(&NightRow::mean_c)))
      .raw("minimum_c", days.dense(2, when_covered(&NightRow::minimum_c)))
      .raw("acclimated_c", days.dense(2, plain(&NightRow::acclimated_c)))
      .raw("metabolic_rate", days.dense(3, plain(&NightRow::metabolic_rate)))
      .raw("coverage", days.dense(2, plain(&NightRow::coverage)))
      .raw("counted", days.runs([](const NightRow* n) {
        return n != nullptr && n->counted ? "true" : "false";
      }))
      .raw("position", days.runs([](const NightRow* n) {
        return json_string(name_of(n == nullptr ? Position::unknown : n->position));
      }))
      .raw("feeding", days.runs([](const NightRow* n) {
        return n == nullptr ? std::string("\"unknown\"")
                            : json_string(feeding::name_of(n->feeding));
      }))
      .raw("strength_percent", days.runs([](const NightRow* n) {
        return std::to_string(
            n == nullptr || n->feeding == feeding::Feeding::plain_water ? 0 : n->strength_percent);
      }))
      // What came after the last night that there is belongs to it as well: the night to come is
      // not closed yet.
      .raw("holds", season.holds.json(bench.name, season.dates,
                                      !season.all || season.dates.to >= season.all->second))
      .raw("marks", season.marks.json(bench.name, season.dates))
      .str();
}

std::string years(const SeasonRows& rows) {
  std::string json = "[";
  if (rows.all)
    for (int year = std::stoi(rows.all->first.substr(0, 4));
         year <= std::stoi(rows.all->second.substr(0, 4)); ++year)
      json += (json.size() > 1 ? "," : "") + std::to_string(year);
  return json + "]";
}

}  // namespace

bool is_date(std::string_view text) {
  // Far from where adding days leaves the calendar, or four figures.
  return noon_of(text).has_value() && text >= "1900-01-01" && text < "9000-01-01";
}

std::string date_after(std::string_view date, int days) {
  return format_date(*noon_of(date) + kDay * days);
}

std::optional<Dates> stretch(const std::optional<std::string>& from,
                             const std::optional<std::string>& to, const std::string& last_night) {
  constexpr int kLongest =
      800;  // days: fifty benches of ten years would keep other readers waiting
  if ((from && !is_date(*from)) || (to && !is_date(*to))) return std::nullopt;
  Dates dates;
  dates.to = to ? *to : last_night;
  dates.from = from ? *from : date_after(dates.to, -364);
  if (!to && dates.from > dates.to) dates.to = dates.from;
  if (dates.from > dates.to || day_number(dates.to) - day_number(dates.from) > kLongest)
    return std::nullopt;
  return dates;
}

std::string season_json(const SeasonRows& rows, const Settings& settings,
                        const std::string& extra) {
  std::string benches = "[";
  for (const Bench& bench : settings.benches) {
    if (!rows.bench.empty() && bench.name != rows.bench) continue;
    std::vector<const NightRow*> own;
    for (const NightRow& n : rows.nights)
      if (n.bench == bench.name && n.night >= rows.dates.from && n.night <= rows.dates.to)
        own.push_back(&n);
    benches += (benches.size() > 1 ? "," : "") + bench_json(bench, own, rows);
  }
  return "{" + extra +
         JsonObject()
             .text("from", rows.dates.from)
             .text("to", rows.dates.to)
             .raw("years", years(rows))
             .raw("benches", benches + "]")
             .str()
             .substr(1);
}

}  // namespace plainwater::board
