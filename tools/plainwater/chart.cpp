#include "plainwater/chart.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "climate/sun.h"

namespace plainwater::tool {
namespace {

using engine::NightRow;
using feeding::Decision;
using feeding::DecisionKind;
using words::say;

// A day is three units wide; a year is a row.
constexpr double kDayWidth = 3, kLeft = 64, kRight = 24, kPlotHeight = 200, kStripHeight = 26,
                 kRowGap = 66, kTitle = 66, kLetter = 6.2;
constexpr const char* kStyle =
    "text{font-family:Georgia,'DejaVu Serif',serif;font-size:12px;fill:#3b3a36}"
    ".title{font-size:18px}.small{font-size:11px;fill:#6d6a62}.grid{stroke:#e4dfd3;stroke-width:1}."
    "axis{stroke:#a9a394;stroke-width:1}"
    ".night{fill:#6b7f8c}.uncounted{fill:none;stroke:#b9b3a5}.used{fill:none;stroke:#8a4b2a;stroke-"
    "width:2}.number{stroke:#6d6a62;stroke-dasharray:2 4}"
    ".held{fill:#4f6d8f;fill-opacity:.16;stroke:#4f6d8f;stroke-width:1}.trial{fill:url(#trial);"
    "stroke:#4f6d8f;stroke-width:1;stroke-dasharray:3 3}"
    ".gone{fill:none;stroke:#8f8a7c;stroke-width:1;stroke-dasharray:3 "
    "3}.feed{fill:#71884e}.water{fill:#4f6d8f}.out{fill:#b5793b}.unsure{fill:#cfc8b8}";

struct Band {
  Instant from{}, confirmed{kForever}, to{kForever};
  bool withdrawn = false;
  feeding::Cause cause = feeding::Cause::none;
  int extended = 0;
};

std::string escaped(const std::string& text) {
  std::string out;
  for (const char c : text)
    out += c == '<' ? "&lt;" : c == '&' ? "&amp;" : c == '"' ? "&quot;" : std::string(1, c);
  return out;
}

std::vector<Band> bands_of(const std::string& bench, const std::vector<Decision>& decisions) {
  std::vector<Band> bands;
  for (const Decision& d : decisions) {
    if (d.bench != bench) continue;
    if (d.kind == DecisionKind::hold_placed)
      bands.push_back({d.time, d.hold && !d.hold->provisional ? d.time : kForever, kForever, false,
                       d.cause, 0});
    if (bands.empty()) continue;
    Band& band = bands.back();
    if (d.kind == DecisionKind::hold_confirmed && band.confirmed == kForever)
      band.confirmed = d.time;
    if (d.kind == DecisionKind::hold_extended) ++band.extended;
    if (d.kind == DecisionKind::hold_withdrawn) band.withdrawn = true;
    if (d.kind == DecisionKind::hold_withdrawn || d.kind == DecisionKind::hold_ended)
      band.to = d.time;
  }
  return bands;
}

words::Sentence month_word(unsigned month) {
  static constexpr const char* kKeys[] = {
      "month-short.january", "month-short.february", "month-short.march",
      "month-short.april",   "month-short.may",      "month-short.june",
      "month-short.july",    "month-short.august",   "month-short.september",
      "month-short.october", "month-short.november", "month-short.december"};
  return say(kKeys[month - 1]);
}

/// What places a hold; a cause of a later version in its own word.
words::Sentence cause_word(feeding::Cause cause) {
  using feeding::Cause;
  switch (cause) {
    case Cause::sharp_drop: return say("chart.cause-sharp-drop");
    case Cause::grower: return say("chart.cause-grower");
    case Cause::announced: return say("chart.cause-announced");
    case Cause::moved_outdoors: return say("chart.cause-moved-outdoors");
    case Cause::moved_indoors: return say("chart.cause-moved-indoors");
    case Cause::shuttling: return say("chart.cause-shuttling");
    default: return words::as_it_is(feeding::name_of(cause));
  }
}

words::Sentence group_word(Group group) {
  switch (group) {
    case Group::cool: return say("chart.group-cool");
    case Group::intermediate: return say("chart.group-intermediate");
    case Group::warm: return say("chart.group-warm");
  }
  return {};
}

/// One year of one bench.
class Row {
 public:
  Row(Instant from, Instant to, double top, double low_c, double high_c, words::Reader reader)
      : from_(from),
        to_(to),
        top_(top),
        low_c_(low_c),
        high_c_(high_c),
        reader_(std::move(reader)) {}

  double x(Instant t) const {
    return kLeft + days_of(std::clamp(t, from_, to_) - from_) * kDayWidth;
  }
  double y(double c) const {
    return top_ + kPlotHeight * (high_c_ - std::clamp(c, low_c_, high_c_)) / (high_c_ - low_c_);
  }
  bool shows(Instant from, Instant to) const { return from < to_ && to > from_; }

  std::string grid() const {
    std::string svg;
    for (double c = std::ceil(low_c_ / 5) * 5; c <= high_c_; c += 5)
      svg += fmt::format(
          "<line class='grid' x1='{:.0f}' x2='{:.1f}' y1='{:.1f}' y2='{:.1f}'/><text class='small' "
          "x='{:.0f}' y='{:.1f}' text-anchor='end'>{}</text>\n",
          kLeft, x(to_), y(c), y(c), kLeft - 8, y(c) + 4,
          escaped(reader_(say("chart.degrees", {{"degrees", words::degrees(c, 0)}}))));
    using namespace std::chrono;
    for (auto month = year_month_day(floor<std::chrono::days>(from_)).year() /
                      year_month_day(floor<std::chrono::days>(from_)).month();
         ; month += months(1)) {
      const Instant first{sys_days(month / 1)};
      if (first >= to_) break;
      const unsigned m = static_cast<unsigned>(month.month());
      const bool with_year = m == 1 || first <= from_ || first - from_ < 31 * kDay;
      const words::Sentence short_month = month_word(m);
      const std::string name = escaped(reader_(
          with_year ? say("chart.month-and-year",
                          {{"month", short_month},
                           {"year", words::name(std::to_string(static_cast<int>(month.year())))}})
                    : short_month));
      if (first >= from_)
        svg += fmt::format(
            "<line class='grid' x1='{0:.1f}' x2='{0:.1f}' y1='{1:.1f}' y2='{2:.1f}'/>\n", x(first),
            top_, top_ + kPlotHeight + kStripHeight);
      const bool room =
          x(std::min(Instant(sys_days((month + months(1)) / 1)), to_)) - x(first) > 40;
      if (room)
        svg += fmt::format("<text class='small' x='{:.1f}' y='{:.1f}'>{}</text>\n", x(first) + 3,
                           top_ + kPlotHeight + kStripHeight + 15, name);
    }
    return svg;
  }

  /// `label_end` is where the last label of this row ended; a label without room moves up a line.
  std::string band(const Band& b, double& label_end) const {
    if (!shows(b.from, std::min(b.to, to_))) return {};
    std::string svg;
    const auto box = [&](const char* style, Instant from, Instant to) {
      if (from < to && shows(from, to))
        svg +=
            fmt::format("<rect class='{}' x='{:.1f}' y='{:.1f}' width='{:.1f}' height='{:.1f}'/>\n",
                        style, x(from), top_, x(to) - x(from), kPlotHeight);
    };
    const Instant decided = std::min(b.confirmed, b.to);
    box(b.withdrawn ? "gone" : "trial", b.from, b.withdrawn ? b.to : decided);
    if (!b.withdrawn) box("held", decided, b.to);
    if (b.from >= from_) {
      const std::string label = escaped(
          reader_(say("chart.hold",
                      {{"cause", cause_word(b.cause)},
                       {"extended", b.extended > 0 ? say("chart.extended") : words::Sentence()},
                       {"withdrawn", b.withdrawn ? say("chart.withdrawn") : words::Sentence()}})));
      const bool crowded = x(b.from) < label_end;
      svg += fmt::format("<text class='small' x='{:.1f}' y='{:.1f}'>{}</text>\n", x(b.from) + 3,
                         top_ - (crowded ? 19 : 5), label);
      if (!crowded) label_end = x(b.from) + 8 + kLetter * static_cast<double>(label.size());
    }
    return svg;
  }

  std::string nights(const std::vector<const NightRow*>& rows) const {
    std::string points, line, strip;
    Instant before = kNever;
    for (const NightRow* n : rows) {
      if (n->sunset < from_ || n->sunset >= to_) continue;
      if (std::isfinite(n->mean_c))
        points += fmt::format("<circle class='{}' cx='{:.1f}' cy='{:.1f}' r='1.7'/>\n",
                              n->counted ? "night" : "uncounted", x(n->sunset), y(n->mean_c));
      if (std::isfinite(n->acclimated_c)) {
        line += fmt::format("{}{:.1f} {:.1f}",
                            before != kNever && n->sunset - before < 3 * kDay ? "L" : "M",
                            x(n->sunset), y(n->acclimated_c));
        before = n->sunset;
      }
      const double bottom = top_ + kPlotHeight + kStripHeight;
      if (n->position != Position::indoors)
        strip += fmt::format("<rect class='{}' x='{:.1f}' y='{:.1f}' width='{:.1f}' height='4'/>",
                             n->position == Position::outdoors ? "out" : "unsure", x(n->sunset),
                             top_ + kPlotHeight - 4, kDayWidth);
      const bool water = n->feeding == feeding::Feeding::plain_water;
      const double height = water ? 3 : kStripHeight * 0.8 * n->strength_percent / 100;
      strip +=
          fmt::format("<rect class='{}' x='{:.1f}' y='{:.1f}' width='{:.1f}' height='{:.1f}'/>",
                      water ? "water" : "feed", x(n->sunrise), bottom - height, kDayWidth, height);
    }
    return points + "<path class='used' d='" + line + "'/>\n" + strip + "\n";
  }

  std::string group_line(double number_c) const {
    return fmt::format("<line class='number' x1='{:.0f}' x2='{:.1f}' y1='{:.1f}' y2='{:.1f}'/>\n",
                       kLeft, x(to_), y(number_c), y(number_c));
  }

 private:
  Instant from_, to_;
  double top_, low_c_, high_c_;
  words::Reader reader_;
};

std::string legend(double y, const words::Reader& reader) {
  const auto at = [&](double x, const std::string& sign, const words::Sentence& text) {
    return fmt::format(
        "<g transform='translate({:.0f} {:.0f})'>{}<text class='small' x='26' y='4'>{}</text></g>",
        x, y, sign, escaped(reader(text)));
  };
  return at(64, "<circle class='night' cx='12' cy='0' r='2.5'/>", say("chart.night-mean")) +
         at(164, "<path class='used' d='M0 0L22 0'/>", say("chart.used-to")) +
         at(350, "<rect class='trial' x='0' y='-7' width='22' height='14'/>", say("chart.trial")) +
         at(510, "<rect class='held' x='0' y='-7' width='22' height='14'/>", say("chart.held")) +
         at(640, "<rect class='gone' x='0' y='-7' width='22' height='14'/>", say("chart.gone")) +
         at(740, "<rect class='feed' x='0' y='-7' width='22' height='14'/>", say("chart.feed")) +
         at(980, "<rect class='water' x='0' y='-1' width='22' height='3'/>", say("chart.water")) +
         at(1080, "<rect class='out' x='0' y='-2' width='22' height='4'/>", say("chart.out"));
}

}  // namespace

std::string draw_chart(const Settings& settings, const std::vector<NightRow>& nights,
                       const std::vector<Decision>& decisions) {
  std::map<std::string, std::vector<const NightRow*>> by_bench;
  for (const NightRow& n : nights) by_bench[n.bench].push_back(&n);

  const words::Reader reader = settings.board.reader();
  std::string body;
  double y = 30, width = 0;
  for (const Bench& bench : settings.benches) {
    const auto& rows = by_bench[bench.name];
    body += fmt::format(
        "<text class='title' x='{:.0f}' y='{:.0f}'>{} <tspan class='small'>{}</tspan></text>\n",
        kLeft, y, escaped(bench.name),
        escaped(reader(say("chart.bench", {{"group", group_word(bench.group)},
                                           {"night", words::degrees(group_night_c(bench), 0)}}))));
    y += 22;
    body += legend(y, reader);
    y += kTitle - 22;
    if (rows.empty()) {
      body += fmt::format("<text class='small' x='{:.0f}' y='{:.0f}'>{}</text>\n", kLeft, y,
                          escaped(reader(say("chart.no-night"))));
      y += kRowGap;
      continue;
    }
    double low = group_night_c(bench), high = low;
    for (const NightRow* n : rows) {
      if (!std::isfinite(n->mean_c)) continue;
      low = std::min(low, n->mean_c);
      high = std::max(high, n->mean_c);
    }
    low = std::floor(low / 5) * 5;
    high = std::ceil((high + 0.01) / 5) * 5;
    const auto bands = bands_of(bench.name, decisions);
    const Instant end = rows.back()->sunrise + kDay;
    for (Instant from = rows.front()->sunset; from < end; from += 366 * kDay) {
      const Instant to = std::min(from + 366 * kDay, end);
      const Row row(from, to, y, low, high, reader);
      body += row.grid();
      double label_end = 0;
      for (const Band& b : bands) body += row.band(b, label_end);
      body += row.group_line(group_night_c(bench)) + row.nights(rows);
      body += fmt::format("<line class='axis' x1='{:.0f}' x2='{:.1f}' y1='{:.1f}' y2='{:.1f}'/>\n",
                          kLeft, row.x(to), y + kPlotHeight + kStripHeight,
                          y + kPlotHeight + kStripHeight);
      width = std::max(width, row.x(to) + kRight);
      y += kPlotHeight + kStripHeight + kRowGap;
    }
  }
  width = std::max(width, 1220.0);
  return fmt::format(
      "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {0:.0f} {1:.0f}' width='{0:.0f}' "
      "height='{1:.0f}'>\n"
      "<title>{2}</title>\n<defs><pattern id='trial' width='6' height='6' "
      "patternUnits='userSpaceOnUse' patternTransform='rotate(45)'>"
      "<line x1='0' y1='0' x2='0' y2='6' stroke='#4f6d8f' stroke-opacity='.35' "
      "stroke-width='2'/></pattern></defs>\n<style>{3}</style>\n"
      "<rect width='100%' height='100%' fill='#fbf9f4'/>\n{4}</svg>\n",
      width, y, escaped(reader(say("page.chart", {{"site", words::name(settings.site.name)}}))),
      kStyle, body);
}

}  // namespace plainwater::tool
