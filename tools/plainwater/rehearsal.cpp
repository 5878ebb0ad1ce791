#include "plainwater/rehearsal.h"

#include <fmt/format.h>

#include <algorithm>
#include <boost/json.hpp>
#include <fstream>
#include <queue>
#include <unordered_map>

#include "outlet/requests.h"

namespace plainwater::tool {
namespace {

/// Rows of other sensors that are this much older than what was read mean that the file is grouped
/// by sensor.
constexpr Span kGrouped = kDay;
constexpr std::size_t kMostGroups = 500;  // each holds an open file
/// A row this far ahead, not confirmed by the next one, has a wrong time and would move the engine
/// forward.
constexpr Span kFarAhead = 60 * kDay;
constexpr std::uint64_t kProgressRows = 4096;

struct Hash {
  using is_transparent = void;
  std::size_t operator()(std::string_view s) const { return std::hash<std::string_view>{}(s); }
};

}  // namespace

/// One pass: the engine and what has been read so far.
struct Rehearsal::Fold {
  Fold(std::shared_ptr<const Settings> s, const std::vector<TimedRequest>& r,
       const std::vector<outlet::TimedDose>& d, const Sink& out)
      : settings(s), engine(s), requests(r), doses(d), sink(out) {
    for (std::size_t i = 0; i < settings->sensors.size(); ++i)
      known.emplace(settings->sensors[i].name, static_cast<std::uint32_t>(i));
    for (std::size_t i = 0; i < settings->sensors.size(); ++i)
      for (const std::string& former : settings->sensors[i].was)
        known.emplace(former, static_cast<std::uint32_t>(i));
    latest = known.end();
  }

  void flush() {
    if (outcome.empty()) return;
    sink(outcome);
    outcome.decisions.clear();
    outcome.nights.clear();
  }

  bool waiting() const { return next_request < requests.size() || next_dose < doses.size(); }

  /// Takes requests and doses up to and including `t`, in order of time; at equal times requests
  /// first.
  void take_until(Instant t) {
    while (waiting()) {
      const Instant request =
          next_request < requests.size() ? requests[next_request].time : kForever;
      const Instant dose = next_dose < doses.size() ? doses[next_dose].now : kForever;
      if (std::min(request, dose) > t) return;
      if (request <= dose) {
        ask(requests[next_request++]);
      } else if (engine.take(doses[next_dose++].report, dose, outcome) != engine::TakenDose::used) {
        ++summary.unused_doses;
      }
      flush();
    }
  }

  void ask(const TimedRequest& asked) {
    const auto reply = engine.take(asked.request, asked.time, outcome);
    if (reply.done) return;
    ++summary.refused_requests;
    note_undone(asked, words::say("rehearse.refused", {{"why", reply.said}}));
  }

  void note_undone(const TimedRequest& asked, const words::Sentence& why) {
    if (summary.undone.size() < kMostReported)
      summary.undone.push_back({asked.line, settings->board.reader()(why)});
    else
      ++summary.more_undone;
  }

  void note_unknown(const CsvRow& row) {
    ++summary.unused_rows;
    auto& known_so_far = summary.unknown_sensors;
    if (known_so_far.size() < 100 &&
        std::ranges::find(known_so_far, row.sensor, &RemarkedLine::text) == known_so_far.end())
      known_so_far.push_back({row.line, std::string(row.sensor)});
  }

  void take(const CsvRow& row) {
    ++summary.rows;
    summary.first = std::min(summary.first, row.time);
    summary.last = std::max(summary.last, row.time);
    if (latest == known.end() || latest->first != row.sensor) latest = known.find(row.sensor);
    const auto sensor = latest;
    if (sensor == known.end()) note_unknown(row);
    if (waiting()) take_until(row.time);
    const Instant now = summary.last;
    if (sensor == known.end()) {
      engine.advance(now, outcome);
    } else {
      const auto id = SensorId(sensor->second);
      if (row.temperature != kMissing)
        engine.take({id, Quantity::temperature, row.time, row.temperature}, now, outcome);
      if (row.humidity != kMissing)
        engine.take({id, Quantity::humidity, row.time, row.humidity}, now, outcome);
      if (row.place != kMissing)
        engine.take({id, Quantity::place, row.time, row.place}, now, outcome);
      if (row.temperature == kMissing && row.humidity == kMissing && row.place == kMissing)
        engine.advance(now, outcome);
    }
    flush();
  }

  std::shared_ptr<const Settings> settings;
  engine::Engine engine;
  const std::vector<TimedRequest>& requests;
  const std::vector<outlet::TimedDose>& doses;
  const Sink& sink;
  std::size_t next_request = 0, next_dose = 0;
  using Known = std::unordered_map<std::string, std::uint32_t, Hash, std::equal_to<>>;
  Known known;
  Known::const_iterator latest = known.end();  ///< rows of one sensor often follow each other
  engine::Outcome outcome;
  RehearsalSummary summary;
};

namespace {

struct Group {
  std::uint64_t offset = 0, line = 0;
  std::string sensor;
};

/// Where each run of rows of one sensor begins.
std::vector<Group> groups_of(ReadingsCsv& csv) {
  std::vector<Group> groups;
  CsvRow row;
  while (csv.next(row))
    if (groups.empty() || groups.back().sensor != row.sensor)
      groups.push_back({row.offset, row.line, std::string(row.sensor)});
  return groups;
}

}  // namespace

/// Reads rows in order of time. False: they turned out to be grouped by sensor.
Result<bool> Rehearsal::in_order(ReadingsCsv& csv, Fold& fold, const Report& report,
                                 const Shown& progress) {
  CsvRow row;
  std::string previous;
  while (csv.next(row)) {
    if (row.time + kGrouped < fold.summary.last && row.sensor != previous) return false;
    if (row.sensor != previous) previous = row.sensor;
    if (fold.summary.rows > 0 && row.time > fold.summary.last + kFarAhead) {
      CsvRow far = row;
      far.sensor = previous;
      const bool more = csv.next(row);
      if (more && row.time + kFarAhead < far.time && row.sensor == previous) {
        report(far.line,
               "the time is " + format_date(far.time) + ", far ahead of the rows around it");
      } else {
        fold.take(far);
      }
      if (!more) break;
      if (row.sensor != previous) previous = row.sensor;
    }
    fold.take(row);
    if (fold.summary.rows % kProgressRows == 0) progress(csv.progress());
  }
  if (!csv.read_error().empty()) return Error{csv.read_error(), "", "mend or replace the file"};
  return true;
}

/// Reads rows grouped by sensor, with a cursor for each run of them.
Status Rehearsal::grouped(const std::string& path, Fold& fold, const Report& report,
                          const Shown& progress) {
  auto scan = ReadingsCsv::open(path, report);
  if (!scan) return scan.error();
  const std::vector<Group> groups = groups_of(*scan);
  if (!scan->read_error().empty()) return Error{scan->read_error(), "", "mend or replace the file"};
  if (groups.size() > kMostGroups)
    return Error{fmt::format("the rows are neither in time order nor grouped by sensor ({} runs)",
                             groups.size()),
                 path, "sort the file by time, or by sensor and then time"};
  std::vector<ReadingsCsv> cursors;
  std::vector<CsvRow> rows(groups.size());
  using Next = std::tuple<Instant, std::size_t>;
  std::priority_queue<Next, std::vector<Next>, std::greater<>> next;
  // A run ends where the sensor changes; the scan has reported bad rows already.
  const auto step = [&](std::size_t g) {
    if (cursors[g].next(rows[g]) && rows[g].sensor == groups[g].sensor)
      next.emplace(rows[g].time, g);
  };
  for (std::size_t g = 0; g < groups.size(); ++g) {
    auto cursor = ReadingsCsv::open(path, [](std::uint64_t, const std::string&) {});
    if (!cursor) return cursor.error();
    cursors.push_back(std::move(*cursor));
    cursors.back().seek(groups[g].offset, groups[g].line);
  }
  for (std::size_t g = 0; g < groups.size(); ++g) step(g);
  std::uint64_t total = 0;
  while (!next.empty()) {
    const std::size_t g = std::get<1>(next.top());
    next.pop();
    fold.take(rows[g]);
    step(g);
    if (++total % kProgressRows == 0) progress(cursors[g].progress());
  }
  return Done{};
}

void Rehearsal::end(Fold& fold) const {
  fold.take_until(fold.summary.last);
  while (fold.next_request < requests_.size())
    fold.note_undone(requests_[fold.next_request++], words::say("rehearse.not-asked"));
}

Result<RehearsalSummary> Rehearsal::run(StagedReadings& staged, const Sink& sink,
                                        const Shown& progress) {
  Fold fold(settings_, requests_, doses_, sink);
  CsvRow row;
  bool filled = false;
  const auto slot = [&](Quantity quantity) -> Milli& {
    return quantity == Quantity::temperature ? row.temperature
           : quantity == Quantity::humidity  ? row.humidity
                                             : row.place;
  };
  std::uint64_t taken = 0;
  const auto walked = staged.walk([&](const StagedReading& reading) {
    const std::string& sensor = staged.sensors()[reading.sensor];
    // What a sensor said at one time is one row, as in a file of our form.
    if (filled &&
        (row.time != reading.time || row.sensor != sensor || slot(reading.quantity) != kMissing)) {
      fold.take(row);
      filled = false;
    }
    if (!filled) row = CsvRow{.time = reading.time, .sensor = sensor};
    filled = true;
    slot(reading.quantity) = reading.value;
    if (++taken % kProgressRows == 0)
      progress(static_cast<double>(taken) / static_cast<double>(staged.count()));
    return true;
  });
  if (!walked) return walked.error();
  if (filled) fold.take(row);
  end(fold);
  fold.summary.unknown_sensors.clear();
  return fold.summary;
}

Result<RehearsalSummary> Rehearsal::run(const std::string& path, const Sink& sink,
                                        const std::function<void()>& start_over, const Say& say,
                                        const Shown& progress) {
  std::uint64_t bad = 0;
  const Report report = [&](std::uint64_t line, const std::string& why) {
    if (++bad <= kMostReported) say(fmt::format("{}:{}: {}; row skipped", path, line, why));
  };
  auto opened = ReadingsCsv::open(path, report);
  if (!opened) return opened.error();
  auto fold = std::make_unique<Fold>(settings_, requests_, doses_, sink);
  const auto ordered = in_order(*opened, *fold, report, progress);
  if (!ordered) return ordered.error();
  if (!*ordered) {
    start_over();
    fold = std::make_unique<Fold>(settings_, requests_, doses_, sink);
    bad = 0;
    if (const auto done = grouped(path, *fold, report, progress); !done) return done.error();
  }
  end(*fold);
  fold->summary.bad_rows = bad;
  if (bad > kMostReported)
    say(fmt::format("{}: {} more rows could not be read", path, bad - kMostReported));
  return fold->summary;
}

Result<std::vector<TimedRequest>> read_requests(const std::string& path) {
  std::ifstream file(path);
  if (!file) return Error{"cannot open", path, "name a file with one request a line"};
  std::vector<TimedRequest> requests;
  std::string line;
  for (std::uint64_t n = 1; std::getline(file, line); ++n) {
    if (line.empty()) continue;
    const std::string where = fmt::format("{}:{}", path, n);
    boost::system::error_code failed;
    boost::json::value value = boost::json::parse(line, failed);
    if (failed || !value.is_object())
      return Error{"not a JSON object", where,
                   "write one request a line, with a \"time\" of its own"};
    auto& object = value.get_object();
    const auto* time = object.if_contains("time");
    if (time == nullptr || !time->is_string())
      return Error{"no \"time\"", where, "add \"time\": when it is asked, RFC 3339"};
    const auto at = parse_rfc3339(std::string_view(time->get_string()));
    if (!at) return Error{at.error().what, where + ": time", at.error().remedy};
    object.erase("time");
    auto parsed = outlet::parse_request(boost::json::serialize(value), outlet::Source::record);
    if (const auto* fault = std::get_if<outlet::RequestFault>(&parsed))
      return Error{fault->reply.text(), where, ""};
    requests.push_back({*at, std::get<feeding::Request>(parsed), n});
  }
  std::stable_sort(requests.begin(), requests.end(),
                   [](const TimedRequest& a, const TimedRequest& b) { return a.time < b.time; });
  return requests;
}

Result<std::vector<outlet::TimedDose>> read_doses(const std::string& path) {
  std::ifstream file(path);
  if (!file)
    return Error{"cannot open", path,
                 "name a file with one report a line, as plainwater export --doses writes it"};
  std::vector<outlet::TimedDose> doses;
  std::string line;
  for (int n = 1; std::getline(file, line); ++n) {
    if (line.empty()) continue;
    auto read = outlet::read_dose_line(line);
    if (const auto* fault = std::get_if<outlet::FieldFault>(&read))
      return Error{fault->text(), fmt::format("{}:{}", path, n), ""};
    doses.push_back(std::move(std::get<outlet::TimedDose>(read)));
  }
  std::stable_sort(
      doses.begin(), doses.end(),
      [](const outlet::TimedDose& a, const outlet::TimedDose& b) { return a.now < b.now; });
  return doses;
}

}  // namespace plainwater::tool
