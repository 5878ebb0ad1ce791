// plainwater import: recorded history into the store of a service that has no reading yet.
//
// Everything is made beside the store, under another name, and takes the store's name at the end:
// whenever it is interrupted, the store is as it was.
#include <fmt/format.h>

#include <csignal>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <ranges>

#include "clock/clock.h"
#include "clock/engine_clock.h"
#include "common/quoted.h"
#include "plainwater/commands.h"
#include "plainwater/consent.h"
#include "plainwater/csv_options.h"
#include "plainwater/house.h"
#include "plainwater/progress.h"
#include "plainwater/readings_files.h"
#include "plainwater/said.h"
#include "plainwater/unfinished_store.h"
#include "service/history_import.h"
#include "settings/scalar.h"
#include "store/client_keys.h"
#include "store/order_numbers.h"
#include "store/restore.h"

namespace plainwater::tool {
namespace {

namespace fs = std::filesystem;
using words::say;

/// Loggers and computers whose clock was never set write 1970 or 2000.
constexpr Instant kEarliest = from_seconds(978'307'200);  // 2001-01-01
constexpr std::uint64_t kProgressReadings = 4096;
constexpr double kReadShare = 0.4;  // of the time that all of it takes

constexpr std::size_t kUnknownShown = 20;  ///< of sensors that the settings have not
constexpr std::size_t kLongestName = 80;   ///< bytes of a name from a file

volatile std::sig_atomic_t interrupted = 0;

void stop_on_signals() {
  struct sigaction action{};
  action.sa_handler = [](int) { interrupted = 1; };
  sigemptyset(&action.sa_mask);
  // Without SA_RESTART, so that a question on the terminal ends too.
  sigaction(SIGINT, &action, nullptr);
  sigaction(SIGTERM, &action, nullptr);
}

struct ImportOptions {
  HouseOptions house;
  CsvOptions csv;
  std::vector<std::string> files;
  bool yes = false;
};

/// The present, where a clock is needed: only a clock that is vouched for tells past from future.
Result<Instant> present(const Settings& settings) {
  const auto sample = clock::SystemClock().read();
  const clock::EngineClock clock(sample, std::nullopt, settings.clock.trust_machine);
  if (settings.clock.time == ClockMode::readings || clock.settled()) return sample.wall;
  return Error{"no time service keeps this machine's clock, so what is past cannot be told", "",
               "wait for the time service, or vouch for the clock with clock.trust_machine: true"};
}

class Import {
 public:
  Import(const ImportOptions& options, std::shared_ptr<const Settings> settings, Instant now)
      : o_(options),
        settings_(std::move(settings)),
        reader_(settings_->board.reader()),
        now_(now),
        unfinished_(settings_->store.path) {}

  int run() {
    auto former = former_store(settings_->store.path);
    if (!former) return refuse(former.error());
    if (auto clear = unfinished_.clear(); !clear) return refuse(clear.error());
    auto staged = StagedReadings::open();
    if (!staged) return refuse(staged.error());
    const auto limit = settings_->clock.time == ClockMode::readings ? kForever : now_;
    ReadingsFiles files(settings_, **staged, {kEarliest, limit}, false);
    if (auto read = read_files(files); !read) return failed(read.error());
    if (files.used() == 0) return nothing(files);
    former_ = std::move(*former);
    const auto known = write(**staged);
    if (!known) return failed(known.error());
    print(files, *known, (*staged)->sensors().size());
    if (!agrees(*settings_, say("import.question", {{"store", path_word()}}), o_.yes)) return kNo;
    return place();
  }

 private:
  words::Value path_word() const { return words::name(settings_->store.path); }
  static words::Value counted(std::uint64_t n) {
    return words::count(static_cast<std::int64_t>(n));
  }
  void print_said(const words::Sentence& sentence) const { print_line(reader_, sentence); }

  int failed(const Error& error) const {
    if (interrupted == 0) return refuse(error);
    std::fprintf(stderr, "interrupted; nothing was changed\n");
    return kNo;
  }

  bool shown(Progress& progress, double share) const {
    progress.show(share);
    return interrupted == 0;
  }

  Status read_files(ReadingsFiles& files) {
    Progress progress(reader_(say("progress.reading")));
    const auto tell = [&](const std::string& line) {
      progress.clear();
      std::fprintf(stderr, "%s\n", line.c_str());
    };
    const auto all = static_cast<double>(o_.files.size());
    for (std::size_t i = 0; i < o_.files.size(); ++i) {
      const std::string& path = o_.files[i];
      const auto taken =
          files.take(path, form_of(path, o_.csv, settings_->csv), tell, [&](double share) {
            return shown(progress, kReadShare * (static_cast<double>(i) + share) / all);
          });
      if (!taken) return taken;
    }
    return Done{};
  }

  int nothing(const ReadingsFiles& files) const {
    for (const auto& [name, unknown] : files.unknown() | std::views::take(kUnknownShown))
      fmt::print(stderr,
                 "{}:{}: sensor {} is on no bench and is no reference; its rows are not used{}\n",
                 unknown.file, unknown.line, quoted(name, kLongestName),
                 near_name(name, settings_->sensors));
    if (const std::size_t all = files.unknown().size(); all > kUnknownShown)
      fmt::print(stderr, "and {} more sensors that are on no bench\n", all - kUnknownShown);
    std::fprintf(stderr,
                 "no reading was used; say whose they are with --columns "
                 "time=COLUMN,SENSOR=COLUMN, or name the files' sensors in was: of yours\n");
    return kNo;
  }

  Result<service::HistoryKnown> write(StagedReadings& staged) {
    auto store = unfinished_.open();
    if (!store) return store.error();
    if (auto kept = store::OrderNumbers(**store).keep(former_.numbers); !kept) return kept.error();
    auto history = service::HistoryImport::begin(settings_, **store, now_);
    if (!history) return history.error();
    (*history)->carry(former_.inputs);
    Progress progress(reader_(say("progress.importing")));
    std::vector<SensorId> ids;
    for (const std::string& name : staged.sensors()) ids.push_back(*settings_->sensor(name));
    std::optional<Error> fault;
    std::uint64_t taken = 0;
    const auto walked = staged.walk([&](const StagedReading& r) {
      const auto done = (*history)->take({ids[r.sensor], r.quantity, r.time, r.value});
      if (!done) fault = done.error();
      if (++taken % kProgressReadings != 0) return !fault;
      const double part = static_cast<double>(taken) / static_cast<double>(staged.count());
      if (!shown(progress, kReadShare + 0.5 * part)) fault = Error{"interrupted", "", ""};
      return !fault;
    });
    if (!walked) return walked.error();
    if (fault) return *fault;
    return (*history)->finish([&] { return shown(progress, 0.95); });
  }

  void print(const ReadingsFiles& files, const service::HistoryKnown& known,
             std::size_t sensors) const {
    const auto date = [&](Instant t) { return words::day_and_year(settings_->site.local(t)); };
    print_said(say("import.found", {{"readings", counted(known.readings)},
                                    {"r", grouped(known.readings, reader_)},
                                    {"sensors", counted(sensors)},
                                    {"from", date(known.first)},
                                    {"to", date(known.last)},
                                    {"decisions", counted(known.decisions)},
                                    {"d", grouped(known.decisions, reader_)}}));
    if (known.repeated > 0)
      print_said(say("import.repeated", {{"count", counted(known.repeated)},
                                         {"n", grouped(known.repeated, reader_)}}));
    if (known.conflicting > 0)
      print_said(say("import.conflicting", {{"count", counted(known.conflicting)},
                                            {"n", grouped(known.conflicting, reader_)}}));
    print_unknown(files);
    print_said(say("import.known"));
    for (const auto& bench : known.benches) print_bench(bench);
    std::string closed;
    for (const std::string& bench : known.closed) closed += (closed.empty() ? "" : ", ") + bench;
    if (!closed.empty()) print_said(say("import.closed", {{"benches", words::name(closed)}}));
    if (!known.lasting.empty()) print_said(say("import.lasting"));
    for (const auto& message : known.lasting) std::printf("  %s\n", message.line.c_str());
    print_said(say("import.quiet"));
  }

  void print_unknown(const ReadingsFiles& files) const {
    for (const auto& [name, unknown] : files.unknown() | std::views::take(kUnknownShown))
      print_said(say("import.unknown", {{"count", counted(unknown.readings)},
                                        {"n", grouped(unknown.readings, reader_)},
                                        {"sensor", words::name(quoted(name, kLongestName))}}));
    if (const std::size_t all = files.unknown().size(); all > kUnknownShown)
      print_said(say("import.unknown-more", {{"count", counted(all - kUnknownShown)}}));
  }

  void print_bench(const engine::BenchNow& bench) const {
    const auto used = std::isfinite(bench.acclimated_c)
                          ? say("import.used-to", {{"degrees", words::degrees(bench.acclimated_c)}})
                          : words::Sentence();
    std::printf("  ");
    print_said(say("import.bench", {{"bench", words::name(bench.name)},
                                    {"nights", words::count(bench.counted_nights)},
                                    {"used", used},
                                    {"because", bench.because}}));
  }

  /// The new store takes the name of the store.
  int place() {
    // One that a service has made since is kept as well.
    const std::string kept = settings_->store.path + ".before-import-" + stamp();
    store::RestorePlan plan{unfinished_.path(), settings_->store.path, kept, false, {}};
    plan.look = [&](const fs::path& store) { return still_has(store, former_); };
    const auto done = store::restore(plan, [&](store::Store& made) -> Status {
      // Having settings, it would be taken for a store from before there were keys (key 0).
      store::ClientKeyring keyring(made);
      const std::string& instance = settings_->broker.instance;
      if (auto keys = keyring.of(instance); !keys) return keys.error();
      return keyring.forget(instance, 0);
    });
    if (!done) return refuse(done.error());
    print_said(say("import.done", {{"store", path_word()}}));
    if (done->replaced) print_said(say("import.kept", {{"file", words::name(kept)}}));
    print_said(say("import.next"));
    return kDone;
  }

  /// "20261012T080000Z"
  std::string stamp() const {
    std::string text = format_rfc3339(from_seconds(to_seconds(now_)));
    std::erase_if(text, [](char c) { return c == '-' || c == ':'; });
    return text;
  }

  const ImportOptions& o_;
  std::shared_ptr<const Settings> settings_;
  words::Reader reader_;
  Instant now_;
  UnfinishedStore unfinished_;
  FormerStore former_{};  ///< what the new store begins with
};

int import_history(const ImportOptions& o) {
  const auto settings = house_of(o.house);
  if (!settings) return kNo;
  const auto now = present(*settings);
  if (!now) return refuse(now.error());
  stop_on_signals();
  return Import(o, settings, *now).run();
}

}  // namespace

void add_import(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<ImportOptions>();
  CLI::App* command = app.add_subcommand(
      "import", "Recorded history into the store, before the service has its first reading");
  add_house(*command, options->house);
  command
      ->add_option("FILES", options->files,
                   "CSV or CSV.GZ: time,sensor,temperature_c,humidity_percent, or as the options "
                   "or csv: in the settings describe them; in any order")
      ->required()
      ->type_name("FILE");
  add_csv_options(*command, options->csv);
  command->add_flag("--yes", options->yes, "Write it without asking");
  command->callback([options, &exit_code] {
    want_house(options->house);
    exit_code = import_history(*options);
  });
}

}  // namespace plainwater::tool
