// plainwater rehearse: what would have been decided on recorded readings.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <fstream>
#include <iostream>
#include <map>
#include <optional>

#include "board/chart_page.h"
#include "common/json_text.h"
#include "plainwater/chart.h"
#include "plainwater/commands.h"
#include "plainwater/progress.h"
#include "plainwater/rehearsal.h"
#include "settings/load.h"
#include "settings/scalar.h"
#include "settings/shown_unit.h"

namespace plainwater::tool {
namespace {

struct RehearseOptions {
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

/// Lines for a file; "-" is standard output, which gets them when the rehearsal is done: it may
/// begin anew.
class Sheet {
 public:
  explicit Sheet(const std::string& path) : path_(path) {}
  bool wanted() const { return !path_.empty(); }
  bool for_stdout() const { return path_ == "-"; }
  /// False, and told: it cannot be written.
  bool begin() {
    if (for_stdout()) held_.clear();
    if (!wanted() || for_stdout()) return true;
    if (file_.is_open()) file_.close();
    file_.open(path_, std::ios::binary | std::ios::trunc);
    if (!file_) std::cerr << path_ << ": cannot be written; name another place\n";
    return file_.is_open();
  }
  void write(const std::string& text) {
    if (for_stdout())
      held_ += text;
    else if (file_.is_open())
      file_ << text;
  }
  /// False, and told: not all is written.
  bool finish() {
    if (!wanted()) return true;
    if (for_stdout()) std::cout << held_ << std::flush;
    if (file_.is_open()) file_.close();
    const bool whole = for_stdout() ? !std::cout.fail() : !file_.fail();
    if (!whole) std::cerr << "the output could not be written whole; is the disk full?\n";
    return whole;
  }

 private:
  const std::string& path_;
  std::ofstream file_;
  std::string held_;
};

/// What a rehearsal decides, as the options want it: told, drawn, in files.
class Results {
 public:
  Results(const RehearseOptions& options, std::shared_ptr<const Settings> settings)
      : o_(options),
        settings_(std::move(settings)),
        decisions_sheet_(options.decisions),
        nights_sheet_(options.nights) {}

  /// False, and told: a file cannot be written.
  bool begin() {
    nights_.clear();
    decisions_.clear();
    tally_ = Tally();
    text_.clear();
    if (!decisions_sheet_.begin() || !nights_sheet_.begin()) return false;
    nights_sheet_.write(kNightsHeader);
    return true;
  }

  void take(const engine::Outcome& outcome) {
    for (const auto& d : outcome.decisions) {
      tally_.take(d);
      if (decisions_sheet_.wanted()) decisions_sheet_.write(to_json(d) + "\n");
      if (for_reading())
        text_ += fmt::format("{}  {:<12} {}\n", minute_of(settings_->site.local(d.time)), d.bench,
                             in_unit(d.text, settings_->board.unit));
      if (!o_.chart.empty()) decisions_.push_back(d);
    }
    for (const auto& n : outcome.nights) {
      if (n.feeding == feeding::Feeding::plain_water) ++tally_.plain_nights[n.bench];
      if (nights_sheet_.wanted()) nights_sheet_.write(csv_row(n));
      if (!o_.chart.empty()) nights_.push_back(n);
    }
  }

  void tell(const RehearsalSummary& done) {
    std::cout << text_;
    tell_unused(done);
    std::ostream& report = for_reading() ? std::cout : std::cerr;
    report << fmt::format(
        "{} rows{}, {} bad, {} refused requests{}\n", done.rows,
        done.rows > 0 ? " from " + format_date(done.first) + " to " + format_date(done.last) : "",
        done.bad_rows, done.refused_requests,
        o_.doses.empty() ? "" : fmt::format(", {} doses not used", done.unused_doses));
    for (const Bench& bench : settings_->benches) {
      if (tally_.open.contains(bench.name))
        tally_.plain_days[bench.name] += days_of(done.last - tally_.open[bench.name]);
      report << fmt::format(
          "{:<16} holds placed {:>3}, confirmed {:>3}, withdrawn {:>3}, extended {:>3}; days of "
          "plain water: held {:>5.1f}, for any reason {:>4}\n",
          bench.name, tally_.placed[bench.name], tally_.confirmed[bench.name],
          tally_.withdrawn[bench.name], tally_.extended[bench.name], tally_.plain_days[bench.name],
          tally_.plain_nights[bench.name]);
    }
  }

  /// False, and told: not all is on the disk.
  bool written(const RehearsalSummary& done) {
    bool whole = true;
    if (!o_.chart.empty()) {
      const Instant first = done.rows > 0 ? done.first : Instant(),
                    last = done.rows > 0 ? done.last : Instant();
      std::ofstream chart(o_.chart, std::ios::binary | std::ios::trunc);
      chart << (o_.chart.ends_with(".html") ? page_of(*settings_, std::move(nights_), decisions_,
                                                      {format_date(first), format_date(last)})
                                            : draw_chart(*settings_, nights_, decisions_));
      chart.close();
      if (!chart) {
        std::cerr << o_.chart << ": cannot be written\n";
        whole = false;
      }
    }
    whole = decisions_sheet_.finish() && whole;
    return nights_sheet_.finish() && whole;
  }

 private:
  /// Rows and requests that changed nothing, and why.
  void tell_unused(const RehearsalSummary& done) const {
    for (const auto& [line, sensor] : done.unknown_sensors)
      std::cerr << fmt::format(
          "{}:{}: sensor \"{}\" is on no bench and is no reference; its rows are not used{}\n",
          o_.readings, line, sensor, near_name(sensor, settings_->sensors));
    if (done.rows == 0)
      std::cerr << o_.readings << ": no rows that can be read\n";
    else if (done.unused_rows == done.rows)
      std::cerr << o_.readings << ": no row was used: none is of a sensor in " << o_.settings
                << "\n";
    for (const auto& [line, text] : done.undone)
      std::cerr << fmt::format("{}:{}: {}\n", o_.requests, line, text);
    if (done.more_undone > 0)
      std::cerr << fmt::format("{}: {} more requests changed nothing\n", o_.requests,
                               done.more_undone);
  }

  bool for_reading() const { return o_.decisions.empty() && !nights_sheet_.for_stdout(); }

  const RehearseOptions& o_;
  std::shared_ptr<const Settings> settings_;
  Sheet decisions_sheet_, nights_sheet_;
  std::vector<engine::NightRow> nights_;
  std::vector<feeding::Decision> decisions_;
  Tally tally_;
  std::string text_;
};

/// What the file has; nothing where none is named. False, and told: it cannot be read.
template <class Row>
bool read_into(std::vector<Row>& rows, Result<std::vector<Row>> (*read)(const std::string&),
               const std::string& path) {
  if (path.empty()) return true;
  auto done = read(path);
  if (!done) {
    std::cerr << done.error().message() << "\n";
    return false;
  }
  rows = std::move(*done);
  return true;
}

/// Only one thing can go to standard output, and no picture.
std::optional<std::string> misplaced(const RehearseOptions& o) {
  if (o.chart == "-") return "--chart: name a file that ends in .svg or .html";
  if (o.decisions == "-" && o.nights == "-")
    return "--decisions and --nights cannot both go to standard output; name a file for one";
  return std::nullopt;
}

int rehearse(const RehearseOptions& o) {
  if (const auto wrong = misplaced(o)) {
    std::cerr << *wrong << "\n";
    return kUsage;
  }
  const Loaded loaded = load_settings_file(o.settings);
  for (const Problem& problem : loaded.problems) std::cerr << message(problem, o.settings) << "\n";
  if (!loaded.settings) return kNo;
  std::vector<TimedRequest> requests;
  std::vector<outlet::TimedDose> doses;
  Results results(o, loaded.settings);
  if (!read_into(requests, read_requests, o.requests) || !read_into(doses, read_doses, o.doses) ||
      !results.begin())
    return kUsage;
  Progress progress("rehearsing");
  const auto say = [&](const std::string& line) {
    progress.clear();
    std::cerr << line << "\n";
  };
  Rehearsal rehearsal(loaded.settings, std::move(requests), std::move(doses));
  const auto done = rehearsal.run(
      o.readings, [&](const engine::Outcome& outcome) { results.take(outcome); },
      [&] { results.begin(); }, say, [&](double share) { progress.show(share); });
  progress.clear();
  if (!done) {
    std::cerr << done.error().message() << "\n";
    return kUsage;
  }
  results.tell(*done);
  return !results.written(*done) || (o.strict && done->bad_rows > 0) ? kNo : kDone;
}

}  // namespace

void add_rehearse(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<RehearseOptions>();
  CLI::App* command =
      app.add_subcommand("rehearse", "Show what would have been decided on recorded readings");
  command->add_option("--settings", options->settings, "Settings file")->required();
  command
      ->add_option(
          "--readings", options->readings,
          "CSV or CSV.GZ: time,sensor,temperature_c,humidity_percent, and place for contacts")
      ->required();
  command->add_option("--requests", options->requests,
                      "Requests at their times, one JSON object a line");
  command->add_option(
      "--doses", options->doses,
      "Reports of pumps at the times at which they were taken, as export writes them");
  command->add_option("--decisions", options->decisions,
                      "Write the ledger there, one JSON object a line; - is standard output");
  command->add_option("--nights", options->nights,
                      "Write a CSV of nights there; - is standard output");
  command->add_option(
      "--chart", options->chart,
      "Draw the season there: a picture (.svg), or a page to look around in (.html)");
  command->add_flag("--strict", options->strict, "Exit 1 when a row could not be read");
  command->callback([options, &exit_code] { exit_code = rehearse(*options); });
}

}  // namespace plainwater::tool
