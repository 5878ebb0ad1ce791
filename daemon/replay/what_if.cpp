#include "replay/what_if.h"

#include <algorithm>
#include <boost/json.hpp>
#include <deque>
#include <utility>
#include <variant>

#include "common/json_text.h"
#include "replay/ledger_reader.h"
#include "replay/substance.h"
#include "store/journal_reads.h"

namespace plainwater::replay {
namespace {

/// The parts of a ledger line that are compared.
struct Line {
  Instant time{};
  std::string bench, text, substance;
  words::Sentence said;
  feeding::DecisionKind kind = feeding::DecisionKind::notice;
  bool plain_water = false;

  bool same(const Line& other) const {
    // Evidence may differ with the settings, and sentences with the version.
    return kind == other.kind && bench == other.bench &&
           (text == other.text || substance == other.substance);
  }
};

Line line_of(const feeding::Decision& d) {
  return {d.time,
          d.bench,
          d.text(),
          substance_of(feeding::to_json(d)),
          d.said,
          d.kind,
          d.feeding == feeding::Feeding::plain_water};
}

/// The bench that goes on for this one alone; the name itself where there is none, or several.
std::string name_today(const Settings& settings, const std::string& bench) {
  const auto heirs = settings.heirs_of_bench(bench);
  return heirs.size() == 1 ? settings.benches[heirs.front()].name : bench;
}

/// As it would be recorded under today's name of its bench.
store::LedgerRow as_today(store::LedgerRow row, const Settings& settings) {
  const std::string today = name_today(settings, row.bench);
  if (today == row.bench) return row;
  const std::string before = "\"bench\":" + json_string(row.bench);
  if (const auto at = row.json.find(before); at != std::string::npos)
    row.json.replace(at, before.size(), "\"bench\":" + json_string(today));
  row.bench = today;
  return row;
}

Line line_of(const store::LedgerRow& row) {
  Line line{row.time,
            row.bench,
            row.json,
            substance_of(row.json),
            words::Sentence(),
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
  const auto said = words::sentence_of(row.said);
  line.said = said && words::is_known(*said) ? *said : words::as_it_is(line.text);
  line.plain_water = text_of("feeding") == feeding::name_of(feeding::Feeding::plain_water);
  return line;
}

/// Counts days of plain water and of feeding, from decisions in order of time.
class FedDays {
 public:
  void begin(const std::string& bench, bool plain_water, Instant at) {
    at_[bench] = {at, plain_water};
  }
  void take(const Line& line) {
    if (line.bench.empty()) return;
    pass(line.bench, line.time);
    at_[line.bench] = {line.time, line.plain_water};
    if (line.kind == feeding::DecisionKind::hold_placed) ++fed_[line.bench].holds_placed;
  }
  /// Time was set back from `from`: shifts the start of whatever lasts by the same span.
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

/// Merges two ledgers in order of time, moment by moment, separately between any two steps back.
class Comparison {
 public:
  /// `steps`: the rows that set the time back.
  Comparison(LedgerReader& ledger, const Settings& settings, WhatIf& found,
             const std::function<void(const WhatIfLine&)>& line, std::deque<std::int64_t> steps)
      : ledger_(ledger),
        settings_(settings),
        found_(found),
        line_(line),
        steps_(std::move(steps)) {}

  void begin(const engine::Engine& engine, Instant at) {
    for (const auto& bench : engine.benches())
      for (auto* fed : {&then, &now})
        fed->begin(bench.name, bench.feeding == feeding::Feeding::plain_water, at);
  }
  void take(const feeding::Decision& decision) {
    if (!derived_.empty() && derived_.front().time != decision.time) meet();
    derived_.push_back(line_of(decision));
    now.take(derived_.back());
  }
  /// Called before a row that sets the time back.
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
  /// The next recorded line before the next step back.
  const store::LedgerRow* next() {
    const auto* row = ledger_.next();
    const bool later = row != nullptr && !steps_.empty() && row->journal_seq >= steps_.front();
    return later ? nullptr : row;
  }
  Line take_recorded(const store::LedgerRow& row) {
    Line line = line_of(as_today(row, settings_));
    ledger_.pass();
    return line;
  }
  void recorded_until(Instant before) {
    for (const auto* row = next(); row != nullptr && row->time < before; row = next()) {
      const Line gone = take_recorded(*row);
      then.take(gone);
      report(true, gone);
    }
  }
  /// Compares all recorded and derived decisions of one moment.
  void meet() {
    if (derived_.empty()) return;
    const Instant at = derived_.front().time;
    recorded_until(at);
    std::vector<Line> before;
    for (const auto* row = next(); row != nullptr && row->time == at; row = next()) {
      before.push_back(take_recorded(*row));
      then.take(before.back());
    }
    for (const Line& line : before) {
      const auto match =
          std::ranges::find_if(derived_, [&](const Line& other) { return line.same(other); });
      if (match == derived_.end()) {
        report(true, line);
        continue;
      }
      ++found_.same;
      derived_.erase(match);
    }
    for (const Line& line : derived_) report(false, line);
    derived_.clear();
  }
  void report(bool recorded, const Line& line) {
    ++(recorded ? found_.less : found_.more);
    line_({recorded, line.time, line.bench, line.said});
  }

  LedgerReader& ledger_;
  const Settings& settings_;
  WhatIf& found_;
  const std::function<void(const WhatIfLine&)>& line_;
  std::deque<std::int64_t> steps_;  ///< steps still to come
  std::vector<Line> derived_;       ///< of the moment being collected
};

/// By how much this row set the time back; none: it did not.
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

/// Names in the settings of earlier epochs. Settings that no longer load contribute none; the
/// ledger's names fill the gap.
void note_epoch(const store::JournalRow& row, const Settings& settings,
                std::set<std::string>& benches, WhatIf& found, std::set<int>& foreign) {
  const auto record = read_settings_record(row.body);
  if (record && record->rules_revision != engine::kRulesRevision &&
      foreign.insert(record->rules_revision).second)
    found.notes.push_back(
        words::say("audit.rules-differ-too", {{"theirs", words::count(record->rules_revision)},
                                              {"ours", words::count(engine::kRulesRevision)}}));
  if (const auto epoch = epoch_of(row))
    for (const Bench& bench : epoch->settings->benches)
      benches.insert(name_today(settings, bench.name));
}

void note_sensor(const Settings& settings, const std::string& sensor, std::set<std::string>& heard,
                 WhatIf& found) {
  if (const auto heir = settings.heir_of_sensor(sensor))
    heard.insert(settings.sensors[index(*heir)].name);
  else
    ++found.sensors_gone[sensor];
}

void note_time(Instant now, WhatIf& found) {
  if (found.first == kNever) found.first = now;
  found.last = std::max(found.last, now);
}

/// Names that were known before and are not in these settings, and names that only these have.
void note_names(const Settings& settings, const std::set<std::string>& benches,
                const std::set<std::string>& heard, WhatIf& found) {
  for (const std::string& bench : benches)
    if (settings.heirs_of_bench(bench).empty() &&
        std::ranges::find(settings.site.retired, bench) == settings.site.retired.end())
      found.benches_gone.insert(bench);
  for (const Bench& bench : settings.benches)
    if (!benches.contains(bench.name)) found.benches_new.insert(bench.name);
  for (const Sensor& sensor : settings.sensors)
    if (!heard.contains(sensor.name)) found.sensors_new.insert(sensor.name);
}

}  // namespace

Result<WhatIf> decide_what_if(const std::filesystem::path& path,
                              std::shared_ptr<const Settings> settings,
                              const std::function<void(const WhatIfLine&)>& line,
                              const AuditProgress& progress) {
  auto journal = store::Store::open_to_read(path);
  if (!journal) return journal.error();
  auto beside = store::Store::open_to_read(path);
  if (!beside) return beside.error();
  const auto start = audit_start(**journal);
  if (!start) return start.error();

  WhatIf found;
  LedgerReader ledger(**beside, start->seq(), start->last_seq);
  auto steps = steps_back(**beside, *start);
  if (!steps) return steps.error();
  Comparison comparison(ledger, *settings, found, line, std::move(*steps));
  engine::Engine engine(settings);
  std::set<std::string> benches, heard;
  std::set<int> foreign;
  Instant end{kNever};
  if (start->snapshot) {
    auto restored = engine::Engine::restore(settings, start->snapshot->bytes);
    if (!restored) return restored.error();
    engine = std::move(*restored);
    found.notes.push_back(
        words::say("audit.thinned", {{"day", words::name(format_date(start->snapshot->now))}}));
    comparison.begin(engine, start->snapshot->now);
    store::JournalRow row;
    if (start->settings)
      row.body = start->settings->body, note_epoch(row, *settings, benches, found, foreign);
  }

  const auto walked = store::JournalReads(**journal).since(
      start->seq(), [&](std::int64_t seq, const store::JournalRow& row) {
        if (seq > start->last_seq || ledger.failure()) return false;
        if (progress)
          progress(static_cast<double>(seq - start->seq()) /
                   static_cast<double>(start->last_seq - start->seq()));
        if (row.kind == store::JournalKind::settings)
          return note_epoch(row, *settings, benches, found, foreign), true;
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
