#include "service/history_import.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "notices/desk.h"
#include "notices/lasting.h"
#include "outlet/requests.h"
#include "replay/fold.h"
#include "store/journal_reads.h"

namespace plainwater::service {
namespace {

constexpr std::uint64_t kRowsAtOnce = 50'000;
constexpr Span kSnapshotEvery =
    30 * kDay;  // as often as snapshots are kept for retention to cut at

store::JournalRow other_row(store::JournalKind kind, Instant now, std::string body = {}) {
  store::JournalRow row;
  row.kind = kind;
  row.now = now;
  row.body = std::move(body);
  return row;
}

}  // namespace

Result<std::vector<store::JournalRow>> inputs_before_readings(store::Store& store) {
  const auto thinned = store::JournalReads(store).thinned_seq();
  if (!thinned) return thinned.error();
  std::optional<Instant> reading;
  std::vector<store::JournalRow> rows;
  const auto walked =
      store::JournalReads(store).since(0, [&](std::int64_t, const store::JournalRow& row) {
        using Kind = store::JournalKind;
        if (row.kind == Kind::reading) reading = row.time;
        if (row.kind == Kind::request || row.kind == Kind::dose) rows.push_back(row);
        return !reading;
      });
  if (!walked) return walked.error();
  if (*thinned > 0 || reading)
    return Error{reading ? "it has readings already, from " + format_date(*reading) + " on"
                         : std::string("it has readings already"),
                 store.path().string(),
                 "history can only go in before the first reading: name a new store with --store, "
                 "and move the old one away when you want to start again"};
  std::ranges::stable_sort(rows, {}, &store::JournalRow::now);
  return rows;
}

HistoryImport::HistoryImport(const std::shared_ptr<const Settings>& settings, store::Store& store,
                             Instant now)
    : settings_(settings),
      store_(store),
      present_(settings->clock.time == ClockMode::readings ? kNever : now),
      engine_(settings) {}

Result<std::unique_ptr<HistoryImport>> HistoryImport::begin(
    const std::shared_ptr<const Settings>& settings, store::Store& store, Instant now) {
  std::unique_ptr<HistoryImport> made(new HistoryImport(settings, store, now));
  if (auto done = made->journal_settings(); !done) return done.error();
  return made;
}

Status HistoryImport::journal_settings() {
  // At the present: a store is as old as the service that began it, not as what it was told.
  const Instant at = present_ == kNever ? from_ms(0) : present_;
  const auto body = replay::to_json({engine::kRulesRevision, settings_->text});
  bool is_new = false;
  if (auto done = append(other_row(store::JournalKind::settings, at, body), is_new); !done)
    return done;
  if (auto done = put_snapshot(true); !done) return done;
  return commit();
}

Status HistoryImport::append(const store::JournalRow& row, bool& is_new) {
  if (!transaction_) {
    auto begun = store_.begin();
    if (!begun) return begun.error();
    transaction_.emplace(std::move(*begun));
  }
  const auto appended = transaction_->append(row);
  if (!appended) return appended.error();
  is_new = appended->is_new;
  if (is_new) seq_ = appended->seq;
  ++rows_;
  return Done{};
}

Status HistoryImport::record() {
  if (outcome_.empty()) return Done{};
  known_.decisions += outcome_.decisions.size();
  if (auto done = transaction_->record(seq_, outcome_.decisions); !done) return done;
  if (auto done = transaction_->record(outcome_.nights); !done) return done;
  outcome_ = {};
  return Done{};
}

Status HistoryImport::put_snapshot(bool for_ever) {
  snapshot_ = engine_.now();
  return transaction_->save_snapshot(
      {seq_, engine_.now(), engine::kRulesRevision, engine_.snapshot(), for_ever});
}

Status HistoryImport::commit() {
  rows_ = 0;
  if (!transaction_) return Done{};
  auto done = transaction_->commit();
  transaction_.reset();
  return done;
}

Status HistoryImport::commit_if_due() {
  if (rows_ < kRowsAtOnce) return Done{};
  return commit();
}

Status HistoryImport::take_carried(const store::JournalRow& row) {
  store::JournalRow now = row;
  now.now = std::max(row.now, engine_.now() == kNever ? row.now : engine_.now());
  bool is_new = false;
  if (auto done = append(now, is_new); !done) return done;
  if (!is_new) return Done{};
  replay::take_row(engine_, *settings_, now, outcome_);
  if (row.kind == store::JournalKind::request) {
    const auto parsed = outlet::parse_request(row.body, outlet::Source::record);
    const auto* request = std::get_if<feeding::Request>(&parsed);
    if (request != nullptr && !request->id.empty() && engine_.knows_answer(*request))
      if (auto done = transaction_->keep_request_id(request->id, now.now); !done) return done;
  }
  return record();
}

Status HistoryImport::carry_until(Instant t) {
  for (; next_carried_ < carried_.size() && carried_[next_carried_].now <= t; ++next_carried_)
    if (auto done = take_carried(carried_[next_carried_]); !done) return done;
  return Done{};
}

Status HistoryImport::take(const Reading& reading) {
  if (auto done = carry_until(reading.time); !done) return done;
  store::JournalRow row;
  row.kind = store::JournalKind::reading;
  row.now = std::max(reading.time, engine_.now() == kNever ? reading.time : engine_.now());
  row.sensor = settings_->sensors[index(reading.sensor)].name;
  row.quantity = reading.quantity;
  row.time = reading.time;
  row.value = reading.value;
  bool is_new = false;
  if (auto done = append(row, is_new); !done) return done;
  if (!is_new) return ++known_.repeated, Done{};
  ++known_.readings;
  known_.first = std::min(known_.first, reading.time);
  known_.last = std::max(known_.last, reading.time);
  if (engine_.take(reading, row.now, outcome_) == engine::Taken::conflicting) ++known_.conflicting;
  if (auto done = record(); !done) return done;
  if (snapshot_ == kNever || engine_.now() - snapshot_ >= kSnapshotEvery)
    if (auto done = put_snapshot(false); !done) return done;
  return commit_if_due();
}

Status HistoryImport::advance_to_present() {
  if (auto done = carry_until(kForever); !done) return done;
  if (present_ == kNever || engine_.now() == kNever) return Done{};
  // Also where nothing was due: it says up to when the store knows.
  bool is_new = false;
  const auto row = other_row(store::JournalKind::clock, std::max(present_, engine_.now()),
                             replay::clock_body(replay::Unheard{}));
  if (auto done = append(row, is_new); !done) return done;
  replay::take_row(engine_, *settings_, row, outcome_);
  return record();
}

Status HistoryImport::close_questions() {
  for (const auto& bench : engine_.benches()) {
    if (bench.questions.empty()) continue;
    feeding::Request request;
    request.id = fmt::format("import-{}-{}", bench.name, to_ms(engine_.now()));
    request.who = "import";
    request.kind = feeding::RequestKind::acknowledge;
    request.bench = bench.name;
    request.note = "asked by the past";
    store::JournalRow row =
        other_row(store::JournalKind::request, engine_.now(), outlet::to_json(request));
    if (auto done = take_carried(row); !done) return done;
    known_.closed.push_back(bench.name);
  }
  return Done{};
}

Status HistoryImport::look_at_what_lasts() {
  if (engine_.now() == kNever) return Done{};
  notices::Desk desk(*settings_);
  const auto when = notices::at(engine_.now());
  const auto is_open = [&](std::string_view id) { return desk.is_open(id); };
  desk.look(notices::lasting(engine_.now(), engine_.benches(), engine_.pumps(), engine_.sensors(),
                             engine_.gone(), *settings_, is_open),
            when);
  known_.lasting = desk.due(when, [&] { return engine_.benches(); });
  for (const auto& message : known_.lasting) desk.sent(message, {});
  for (auto item : desk.changes().items) {
    item.heard = false;  // so its end is no news
    if (auto done = transaction_->put_notice(item); !done) return done;
  }
  return Done{};
}

Result<HistoryKnown> HistoryImport::finish(const std::function<bool()>& sealing) {
  if (!transaction_) {
    auto begun = store_.begin();
    if (!begun) return begun.error();
    transaction_.emplace(std::move(*begun));
  }
  if (auto done = advance_to_present(); !done) return done.error();
  if (auto done = close_questions(); !done) return done.error();
  if (auto done = look_at_what_lasts(); !done) return done.error();
  if (auto done = put_snapshot(true); !done) return done.error();
  if (auto done = commit(); !done) return done.error();
  for (bool more = true; more;) {
    const auto sealed = store_.seal();
    if (!sealed) return sealed.error();
    more = *sealed;
    if (!sealing()) return Error{"interrupted", "", ""};
  }
  known_.benches = engine_.benches();
  return std::move(known_);
}

}  // namespace plainwater::service
