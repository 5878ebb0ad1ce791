// Folds a rehearsal CSV, with an invented grower and invented pumps, and prints the ledger, the
// nights and a checksum of the state: bytes that must not depend on the optimiser, the mathematics
// library, the steps of the clock, or restarts.
//
//   ledger_bytes --settings S.yaml --readings R.csv [OPTIONS]
//
// Options: --step SECONDS, --stops N, --stop-seed N, --days N.
//
//   ledger_bytes --library
//
// Prints the mathematics library's results for a few arguments, to the last bit.
#include <cmath>
#include <cstdio>
#include <cstring>
#include <iostream>
#include <map>
#include <random>
#include <set>
#include <string>
#include <vector>

#include "common/json_text.h"
#include "engine/engine.h"
#include "plainwater/readings_csv.h"
#include "settings/load.h"

using namespace plainwater;

namespace {

constexpr Span kEvening = hours(18) + minutes(7);  ///< when people and pumps water, UTC
constexpr Span kAfter = from_days(40);             ///< how long it continues after the last reading

struct Options {
  std::string settings, readings;
  std::int64_t step_s = 0;  ///< 0: time advances only with input
  std::size_t stops = 0;
  std::uint64_t stop_seed = 0;
  double days = 0;  ///< of readings; 0: all
};

[[noreturn]] void leave(const std::string& why) {
  std::cerr << "ledger_bytes: " << why << "\n";
  std::exit(2);
}

Options options_of(const std::vector<std::string>& arguments) {
  Options o;
  if (arguments.size() % 2 != 0) leave("each option takes a value");
  for (std::size_t i = 0; i < arguments.size(); i += 2) {
    const std::string &name = arguments[i], &value = arguments[i + 1];
    if (name == "--settings")
      o.settings = value;
    else if (name == "--readings")
      o.readings = value;
    else if (name == "--step")
      o.step_s = std::stoll(value);
    else if (name == "--stops")
      o.stops = std::stoul(value);
    else if (name == "--stop-seed")
      o.stop_seed = std::stoull(value);
    else if (name == "--days")
      o.days = std::stod(value);
    else
      leave("unknown option " + name);
  }
  return o;
}

/// Prints the library's results for arguments over the ranges that the rules use; no result is
/// exact, so that variants of the library differ in some.
int print_library() {
  std::mt19937_64 chance(20261124);
  for (int i = 0; i < 2000; ++i) {
    const double x = static_cast<double>(chance() >> 11) * 0x1p-53 * 12 - 6;
    std::printf("%a %a %a %a %a %a\n", x, std::exp(x), std::sin(x), std::cos(x), std::pow(1.1, x),
                std::log(x + 7));
  }
  return 0;
}

struct Row {
  Instant time{};
  Reading reading;
};

std::vector<Row> rows_of(const Options& o, const Settings& settings) {
  auto csv = tool::ReadingsCsv::open(o.readings, [](std::uint64_t line, const std::string& why) {
    leave("line " + std::to_string(line) + ": " + why);
  });
  if (!csv) leave(csv.error().message());
  std::vector<Row> rows;
  tool::CsvRow row;
  while (csv->next(row)) {
    const auto sensor = settings.sensor(row.sensor);
    if (!sensor) leave("no sensor " + std::string(row.sensor));
    if (o.days > 0 && !rows.empty() && row.time > rows.front().time + from_days(o.days)) break;
    for (const auto& [quantity, value] : {std::pair(Quantity::temperature, row.temperature),
                                          std::pair(Quantity::humidity, row.humidity)})
      if (value != tool::kMissing) rows.push_back({row.time, {*sensor, quantity, row.time, value}});
  }
  if (rows.empty()) leave("no readings");
  return rows;
}

class Season {
 public:
  Season(std::shared_ptr<const Settings> settings, const Options& o)
      : settings_(std::move(settings)), step_(seconds(o.step_s)), engine_(settings_) {}

  void go_on(Instant to) {
    if (step_.count() > 0 && engine_.now() != kNever)
      for (Instant t = engine_.now() + step_; t < to; t += step_) engine_.advance(t, out_);
    print();
  }
  void take(const Row& row) {
    for (; evening_ <= row.time; evening_ += kDay) water(evening_);
    go_on(row.time);
    engine_.take(row.reading, row.time, out_);
    print();
  }
  void begin(Instant first) { evening_ = std::chrono::floor<std::chrono::days>(first) + kEvening; }
  void end(Instant last) {
    go_on(last);
    engine_.advance(last, out_);
    print();
    for (const auto& night : nights_) print(night);
    std::uint64_t sum = 14695981039346656037u;
    for (const char c : engine_.snapshot())
      sum = (sum ^ static_cast<unsigned char>(c)) * 1099511628211u;
    std::cout << "state " << sum << "\n";
  }
  void restart() {
    auto restored = engine::Engine::restore(settings_, engine_.snapshot());
    if (!restored) leave(restored.error().message());
    engine_ = std::move(*restored);
  }

 private:
  /// A pump's and a grower's evening; each figure is derived from the day.
  void water(Instant t) {
    go_on(t);
    engine_.advance(t, out_);
    const int day = static_cast<int>(to_ms(t) / to_ms(Instant(kDay)));
    for (const auto& pump : engine_.pumps()) {
      if (!armed_.contains(pump.name)) ask(t, feeding::RequestKind::arm, {}, pump.name);
      armed_.insert(pump.name);
      feeding::DoseReport report;
      report.pump = report.source = pump.name;
      report.time = t;
      report.litres = 8 + day % 5;
      report.strength_percent =
          day % 61 == 7 ? 100 : pump.strength_percent;  // now and then it disobeys
      if (pump.dose) report.ec = rounded(pump.dose->ec * (1 + 0.003 * (day % 7)));
      engine_.take(report, t, out_);
    }
    const auto& bench =
        settings_->benches[static_cast<std::size_t>(day) % settings_->benches.size()].name;
    if (day % 9 == 4) ask(t, feeding::RequestKind::watered, bench);
    if (day % 23 == 3) ask(t, feeding::RequestKind::runoff, bench);
    if (day % 71 == 11) ask(t, feeding::RequestKind::hold, bench);
    if (day % 71 == 41) ask(t, feeding::RequestKind::release, bench);
    if (day % 61 == 9)
      for (const auto& pump : settings_->pumps) ask(t, feeding::RequestKind::trust, {}, pump.name);
    print();
  }
  void ask(Instant t, feeding::RequestKind kind, const std::string& bench,
           const std::string& pump = {}) {
    feeding::Request request;
    request.id = std::to_string(++asked_);
    request.who = "Ines";
    request.kind = kind;
    request.bench = bench;
    request.pump = pump;
    if (kind == feeding::RequestKind::watered) request.litres = 2.5, request.strength_percent = 20;
    if (kind == feeding::RequestKind::runoff) request.ec = 0.9 + 0.1 * (asked_ % 6);
    engine_.take(request, t, out_);
  }
  static void print(const engine::NightRow& n) {
    std::cout << n.bench << ',' << n.night << ',' << format_rfc3339(n.sunset) << ','
              << format_rfc3339(n.sunrise);
    for (const double figure : {n.coverage, n.mean_c, n.minimum_c, n.mean_rh, n.acclimated_c,
                                n.deficit_c, n.metabolic_rate})
      std::cout << ',' << fixed(figure, 6);
    std::cout << ',' << name_of(n.position) << ',' << feeding::name_of(n.feeding) << ','
              << n.strength_percent << "\n";
  }
  void print() {
    for (const auto& decision : out_.decisions) std::cout << feeding::to_json(decision) << "\n";
    nights_.insert(nights_.end(), out_.nights.begin(), out_.nights.end());
    out_ = {};
  }

  std::shared_ptr<const Settings> settings_;
  Span step_;
  engine::Engine engine_;
  engine::Outcome out_;
  std::vector<engine::NightRow>
      nights_;  ///< printed at the end: their order among decisions depends on the steps
  Instant evening_{};
  std::set<std::string> armed_;
  int asked_ = 0;
};

}  // namespace

int main(int argc, char** argv) {
  const std::vector<std::string> arguments(argv + 1, argv + argc);
  if (arguments == std::vector<std::string>{"--library"}) return print_library();
  const Options o = options_of(arguments);
  const Loaded loaded = load_settings_file(o.settings);
  if (!loaded.settings)
    leave(loaded.problems.empty() ? "no settings" : message(loaded.problems[0], o.settings));
  const auto rows = rows_of(o, *loaded.settings);

  std::set<std::size_t> stops;
  std::mt19937_64 chance(o.stop_seed);
  while (stops.size() < std::min(o.stops, rows.size()))
    stops.insert(static_cast<std::size_t>(chance() % rows.size()));
  Season season(loaded.settings, o);
  season.begin(rows.front().time);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    if (stops.contains(i)) season.restart();
    season.take(rows[i]);
  }
  season.end(rows.back().time + kAfter);
  return 0;
}
