#include "replay/fold.h"

#include <algorithm>
#include <boost/json.hpp>
#include <charconv>
#include <limits>
#include <map>
#include <utility>

#include "common/json_text.h"
#include "outlet/dose_report.h"
#include "outlet/requests.h"
#include "replay/ledger_reader.h"
#include "replay/substance.h"
#include "settings/load.h"
#include "store/journal_reads.h"
#include "store/snapshot_reads.h"

namespace plainwater::replay {
namespace {

constexpr std::size_t kMostDifferences = 10;
constexpr std::string_view kBack = "back ";  ///< start of a clock row's body; milliseconds follow

constexpr const char* kAbsent = "absent";

/// The decisions of one row, kept until the walk over the journal has ended.
struct Derived {
  std::int64_t seq = 0;
  engine::Outcome outcome;
};

using Recorded =
    std::map<std::pair<std::int64_t, std::int64_t>, std::string>;  ///< (seq, ordinal) -> JSON

Result<Recorded> recorded_since(store::Store& store, std::int64_t seq) {
  Recorded recorded;
  LedgerReader rows(store, seq, std::numeric_limits<std::int64_t>::max());
  for (const store::LedgerRow* row = rows.next(); row != nullptr; row = rows.next()) {
    recorded[{row->journal_seq, row->ordinal}] = row->json;
    rows.pass();
  }
  if (rows.failure()) return *rows.failure();
  return recorded;
}

void note(Folded& folded, std::string difference) {
  if (folded.differences.size() < kMostDifferences)
    folded.differences.push_back(std::move(difference));
}

/// True when the ledger has no decision of this row yet.
bool compare(Folded& folded, const Derived& derived, Recorded& recorded) {
  const auto& decisions = derived.outcome.decisions;
  if (decisions.empty()) return false;
  if (!recorded.contains({derived.seq, 0})) return true;
  for (std::size_t i = 0; i < decisions.size(); ++i) {
    const auto found = recorded.find({derived.seq, static_cast<std::int64_t>(i)});
    const std::string json = feeding::to_json(decisions[i]);
    if (found == recorded.end())
      note(folded, "journal row " + std::to_string(derived.seq) + ": the ledger lacks " + json);
    else if (!same_substance(found->second, json))
      note(folded, "journal row " + std::to_string(derived.seq) + ": recorded " + found->second +
                       ", derived " + json);
    if (found != recorded.end()) recorded.erase(found);
  }
  return false;
}

Status write_missing(store::Store& store, Folded& folded, const std::vector<Derived>& all,
                     Recorded recorded) {
  std::vector<const Derived*> missing;
  for (const auto& derived : all) {
    if (!compare(folded, derived, recorded)) continue;
    missing.push_back(&derived);
    folded.missing += derived.outcome.decisions.size();
  }
  for (const auto& [key, json] : recorded)
    note(folded, "journal row " + std::to_string(key.first) + ": recorded and not derived " + json);
  if (missing.empty()) return Done{};
  auto transaction = store.begin();
  if (!transaction) return transaction.error();
  for (const auto* derived : missing) {
    if (auto done = transaction->record(derived->seq, derived->outcome.decisions); !done)
      return done;
    if (auto done = transaction->record(derived->outcome.nights); !done) return done;
  }
  return transaction->commit();
}

/// Whether the ledger is compared with what is derived, and completed.
enum class Ledger { completed, left_alone };

/// The settings under which the journal since the snapshot was taken; the given ones when none are
/// recorded or the recorded ones no longer load.
Result<std::shared_ptr<const Settings>> settings_then(store::Store& store,
                                                      const std::shared_ptr<const Settings>& now,
                                                      Folded& folded) {
  auto in_force = store::JournalReads(store).settings_in_force();
  if (!in_force) return in_force.error();
  if (!*in_force) return now;
  const auto record = read_settings_record((*in_force)->body);
  if (record && record->text == now->text) return now;
  if (record)
    if (auto loaded = load_settings_text(record->text, "settings in force before"); loaded.settings)
      return loaded.settings;
  note(folded,
       "the settings in force before can no longer be loaded; the journal since the last snapshot "
       "was folded under the new ones");
  return now;
}

/// Begins another epoch of the journal. If its settings no longer load, the previous ones stay in
/// force.
void change_epoch(Folded& folded, std::shared_ptr<const Settings>& in_force,
                  const store::JournalRow& row, engine::Outcome& out) {
  const auto record = read_settings_record(row.body);
  if (!record || record->text == in_force->text) return;
  const auto epoch = epoch_of(row);
  if (epoch && change_settings(folded.engine, epoch->settings, row.now, out)) {
    in_force = epoch->settings;
    return;
  }
  note(folded, (epoch ? "settings could not take over the state" : epoch.error().message()) +
                   "; those of before were kept in force");
}

/// Restores the state from a snapshot; `last_seq` is the journal's.
Status restore_from(Folded& folded, const store::Snapshot& snapshot,
                    const std::shared_ptr<const Settings>& settings, std::int64_t last_seq) {
  if (snapshot.journal_seq > last_seq)
    return Error{"it is of a journal row that is not there", "newest snapshot",
                 "restore the last backup with plainwater restore"};
  auto restored = engine::Engine::restore(settings, snapshot.bytes);
  if (!restored) return restored.error();
  folded.engine = std::move(*restored);
  folded.seq = snapshot.journal_seq;
  return Done{};
}

}  // namespace

std::string to_json(const SettingsRecord& record) {
  return JsonObject()
      .integer("rules_revision", record.rules_revision)
      .text("settings", record.text)
      .str();
}

std::optional<SettingsRecord> read_settings_record(std::string_view body) {
  boost::system::error_code fault;
  const auto value = boost::json::parse({body.data(), body.size()}, fault);
  if (fault || !value.is_object()) return std::nullopt;
  const auto* revision = value.get_object().if_contains("rules_revision");
  const auto* text = value.get_object().if_contains("settings");
  if (revision == nullptr || !revision->is_int64() || text == nullptr || !text->is_string())
    return std::nullopt;
  return SettingsRecord{static_cast<int>(revision->get_int64()),
                        std::string(text->get_string().data(), text->get_string().size())};
}

Result<Epoch> epoch_of(const store::JournalRow& settings_row) {
  const auto record = read_settings_record(settings_row.body);
  if (!record)
    return Error{"the record of its settings cannot be read",
                 "settings of " + format_rfc3339(settings_row.now), ""};
  auto loaded = load_settings_text(record->text, "settings of " + format_rfc3339(settings_row.now));
  if (loaded.settings) return Epoch{record->rules_revision, std::move(loaded.settings)};
  return Error{message(loaded.problems.front(), "settings of " + format_rfc3339(settings_row.now)),
               "", ""};
}

Status change_settings(engine::Engine& engine, std::shared_ptr<const Settings> settings,
                       Instant now, engine::Outcome& out) {
  // An engine that has not begun must not begin before its first input.
  if (engine.now() != kNever) engine.advance(now, out);
  auto changed = engine::Engine::restore(std::move(settings), engine.snapshot());
  if (!changed) return changed.error();
  engine = std::move(*changed);
  return Done{};
}

std::string clock_body(const ClockRow& what) {
  if (const auto* back = std::get_if<Span>(&what))
    return std::string(kBack) + std::to_string(back->count()) + " ms";
  if (std::holds_alternative<Unheard>(what)) return kAbsent;
  switch (std::get<ClockTrust>(what)) {
    case ClockTrust::settled: return "settled";
    case ClockTrust::unbelieved: return "unbelieved";
    case ClockTrust::doubted: break;
  }
  return "unsettled";
}

ClockRow read_clock_body(std::string_view body) {
  if (body == "settled") return ClockTrust::settled;
  if (body == "unbelieved") return ClockTrust::unbelieved;
  if (body == kAbsent) return Unheard{};
  std::int64_t ms = 0;
  if (body.starts_with(kBack)) {
    const char* const end = body.data() + body.size();
    const auto read = std::from_chars(body.data() + kBack.size(), end, ms);
    if (read.ec == std::errc() && std::string_view(read.ptr, end) == " ms" && ms > 0)
      return Span(ms);
  }
  return ClockTrust::doubted;
}

void take_clock(engine::Engine& engine, const ClockRow& what, Instant now, engine::Outcome& out) {
  if (const auto* back = std::get_if<Span>(&what))
    engine.set_back(*back, now, out);
  else if (std::holds_alternative<Unheard>(what))
    engine.pass_unheard(now, out);
  else
    engine.settle_clock(std::get<ClockTrust>(what), now, out);
}

void take_row(engine::Engine& engine, const Settings& settings, const store::JournalRow& row,
              engine::Outcome& out) {
  switch (row.kind) {
    case store::JournalKind::reading:
      if (const auto sensor = settings.heir_of_sensor(row.sensor))
        engine.take(Reading{*sensor, row.quantity, row.time, row.value}, row.now, out);
      else
        engine.advance(row.now, out);
      return;
    case store::JournalKind::request:
      if (const auto parsed = outlet::parse_request(row.body, outlet::Source::record);
          const auto* request = std::get_if<feeding::Request>(&parsed))
        engine.take(*request, row.now, out);
      return;
    case store::JournalKind::clock:
      take_clock(engine, read_clock_body(row.body), row.now, out);
      return;
    case store::JournalKind::tick: engine.advance(row.now, out); return;
    case store::JournalKind::dose:
      if (const auto report = outlet::read_dose_body(row.body)) engine.take(*report, row.now, out);
      return;
    case store::JournalKind::settings: return;
  }
}

namespace {

/// Restores the newest snapshot, if there is one that can be used. Returns up to which row
/// decisions were made by another program and stay as they are.
Result<std::int64_t> begin_at_snapshot(store::Store& store, Folded& folded,
                                       const std::shared_ptr<const Settings>& settings) {
  auto snapshot = store::SnapshotReads(store).newest();
  if (!snapshot) return snapshot.error();
  auto thinned = store::JournalReads(store).thinned_seq();
  if (!thinned) return thinned.error();
  std::int64_t decided = 0;
  auto last = store::JournalReads(store).last_seq();
  if (!last) return last.error();
  if (*snapshot && *thinned == 0 && engine::Engine::of_former_version((*snapshot)->bytes)) {
    decided = (*snapshot)->journal_seq;
    note(folded,
         "the state was kept by a former version of this program; it has been derived anew from "
         "the whole journal");
  } else if (*snapshot) {
    if (auto done = restore_from(folded, **snapshot, settings, *last); !done) {
      // The inputs of this decision have been removed, or this program would decide otherwise.
      if (*thinned > 0 || engine::Engine::of_later_version((*snapshot)->bytes)) return done.error();
      note(folded, "the newest snapshot cannot be used (" + done.error().message() +
                       "); the state has been derived anew from the whole journal");
    }
  }
  return decided;
}

Result<Folded> fold(store::Store& store, const std::shared_ptr<const Settings>& settings,
                    Ledger ledger) {
  Folded folded{engine::Engine(settings), 0, 0, ClockTrust::settled, 0, {}, {}};
  auto then = settings_then(store, settings, folded);
  if (!then) return then.error();
  const std::shared_ptr<const Settings>& old = *then;
  folded.engine = engine::Engine(old);

  const auto decided = begin_at_snapshot(store, folded, old);
  if (!decided) return decided.error();
  auto recorded = ledger == Ledger::completed
                      ? recorded_since(store, std::max(*decided, folded.seq))
                      : Result<Recorded>(Recorded{});
  if (!recorded) return recorded.error();

  std::vector<Derived> derived;
  std::shared_ptr<const Settings> in_force =
      old;  // settings on the way change only where the whole journal is derived again
  const auto walked = store::JournalReads(store).since(
      folded.seq, [&](std::int64_t seq, const store::JournalRow& row) {
        Derived brought{seq, {}};
        if (row.kind == store::JournalKind::settings)
          change_epoch(folded, in_force, row, brought.outcome);
        take_row(folded.engine, *in_force, row, brought.outcome);
        if (row.kind == store::JournalKind::clock)
          if (const auto what = read_clock_body(row.body); std::holds_alternative<ClockTrust>(what))
            folded.clock = std::get<ClockTrust>(what);
        if (!brought.outcome.empty() && seq > *decided) derived.push_back(std::move(brought));
        folded.seq = seq;
        ++folded.rows;
        return true;
      });
  if (!walked) return walked.error();
  if (ledger == Ledger::completed)
    if (auto written = write_missing(store, folded, derived, std::move(*recorded)); !written)
      return written.error();

  if (in_force->text != settings->text)
    if (auto moved =
            change_settings(folded.engine, settings, folded.engine.now(), folded.before_settings);
        !moved)
      return moved.error();
  return folded;
}

}  // namespace

Result<Folded> fold_store(store::Store& store, std::shared_ptr<const Settings> settings) {
  return fold(store, settings, Ledger::completed);
}

Result<Folded> fold_to_read(store::Store& store, std::shared_ptr<const Settings> settings) {
  return fold(store, settings, Ledger::left_alone);
}

}  // namespace plainwater::replay
