#include "replay/otherwise.h"

#include <algorithm>
#include <boost/json.hpp>
#include <deque>
#include <utility>
#include <variant>

#include "replay/ledger_reader.h"
#include "replay/substance.h"
#include "store/journal_reads.h"

namespace plainwater::replay {
namespace {

/// What a ledger line tells here.
struct Told {
  Instant time{};
  std::string bench, text, substance;
  feeding::DecisionKind kind = feeding::DecisionKind::notice;
  bool plain_water = false;

  bool same(const Told& other) const {
    // Figures of the evidence may differ with the settings, and the words with the version.
    return kind == other.kind && bench == other.bench &&
           (text == other.text || substance == other.substance);
  }
};

Told told(const feeding::Decision& d) {
  return {d.time, d.bench,
          d.text, substance_of(feeding::to_json(d)),
          d.kind, d.feeding == feeding::Feeding::plain_water};
}

Told told(const store::LedgerRow& row) {
  Told line{row.time,
            row.bench,
            row.json,
            substance_of(row.json),
            feeding::decision_kind(row.decision).value_or(feeding::DecisionKind::notice),
            false};
  boost::system::error_code fault;
  const auto value = boost::json::parse(row.json, fault);
  if (fault || !value.is_object()) return line;
  const auto text_of = [&](const char* key) -> std::optional<std::string> {
    const auto* found = value.get_object().if_contains(key);
    if (found == nullptr || !found->is_string()) return std::nullopt;
    return std::string(found->get_string().data(), found->get_string().size());
  };
  if (auto text = text_of("text")) line.text = std::move(*text);
  line.plain_water = text_of("feeding") == feeding::name_of(feeding::Feeding::plain_water);
  return line;
}

/// Days of plain water and of feeding, from the decisions in the order of their times.
class FedDays {
 public:
  void begin(const std::string& bench, bool plain_water, Instant at) {
    at_[bench] = {at, plain_water};
  }
  void take(const Told& line) {
    if (line.bench.empty()) return;
    pass(line.bench, line.time);
    at_[line.bench] = {line.time, line.plain_water};
    if (line.kind == feeding::DecisionKind::hold_placed) ++fed_[line.bench].holds_placed;
  }
  /// Time went back from `from`: what lasts began as long ago as before.
  void set_back(Instant from, Instant to) {
    for (auto& [bench, since] : at_) {
      pass(bench, from);
      since.first = to;
    }
  }
  std::map<std::string, Fed> until(Instant end) {
    for (const auto& [bench, since] : std::map(at_)) pass(bench, end);
    return fed_;
  }

 private:
  void pass(const std::string& bench, Instant to) {
    Fed& fed = fed_[bench];
    const auto found = at_.find(bench);
    if (found == at_.end() || to <= found->second.first) return;
    (found->second.second ? fed.plain_days : fed.feeding_days) += days_of(to - found->second.first);
    found->second.first = to;
  }
  std::map<std::string, std::pair<Instant, bool>>
      at_;  ///< by bench: since when, and whether plain water
  std::map<std::string, Fed> fed_;
};

/// Two ledgers in the order of time, moment by moment; each part between two steps back for itself.
class Comparison {
 public:
  /// `steps`: the rows by which time was set back.
  Comparison(LedgerReader& ledger, Otherwise& found,
             const std::function<void(const OtherLine&)>& line, std::deque<std::int64_t> steps)
      : ledger_(ledger), found_(found), line_(line), steps_(std::move(steps)) {}

  void begin(const engine::Engine& engine, Instant at) {
    for (const auto& bench : engine.benches())
      for (auto* fed : {&then, &now})
        fed->begin(bench.name, bench.feeding == feeding::Feeding::plain_water, at);
  }
  void take(const feeding::Decision& decision) {
    if (!derived_.empty() && derived_.front().time != decision.time) meet();
    derived_.push_back(told(decision));
    now.take(derived_.back());
  }
  /// Before the row is taken by which time goes back.
  void set_back(Instant from, Instant to) {
    finish();
    steps_.pop_front();
    then.set_back(from, to);
    now.set_back(from, to);
  }
  void finish() {
    meet();
    recorded_until(kForever);
  }

  FedDays then, now;

 private:
  /// The next one of before the next step back.
  const store::LedgerRow* next() {
    const auto* row = ledger_.next();
    const bool later = row != nullptr && !steps_.empty() && row->journal_seq >= steps_.front();
    return later ? nullptr : row;
  }
  Told take_recorded(const store::LedgerRow& row) {
    Told line = told(row);
    ledger_.pass();
    return line;
  }
  void recorded_until(Instant before) {
    for (const auto* row = next(); row != nullptr && row->time < before; row = next()) {
      const Told gone = take_recorded(*row);
      then.take(gone);
      tell(true, gone);
    }
  }
  /// All that was and would be decided at one moment.
  void meet() {
    if (derived_.empty()) return;
    const Instant at = derived_.front().time;
    recorded_until(at);
    std::vector<Told> before;
    for (const auto* row = next(); row != nullptr && row->time == at; row = next()) {
      before.push_back(take_recorded(*row));
      then.take(before.back());
    }
    for (const Told& line : before) {
      const auto match =
          std::ranges::find_if(derived_, [&](const Told& other) { return line.same(other); });
      if (match == derived_.end()) {
        tell(true, line);
        continue;
      }
      ++found_.same;
      derived_.erase(match);
    }
    for (const Told& line : derived_) tell(false, line);
    derived_.clear();
  }
  void tell(bool recorded, const Told& line) {
    ++(recorded ? found_.less : found_.more);
    line_({recorded, line.time, line.bench, line.text});
  }

  LedgerReader& ledger_;
  Otherwise& found_;
  const std::function<void(const OtherLine&)>& line_;
  std::deque<std::int64_t> steps_;  ///< those that are still to come
  std::vector<Told> derived_;       ///< of the moment that is being collected
};

/// By how much time was set back at this row; none: it was not.
std::optional<Span> step_back(const store::JournalRow& row) {
  if (row.kind != store::JournalKind::clock) return std::nullopt;
  const auto what = read_clock_body(row.body);
  const auto* by = std::get_if<Span>(&what);
  return by != nullptr ? std::optional(*by) : std::nullopt;
}

Result<std::deque<std::int64_t>> steps_back(store::Store& store, const AuditStart& start) {
  std::deque<std::int64_t> steps;
  const auto walked = store::JournalReads(store).of(
      store::JournalKind::clock, [&](std::int64_t seq, const store::JournalRow& row) {
        if (seq > start.seq() && seq <= start.last_seq && step_back(row)) steps.push_back(seq);
        return true;
      });
  if (!walked) return walked.error();
  return steps;
}

/// Names that the settings of old epochs had; what no longer loads is left to the ledger's own
/// names.
void note_epoch(const store::JournalRow& row, std::set<std::string>& benches, Otherwise& found,
                std::set<int>& foreign) {
  const auto record = read_settings_record(row.body);
  if (record && record->rules_revision != engine::kRulesRevision &&
      foreign.insert(record->rules_revision).second)
    found.notes.push_back("a part of the ledger was decided by rules revision " +
                          std::to_string(record->rules_revision) + ", this program has " +
                          std::to_string(engine::kRulesRevision) +
                          ": there the rules differ as well as the settings");
  if (const auto epoch = epoch_of(row))
    for (const Bench& bench : epoch->settings->benches) benches.insert(bench.name);
}

void note_sensor(const Settings& settings, const std::string& sensor, std::set<std::string>& heard,
                 Otherwise& found) {
  if (settings.sensor(sensor))
    heard.insert(sensor);
  else
    ++found.sensors_gone[sensor];
}

void note_time(Instant now, Otherwise& found) {
  if (found.first == kNever) found.first = now;
  found.last = std::max(found.last, now);
}

/// What was there and is not in these settings, and what they alone have.
void note_names(const Settings& settings, const std::set<std::string>& benches,
                const std::set<std::string>& heard, Otherwise& found) {
  for (const std::string& bench : benches)
    if (!settings.bench(bench)) found.benches_gone.insert(bench);
  for (const Bench& bench : settings.benches)
    if (!benches.contains(bench.name)) found.benches_new.insert(bench.name);
  for (const Sensor& sensor : settings.sensors)
    if (!heard.contains(sensor.name)) found.sensors_new.insert(sensor.name);
}

}  // namespace

Result<Otherwise> decide_otherwise(const std::filesystem::path& path,
                                   std::shared_ptr<const Settings> settings,
                                   const std::function<void(const OtherLine&)>& line,
                                   const AuditProgress& progress) {
  auto journal = store::Store::open_to_read(path);
  if (!journal) return journal.error();
  auto beside = store::Store::open_to_read(path);
  if (!beside) return beside.error();
  const auto start = audit_start(**journal);
  if (!start) return start.error();

  Otherwise found;
  LedgerReader ledger(**beside, start->seq(), start->last_seq);
  auto steps = steps_back(**beside, *start);
  if (!steps) return steps.error();
  Comparison comparison(ledger, found, line, std::move(*steps));
  engine::Engine engine(settings);
  std::set<std::string> benches, heard;
  std::set<int> foreign;
  Instant end{kNever};
  if (start->snapshot) {
    auto restored = engine::Engine::restore(settings, start->snapshot->bytes);
    if (!restored) return restored.error();
    engine = std::move(*restored);
    found.notes.push_back("older readings have been thinned: compared from " +
                          format_date(start->snapshot->now) + ", beginning with the state of then");
    comparison.begin(engine, start->snapshot->now);
    store::JournalRow row;
    if (start->settings) row.body = start->settings->body, note_epoch(row, benches, found, foreign);
  }

  const auto walked = store::JournalReads(**journal).since(
      start->seq(), [&](std::int64_t seq, const store::JournalRow& row) {
        if (seq > start->last_seq || ledger.failure()) return false;
        if (progress)
          progress(static_cast<double>(seq - start->seq()) /
                   static_cast<double>(start->last_seq - start->seq()));
        if (row.kind == store::JournalKind::settings)
          return note_epoch(row, benches, found, foreign), true;
        if (row.kind == store::JournalKind::reading)
          note_sensor(*settings, row.sensor, heard, found);
        if (const auto by = step_back(row)) comparison.set_back(row.now + *by, row.now);
        engine::Outcome outcome;
        take_row(engine, *settings, row, outcome);
        for (const auto& decision : outcome.decisions) comparison.take(decision);
        ++found.inputs;
        if (row.now >= from_ms(0)) note_time(end = row.now, found);
        return true;
      });
  if (!walked) return walked.error();
  comparison.finish();
  if (ledger.failure()) return *ledger.failure();
  found.then = comparison.then.until(end);
  found.now = comparison.now.until(end);
  for (const auto& [bench, fed] : found.then) benches.insert(bench);
  note_names(*settings, benches, heard, found);
  return found;
}

}  // namespace plainwater::replay
