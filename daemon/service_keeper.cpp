#include "service_keeper.h"

#include <algorithm>
#include <utility>

#include "intake/engine_clock.h"
#include "notices/happened.h"
#include "outlet/dose_report.h"
#include "outlet/requests.h"

namespace plainwater {
namespace {

store::JournalRow row_of(store::JournalKind kind, Instant now, std::string body = {}) {
  store::JournalRow row;
  row.kind = kind;
  row.now = now;
  row.body = std::move(body);
  return row;
}

}  // namespace

Keeper::Keeper(std::shared_ptr<const Settings> settings, std::unique_ptr<store::Store> store,
               outlet::Folded folded, std::int64_t epoch)
    : settings_(settings),
      topics_(*settings),
      store_(std::move(store)),
      folded_(std::move(folded)),
      book_(settings, epoch),
      desk_(*settings) {}

Result<std::unique_ptr<Keeper>> Keeper::open(std::shared_ptr<const Settings> settings) {
  auto store = store::Store::open(settings->store.path, settings->store.durability);
  if (!store) return store.error();
  auto folded = outlet::fold_store(**store, settings);
  if (!folded) return folded.error();
  const auto epoch = (*store)->epoch();
  if (!epoch) return epoch.error();
  std::unique_ptr<Keeper> keeper(
      new Keeper(std::move(settings), std::move(*store), std::move(*folded), *epoch));
  if (auto done = keeper->strike_off_old_orders(); !done) return done.error();
  if (auto done = keeper->read_desk(); !done) return done.error();
  return keeper;
}

Error Keeper::fail(const Error& why) {
  stale_ = true;
  ordering_ = false;
  why_stale_ = why.message();
  return why;
}

std::string Keeper::trouble() const {
  if (const auto error = store_->trouble()) return error->message();
  return stale_ ? why_stale_ : "healthy";
}

Status Keeper::enforce_settings(Instant now) {
  if (auto done = journal_settings(now); !done) return done;
  const auto began = store_->began();
  if (!began) return began.error();
  book_.history_since(*began && **began >= intake::EngineClock::kFloor ? *began : std::nullopt);
  return Done{};
}

Status Keeper::journal_settings(Instant now) {
  const auto in_force = store_->settings_in_force();
  if (!in_force) return in_force.error();
  if (*in_force) {
    const auto record = outlet::read_settings_record((*in_force)->body);
    if (record && record->text == settings_->text &&
        record->rules_revision == engine::kRulesRevision)
      return Done{};
  }
  auto transaction = store_->begin();
  if (!transaction) return transaction.error();
  // The time of the state that goes over, or an audit could not tell at which moment new benches
  // began.
  const Instant at = folded_.engine.now() == kNever ? now : folded_.engine.now();
  const auto appended =
      transaction->append(row_of(store::JournalKind::settings, at,
                                 outlet::to_json({engine::kRulesRevision, settings_->text})));
  if (!appended) return appended.error();
  folded_.seq = appended->seq;
  // The journal after a snapshot is folded under one set of settings, so a new set begins with one,
  // in the same transaction: a kill between the two would fold old rows under new settings. Another
  // program's audit begins at it.
  if (auto done = put_snapshot(*transaction, true); !done) return done;
  return transaction->commit();
}

Status Keeper::record(store::Transaction& transaction, engine::Outcome outcome, Written& written) {
  if (outcome.empty()) return Done{};
  if (auto done = transaction.record(folded_.seq, outcome.decisions); !done) return done;
  if (auto done = transaction.record(outcome.nights); !done) return done;
  written.nights = written.nights || !outcome.nights.empty();
  std::ranges::move(outcome.decisions, std::back_inserter(written.decisions));
  return Done{};
}

store::JournalRow Keeper::journal_row(const Reading& reading, Instant now) const {
  store::JournalRow row = row_of(store::JournalKind::reading, now);
  row.sensor = settings_->sensors[index(reading.sensor)].name;
  row.quantity = reading.quantity;
  row.time = reading.time;
  row.value = reading.value;
  return row;
}

store::JournalRow Keeper::journal_row(const feeding::DoseReport& report, Instant now) const {
  return row_of(store::JournalKind::dose, now, outlet::to_json(report));
}

template <class Item>
Status Keeper::take_one(store::Transaction& transaction, const Item& item, Instant now,
                        Written& written) {
  const auto appended = transaction.append(journal_row(item, now));
  if (!appended) return appended.error();
  if (!appended->is_new) {
    ++written.repeated;
    return Done{};
  }
  folded_.seq = appended->seq;
  ++written.taken;
  ++inputs_since_snapshot_;
  engine::Outcome outcome;
  folded_.engine.take(item, now, outcome);
  return record(transaction, std::move(outcome), written);
}

template <class Item>
Result<Keeper::Written> Keeper::take_each(std::span<const Item> items, Instant now, bool backlog) {
  auto transaction = store_->begin();
  if (!transaction) return fail(transaction.error());
  Written written;
  for (const auto& item : items) {
    const Instant own = std::max(folded_.engine.now(), item.time);
    const Instant taken_at = settings_->clock.time == ClockMode::readings ? own
                             : backlog                                    ? std::min(own, now)
                                                                          : now;
    if (auto done = take_one(*transaction, item, taken_at, written); !done)
      return fail(done.error());
  }
  return finish(*transaction, std::move(written), false);
}

Result<Keeper::Written> Keeper::take(std::span<const Reading> readings, Instant now, bool backlog) {
  return take_each(readings, now, backlog);
}

Result<Keeper::Written> Keeper::take(std::span<const feeding::DoseReport> reports, Instant now,
                                     bool backlog) {
  return take_each(reports, now, backlog);
}

Result<Keeper::Answered> Keeper::take(const feeding::Request& request, Instant now) {
  auto transaction = store_->begin();
  if (!transaction) return fail(transaction.error());
  const auto appended =
      transaction->append(row_of(store::JournalKind::request, now, outlet::to_json(request)));
  if (!appended) return fail(appended.error());
  folded_.seq = appended->seq;
  ++inputs_since_snapshot_;
  engine::Outcome outcome;
  Answered answered{folded_.engine.take(request, now, outcome), {}};
  if (auto done = record(*transaction, std::move(outcome), answered.written); !done)
    return fail(done.error());
  auto finished = finish(*transaction, std::move(answered.written), true);
  if (!finished) return finished.error();
  answered.written = std::move(*finished);
  return answered;
}

Result<Keeper::Written> Keeper::advance(Instant now) {
  engine::Outcome outcome;
  folded_.engine.advance(now, outcome);
  if (outcome.empty()) return Written{};
  auto transaction = store_->begin();
  if (!transaction) return fail(transaction.error());
  const auto appended = transaction->append(row_of(store::JournalKind::tick, now));
  if (!appended) return fail(appended.error());
  folded_.seq = appended->seq;
  Written written;
  if (auto done = record(*transaction, std::move(outcome), written); !done)
    return fail(done.error());
  return finish(*transaction, std::move(written), false);
}

Result<Keeper::Written> Keeper::settle_clock(bool settled, Instant now) {
  auto transaction = store_->begin();
  if (!transaction) return fail(transaction.error());
  const auto appended =
      transaction->append(row_of(store::JournalKind::clock, now, outlet::clock_body(settled)));
  if (!appended) return fail(appended.error());
  folded_.seq = appended->seq;
  engine::Outcome outcome;
  folded_.engine.settle_clock(settled, now, outcome);
  folded_.settled = settled;
  Written written;
  if (auto done = record(*transaction, std::move(outcome), written); !done)
    return fail(done.error());
  return finish(*transaction, std::move(written), true);
}

Result<Keeper::Written> Keeper::finish(store::Transaction& transaction, Written written,
                                       bool look_at_orders) {
  const bool looks = ordering_ && (look_at_orders || !written.decisions.empty());
  // What the book holds is repeated to simple pumps: never an order that could not be recorded.
  std::optional<outlet::OrderBook> recorded;
  if (looks) recorded = book_;
  auto stored = looks ? put(transaction, book_.changed(folded_.engine, written.decisions), written)
                      : Status(Done{});
  if (stored && !written.decisions.empty()) {
    look(notices::told_by(written.decisions));
    stored = put(transaction, due_messages(), written);
  }
  if (stored) stored = transaction.commit();
  if (stored) return written;
  if (recorded) book_ = std::move(*recorded);
  return fail(stored.error());
}

Result<Keeper::Written> Keeper::allow_orders() {
  auto transaction = store_->begin();
  if (!transaction) return fail(transaction.error());
  book_.start_afresh();
  ordering_ = true;
  return finish(*transaction, {}, true);
}

Result<Keeper::Written> Keeper::reissue() {
  if (!ordering_ || !book_.mark_passed(folded_.engine.now())) return Written{};
  outlet::OrderBook recorded = book_;
  auto due = book_.reissued(folded_.engine);
  if (due.empty()) return Written{};
  Written written;
  auto transaction = store_->begin();
  Status stored =
      transaction ? put(*transaction, std::move(due), written) : Status(transaction.error());
  if (stored) stored = transaction->commit();
  if (stored) return written;
  book_ = std::move(recorded);
  return fail(stored.error());
}

bool Keeper::snapshot_due() const {
  if (inputs_since_snapshot_ == 0) return false;
  return inputs_since_snapshot_ >= kSnapshotInputs || last_snapshot_ == kNever ||
         folded_.engine.now() - last_snapshot_ >= kSnapshotSpan;
}

Status Keeper::put_snapshot(store::Transaction& transaction, bool for_ever) {
  const Instant now = folded_.engine.now();
  const store::Snapshot whole{folded_.seq, now, engine::kRulesRevision, folded_.engine.snapshot(),
                              for_ever};
  if (auto done = transaction.save_snapshot(whole); !done) return fail(done.error());
  if (folded_.settled) return Done{};
  // So that a fold that starts here learns of it.
  const auto appended =
      transaction.append(row_of(store::JournalKind::clock, now, outlet::clock_body(false)));
  if (!appended) return fail(appended.error());
  folded_.seq = appended->seq;
  return Done{};
}

Status Keeper::snapshot() {
  auto transaction = store_->begin();
  if (!transaction) return fail(transaction.error());
  const Instant now = folded_.engine.now();
  if (auto done = put_snapshot(*transaction); !done) return done;
  if (auto done = transaction->commit(); !done) return fail(done.error());
  inputs_since_snapshot_ = 0;
  last_snapshot_ = now;
  return Done{};
}

Result<bool> Keeper::retain() {
  auto step = store_->retain(folded_.engine.now(), settings_->store.raw_days);
  if (!step) return fail(step.error());
  return step->more;
}

Status Keeper::recover() {
  if (auto done = store_->try_recover(); !done) return done;
  auto folded = outlet::fold_store(*store_, settings_);
  if (!folded) return folded.error();
  folded_ = std::move(*folded);
  if (auto done = strike_off_old_orders(); !done) return done;
  if (auto done = read_desk(); !done) return done;
  stale_ = false;
  ordering_ = false;
  return Done{};
}

}  // namespace plainwater
