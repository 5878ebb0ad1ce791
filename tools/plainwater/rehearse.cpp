// plainwater rehearse: what would have been decided on recorded readings.
#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <fstream>
#include <iostream>
#include <map>

#include "board/chart_page.h"
#include "common/json_text.h"
#include "plainwater/chart.h"
#include "plainwater/commands.h"
#include "plainwater/progress.h"
#include "plainwater/rehearsal.h"
#include "settings/load.h"

namespace plainwater::tool {
namespace {

struct Options {
  std::string settings, readings, requests, doses, decisions, nights, chart;
  bool strict = false;
};

/// "2026-09-14 06:41"
std::string minute_of(Instant local) {
  std::string text = format_rfc3339(local).substr(0, 16);
  text[10] = ' ';
  return text;
}

std::string csv_row(const engine::NightRow& n) {
  const auto figure = [](double v, int places) {
    return std::isfinite(v) ? fixed(v, places) : std::string();
  };
  return fmt::format("{},{},{},{},{},{},{},{},{},{},{},{},{}\n", n.bench, n.night,
                     format_rfc3339(n.sunset), format_rfc3339(n.sunrise), fixed(n.coverage, 3),
                     figure(n.mean_c, 3), figure(n.minimum_c, 3), figure(n.acclimated_c, 3),
                     figure(n.deficit_c, 3), figure(n.metabolic_rate, 3), name_of(n.position),
                     feeding::name_of(n.feeding), n.strength_percent);
}

/// The board's season page with these nights in it; `dates` are told when there is none.
std::string page_of(const Settings& settings, std::vector<engine::NightRow> nights,
                    const std::vector<feeding::Decision>& decisions, board::Dates dates) {
  board::SeasonRows rows;
  rows.dates = std::move(dates);
  if (!nights.empty()) {
    const auto [first, last] = std::ranges::minmax(nights, {}, &engine::NightRow::night);
    rows.dates = {first.night, last.night};
    rows.all = std::pair(first.night, last.night);
  }
  rows.nights = std::move(nights);
  for (const auto& d : decisions) rows.holds.take(to_json(d));
  return board::chart_page(rows, settings);
}

constexpr const char* kNightsHeader =
    "bench,night,sunset,sunrise,coverage,mean_c,minimum_c,acclimated_c,deficit_c,metabolic_rate,"
    "position,feeding,strength_percent\n";

/// What holds and nights came to, by bench.
struct Tally {
  std::map<std::string, int> placed, confirmed, withdrawn, extended;
  std::map<std::string, double> plain_days;
  std::map<std::string, int> plain_nights;  ///< for whatever reason
  std::map<std::string, Instant> open;

  void take(const feeding::Decision& d) {
    using feeding::DecisionKind;
    switch (d.kind) {
      case DecisionKind::hold_placed:
        ++placed[d.bench];
        if (d.hold && !d.hold->provisional) ++confirmed[d.bench];
        open[d.bench] = d.time;
        break;
      case DecisionKind::hold_confirmed: ++confirmed[d.bench]; break;
      case DecisionKind::hold_extended: ++extended[d.bench]; break;
      case DecisionKind::hold_withdrawn: ++withdrawn[d.bench]; [[fallthrough]];
      case DecisionKind::hold_ended:
        if (open.contains(d.bench)) plain_days[d.bench] += days_of(d.time - open[d.bench]);
        open.erase(d.bench);
        break;
      default: break;
    }
  }
};

int rehearse(const Options& o) {
  const Loaded loaded = load_settings_file(o.settings);
  for (const Problem& problem : loaded.problems) std::cerr << message(problem, o.settings) << "\n";
  if (!loaded.settings) return kNo;
  std::vector<TimedRequest> requests;
  if (!o.requests.empty()) {
    auto read = read_requests(o.requests);
    if (!read) {
      std::cerr << read.error().message() << "\n";
      return kUsage;
    }
    requests = std::move(*read);
  }
  std::vector<outlet::TimedDose> doses;
  if (!o.doses.empty()) {
    auto read = read_doses(o.doses);
    if (!read) {
      std::cerr << read.error().message() << "\n";
      return kUsage;
    }
    doses = std::move(*read);
  }
  std::ofstream decisions_file, nights_file;
  for (const auto& [file, path] :
       {std::pair(&decisions_file, &o.decisions), std::pair(&nights_file, &o.nights)}) {
    if (path->empty()) continue;
    file->open(*path, std::ios::binary | std::ios::trunc);
    if (!*file) {
      std::cerr << *path << ": cannot be written; name another place\n";
      return kUsage;
    }
  }
  const bool for_reading = o.decisions.empty();
  std::vector<engine::NightRow> nights;
  std::vector<feeding::Decision> decisions;
  Tally tally;
  Progress progress("rehearsing");
  std::string text;

  const auto begin = [&] {
    nights.clear();
    decisions.clear();
    tally = Tally();
    text.clear();
    if (decisions_file.is_open()) {
      decisions_file.close();
      decisions_file.open(o.decisions, std::ios::binary | std::ios::trunc);
    }
    if (nights_file.is_open()) {
      nights_file.close();
      nights_file.open(o.nights, std::ios::binary | std::ios::trunc);
      nights_file << kNightsHeader;
    }
  };
  const auto sink = [&](const engine::Outcome& outcome) {
    for (const auto& d : outcome.decisions) {
      tally.take(d);
      if (decisions_file.is_open()) decisions_file << to_json(d) << "\n";
      if (for_reading)
        text += fmt::format("{}  {:<12} {}\n", minute_of(loaded.settings->site.local(d.time)),
                            d.bench, d.text);
      if (!o.chart.empty()) decisions.push_back(d);
    }
    for (const auto& n : outcome.nights) {
      if (n.feeding == feeding::Feeding::plain_water) ++tally.plain_nights[n.bench];
      if (nights_file.is_open()) nights_file << csv_row(n);
      if (!o.chart.empty()) nights.push_back(n);
    }
  };
  const auto say = [&](const std::string& line) {
    progress.clear();
    std::cerr << line << "\n";
  };
  begin();
  Rehearsal rehearsal(loaded.settings, std::move(requests), std::move(doses));
  const auto done =
      rehearsal.run(o.readings, sink, begin, say, [&](double share) { progress.show(share); });
  progress.clear();
  if (!done) {
    std::cerr << done.error().message() << "\n";
    return kUsage;
  }
  std::cout << text;
  for (const std::string& sensor : done->unknown_sensors)
    std::cerr << o.readings << ": sensor \"" << sensor
              << "\" stands on no bench and is no reference; its rows are not used\n";
  if (done->rows == 0) std::cerr << o.readings << ": no rows that can be read\n";
  std::ostream& report = for_reading ? std::cout : std::cerr;
  report << fmt::format(
      "{} rows{}, {} bad, {} refused requests{}\n", done->rows,
      done->rows > 0 ? " from " + format_date(done->first) + " to " + format_date(done->last) : "",
      done->bad_rows, done->refused_requests,
      o.doses.empty() ? "" : fmt::format(", {} doses not used", done->unused_doses));
  for (const Bench& bench : loaded.settings->benches) {
    if (tally.open.contains(bench.name))
      tally.plain_days[bench.name] += days_of(done->last - tally.open[bench.name]);
    report << fmt::format(
        "{:<16} holds placed {:>3}, confirmed {:>3}, withdrawn {:>3}, extended {:>3}; days of "
        "plain water: held {:>5.1f}, for any reason {:>4}\n",
        bench.name, tally.placed[bench.name], tally.confirmed[bench.name],
        tally.withdrawn[bench.name], tally.extended[bench.name], tally.plain_days[bench.name],
        tally.plain_nights[bench.name]);
  }
  bool written = true;
  if (!o.chart.empty()) {
    const Instant first = done->rows > 0 ? done->first : Instant(),
                  last = done->rows > 0 ? done->last : Instant();
    std::ofstream chart(o.chart, std::ios::binary | std::ios::trunc);
    chart << (o.chart.ends_with(".html") ? page_of(*loaded.settings, std::move(nights), decisions,
                                                   {format_date(first), format_date(last)})
                                         : draw_chart(*loaded.settings, nights, decisions));
    chart.close();
    if (!chart) {
      std::cerr << o.chart << ": cannot be written\n";
      written = false;
    }
  }
  for (std::ofstream* file : {&decisions_file, &nights_file}) {
    if (!file->is_open()) continue;
    file->close();
    if (!*file) {
      std::cerr << "the output could not be written whole; is the disk full?\n";
      written = false;
    }
  }
  return !written || (o.strict && done->bad_rows > 0) ? kNo : kDone;
}

}  // namespace

void add_rehearse(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command =
      app.add_subcommand("rehearse", "what would have been decided on recorded readings");
  command->add_option("--settings", options->settings, "settings file")->required();
  command
      ->add_option(
          "--readings", options->readings,
          "CSV or CSV.GZ: time,sensor,temperature_c,humidity_percent, and place for contacts")
      ->required();
  command->add_option("--requests", options->requests,
                      "requests at their times, one JSON object a line");
  command->add_option(
      "--doses", options->doses,
      "pumps' reports at the times at which they were taken, as export writes them");
  command->add_option("--decisions", options->decisions,
                      "write the ledger there, one JSON object a line");
  command->add_option("--nights", options->nights, "write a CSV of nights there");
  command->add_option(
      "--chart", options->chart,
      "draw the season there: a picture (.svg), or a page to look around in (.html)");
  command->add_flag("--strict", options->strict, "exit 1 when a row could not be read");
  command->callback([options, &exit_code] { exit_code = rehearse(*options); });
}

}  // namespace plainwater::tool
