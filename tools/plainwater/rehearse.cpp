// plainwater rehearse: what would have been decided on recorded readings.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <fstream>
#include <iostream>
#include <map>
#include <optional>
#include <set>

#include "board/chart_page.h"
#include "common/json_text.h"
#include "common/quoted.h"
#include "plainwater/chart.h"
#include "plainwater/commands.h"
#include "plainwater/csv_options.h"
#include "plainwater/described_rehearsal.h"
#include "plainwater/house.h"
#include "plainwater/progress.h"
#include "plainwater/rehearsal.h"
#include "plainwater/said.h"
#include "settings/load.h"
#include "settings/scalar.h"

namespace plainwater::tool {
namespace {

using words::say;

struct RehearseOptions {
  CsvOptions csv;
  std::string settings, readings, requests, doses, decisions, nights, chart;
  bool strict = false;
};

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

/// The board's season page with these nights in it; without any, it shows `dates`.
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
  for (const auto& d : decisions) {
    const std::string json = to_json(d);
    rows.holds.take(json);
    rows.marks.take(json);
  }
  return board::chart_page(rows, settings);
}

constexpr const char* kNightsHeader =
    "bench,night,sunset,sunrise,coverage,mean_c,minimum_c,acclimated_c,deficit_c,metabolic_rate,"
    "position,feeding,strength_percent\n";

/// Totals of holds and nights, by bench.
struct Tally {
  std::map<std::string, int> placed, confirmed, withdrawn, extended;
  std::map<std::string, int> nights;
  std::map<std::string, int> plain_nights;  ///< for whatever reason
  std::map<std::string, int> held_nights;   ///< of these, within a hold
  std::set<std::string> open;               ///< benches in a hold

  void take(const feeding::Decision& d) {
    using feeding::DecisionKind;
    switch (d.kind) {
      case DecisionKind::hold_placed:
        ++placed[d.bench];
        if (d.hold && !d.hold->provisional) ++confirmed[d.bench];
        open.insert(d.bench);
        break;
      case DecisionKind::hold_confirmed: ++confirmed[d.bench]; break;
      case DecisionKind::hold_extended: ++extended[d.bench]; break;
      case DecisionKind::hold_withdrawn: ++withdrawn[d.bench]; [[fallthrough]];
      case DecisionKind::hold_ended: open.erase(d.bench); break;
      default: break;
    }
  }
};

/// Lines for a file; "-" is standard output, which gets them only at the end, since the rehearsal
/// may start over.
class Sheet {
 public:
  explicit Sheet(const std::string& path) : path_(path) {}
  bool wanted() const { return !path_.empty(); }
  bool for_stdout() const { return path_ == "-"; }
  /// False after reporting that it cannot be written.
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
  /// False after reporting that part of it was not written.
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

/// Output of a rehearsal as the options ask: on the terminal, drawn, in files.
class Results {
 public:
  Results(const RehearseOptions& options, std::shared_ptr<const Settings> settings)
      : o_(options),
        settings_(std::move(settings)),
        reader_(settings_->board.reader()),
        decisions_sheet_(options.decisions),
        nights_sheet_(options.nights) {}

  /// False after reporting that a file cannot be written.
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
                             reader_(d.said));
      if (!o_.chart.empty()) decisions_.push_back(d);
    }
    for (const auto& n : outcome.nights) {
      ++tally_.nights[n.bench];
      if (n.feeding == feeding::Feeding::plain_water) {
        ++tally_.plain_nights[n.bench];
        if (tally_.open.contains(n.bench)) ++tally_.held_nights[n.bench];
      }
      if (nights_sheet_.wanted()) nights_sheet_.write(csv_row(n));
      if (!o_.chart.empty()) nights_.push_back(n);
    }
  }

  void print_summary(const RehearsalSummary& done) {
    std::cout << text_;
    print_unused(done);
    std::ostream& report = for_reading() ? std::cout : std::cerr;
    report << reader_(summary(done)) << "\n";
    for (const Bench& bench : settings_->benches) {
      report << fmt::format("{:<16} {}\n", bench.name, reader_(of_bench(bench.name)));
    }
    report << reader_(say("rehearse.what-days-are")) << "\n";
  }

  /// False after reporting that part of it is not on the disk.
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
  words::Sentence summary(const RehearsalSummary& done) const {
    const auto counted = [](std::uint64_t n) { return words::count(static_cast<std::int64_t>(n)); };
    const auto span = done.rows > 0
                          ? say("rehearse.span", {{"from", words::name(format_date(done.first))},
                                                  {"to", words::name(format_date(done.last))}})
                          : words::Sentence();
    const auto doses = o_.doses.empty()
                           ? words::Sentence()
                           : say("rehearse.unused-doses", {{"count", counted(done.unused_doses)}});
    return say("rehearse.summary", {{"rows", counted(done.rows)},
                                    {"span", span},
                                    {"bad", counted(done.bad_rows)},
                                    {"refused", counted(done.refused_requests)},
                                    {"doses", doses}});
  }

  words::Sentence of_bench(const std::string& bench) {
    const auto padded = [](int n, std::size_t width) {
      return words::name(fmt::format("{:>{}}", n, width));
    };
    return say("rehearse.bench", {{"placed", padded(tally_.placed[bench], 3)},
                                  {"confirmed", padded(tally_.confirmed[bench], 3)},
                                  {"withdrawn", padded(tally_.withdrawn[bench], 3)},
                                  {"extended", padded(tally_.extended[bench], 3)},
                                  {"any", padded(tally_.plain_nights[bench], 4)},
                                  {"days", padded(tally_.nights[bench], 4)},
                                  {"held", padded(tally_.held_nights[bench], 4)}});
  }

  /// Reports rows and requests that changed nothing, with the reason.
  void print_unused(const RehearsalSummary& done) const {
    for (const auto& [line, sensor] : done.unknown_sensors)
      std::cerr << fmt::format(
          "{}:{}: sensor {} is on no bench and is no reference; its rows are not used{}\n",
          o_.readings, line, quoted(sensor, 80), near_name(sensor, settings_->sensors));
    if (done.rows == 0)
      std::cerr << o_.readings
                << ": no row that can be read; expected lines such as "
                   "2026-09-14T06:40:00Z,mist-a,18.2,71 under the header "
                   "time,sensor,temperature_c,humidity_percent\n";
    else if (done.unused_rows == done.rows)
      std::cerr
          << o_.readings << ": no row was used: none is of a sensor in " << o_.settings
          << "\nsay whose they are with --columns time=COLUMN,SENSOR=COLUMN, or name the file's "
             "sensors in was: of yours\n";
    for (const auto& [line, text] : done.undone)
      std::cerr << fmt::format("{}:{}: {}\n", o_.requests, line, text);
    if (done.more_undone > 0)
      std::cerr << fmt::format("{}: {} more requests changed nothing\n", o_.requests,
                               done.more_undone);
  }

  bool for_reading() const { return o_.decisions.empty() && !nights_sheet_.for_stdout(); }

  const RehearseOptions& o_;
  std::shared_ptr<const Settings> settings_;
  words::Reader reader_;
  Sheet decisions_sheet_, nights_sheet_;
  std::vector<engine::NightRow> nights_;
  std::vector<feeding::Decision> decisions_;
  Tally tally_;
  std::string text_;
};

/// Reads a file; empty when none is named. False after reporting that it cannot be read.
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

/// Only one output can go to standard output, and no picture.
std::optional<std::string> misplaced(const RehearseOptions& o) {
  if (!o.chart.empty() && !o.chart.ends_with(".svg") && !o.chart.ends_with(".html"))
    return "--chart " + o.chart +
           ": only .svg (a picture) and .html (a page to look around in) can be drawn; name a file "
           "that ends so";
  if (o.decisions == "-" && o.nights == "-")
    return "--decisions and --nights cannot both go to standard output; name a file for one";
  return std::nullopt;
}

/// Where no reports of pumps are given, nobody can say that one is missing; nor that nobody waters,
/// unless people's word of it is given.
std::shared_ptr<const Settings> without_reports(const Settings& of_house,
                                                const std::vector<TimedRequest>& requests) {
  auto settings = std::make_shared<Settings>(of_house);
  for (Pump& pump : settings->pumps) pump.silent_h.reset();
  const bool by_hand = std::ranges::any_of(requests, [](const TimedRequest& asked) {
    return asked.request.kind == feeding::RequestKind::watered;
  });
  if (!by_hand)
    for (Bench& bench : settings->benches) bench.watering_days.reset();
  return settings;
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
  if (!read_into(requests, read_requests, o.requests) || !read_into(doses, read_doses, o.doses))
    return kUsage;
  const auto settings =
      o.doses.empty() ? without_reports(*loaded.settings, requests) : loaded.settings;
  Results results(o, settings);
  if (!results.begin()) return kUsage;
  Progress progress(loaded.settings->board.reader()(say("progress.rehearsing")));
  const auto report = [&](const std::string& line) {
    progress.clear();
    std::cerr << line << "\n";
  };
  Rehearsal rehearsal(settings, std::move(requests), std::move(doses));
  const auto sink = [&](const engine::Outcome& outcome) { results.take(outcome); };
  const auto shown = [&](double share) { progress.show(share); };
  const auto form = form_of(o.readings, o.csv, settings->csv);
  const auto done =
      form ? rehearse_described(rehearsal, settings, o.readings, *form, sink, report, shown)
           : rehearsal.run(o.readings, sink, [&] { results.begin(); }, report, shown);
  progress.clear();
  if (!done) {
    std::cerr << done.error().message() << "\n";
    const bool opened = !done.error().what.starts_with("cannot open");
    return done.error().what == kNothingInIt || (form && opened) ? kNo : kUsage;
  }
  results.print_summary(*done);
  const bool nothing_used = done->rows == done->unused_rows;
  const bool faults = done->bad_rows > 0 || !done->unknown_sensors.empty();
  return !results.written(*done) || nothing_used || (o.strict && faults) ? kNo : kDone;
}

}  // namespace

void add_rehearse(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<RehearseOptions>();
  CLI::App* command =
      app.add_subcommand("rehearse", "Show what would have been decided on recorded readings");
  command
      ->add_option("--settings", options->settings,
                   "Settings file; default: $PLAINWATER_SETTINGS, or plainwater.yaml here or in "
                   "/etc/plainwater")
      ->type_name("FILE");
  command
      ->add_option(
          "--readings", options->readings,
          "CSV or CSV.GZ: time,sensor,temperature_c,humidity_percent, and place for contacts; "
          "others are described by the options that follow, or by csv: in the settings")
      ->required();
  add_csv_options(*command, options->csv);
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
  command->add_flag("--strict", options->strict,
                    "Exit 1 when a row could not be read, or a sensor is on no bench");
  command->callback([options, &exit_code] {
    want_settings(options->settings);
    exit_code = rehearse(*options);
  });
}

}  // namespace plainwater::tool
