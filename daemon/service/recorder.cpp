#include "service/recorder.h"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <utility>

#include "clock/engine_clock.h"
#include "notices/happened.h"
#include "replay/history.h"
#include "service/outbox.h"
#include "store/journal_reads.h"

namespace plainwater::service {
Recorder::Recorder(const std::shared_ptr<const Settings>& settings, store::Store& store,
                   replay::Folded folded, std::int64_t epoch)
    : settings_(settings),
      topics_(*settings),
      store_(store),
      state_{std::move(folded), orders::OrderBook(settings, epoch), notices::Desk(*settings)} {}

Result<std::unique_ptr<Recorder>> Recorder::open(const std::shared_ptr<const Settings>& settings,
                                                 store::Store& store) {
  auto folded = replay::fold_store(store, settings);
  if (!folded) return folded.error();
  const auto epoch = store.epoch();
  if (!epoch) return epoch.error();
  const auto identity = store.identity(settings->broker.instance);
  if (!identity) return identity.error();
  std::unique_ptr<Recorder> recorder(new Recorder(settings, store, std::move(*folded), *epoch));
  recorder->state_.book.orders_seen().self().store = {fmt::format("{:016x}", identity->id),
                                                      fmt::format("{:016x}", identity->lineage)};
  if (auto done = strike_off_old_orders(store, recorder->state_.now()); !done) return done.error();
  if (auto done = recorder->read_desk(); !done) return done.error();
  if (auto done = recorder->read_numbers(); !done) return done.error();
  return recorder;
}

store::JournalRow Recorder::row_of(store::JournalKind kind, Instant now, std::string body) {
  store::JournalRow row;
  row.kind = kind;
  row.now = now;
  row.body = std::move(body);
  return row;
}

Error Recorder::fail(const Error& why) {
  stale_ = why;
  refused_ = false;
  state_.ordering = false;
  return why;
}

std::optional<Error> Recorder::trouble() const {
  if (auto error = store_.trouble()) return error;
  return stale_;
}

Status Recorder::enforce_settings(Instant now) {
  if (auto done = journal_settings(now); !done) return done;
  const auto since = replay::history_since(store_);
  if (!since) return since.error();
  const bool known = *since && **since >= clock::EngineClock::kFloor;
  state_.book.orders_seen().self().history_since = known ? *since : std::nullopt;
  return Done{};
}

Status Recorder::take_over(const Recorder& before, Instant now) {
  state_.book.orders_seen().self().history_since =
      before.state_.book.orders_seen().self().history_since;
  state_.book.go_on_counting(before.state_.book);
  return journal_settings(now);
}

Result<std::int64_t> Recorder::append(store::Transaction& transaction,
                                      const store::JournalRow& row) {
  const auto appended = transaction.append(row);
  if (!appended) return appended.error();
  return state_.folded.seq = appended->seq;
}

Status Recorder::journal_settings(Instant now) {
  const auto in_force = store::JournalReads(store_).settings_in_force();
  if (!in_force) return in_force.error();
  if (*in_force) {
    const auto record = replay::read_settings_record((*in_force)->body);
    if (record && record->text == settings_->text &&
        record->rules_revision == engine::kRulesRevision)
      return Done{};
  }
  auto transaction = store_.begin();
  if (!transaction) return transaction.error();
  // At the state's own time, or an audit could not tell when new benches began.
  const Instant at = state_.now() == kNever ? now : state_.now();
  const auto body = replay::to_json({engine::kRulesRevision, settings_->text});
  const auto seq = append(*transaction, row_of(store::JournalKind::settings, at, body));
  if (!seq) return seq.error();
  auto& before = state_.folded.before_settings;
  if (auto done = transaction->record(*seq, before.decisions); !done) return done;
  if (auto done = transaction->record(before.nights); !done) return done;
  before = {};
  // The journal after a snapshot is folded under one set of settings, so a new set starts with a
  // snapshot in the same transaction: a kill between the two would fold old rows under new
  // settings. An audit by another version of the program starts there too.
  if (auto done = put_snapshot(*transaction, true); !done) return done;
  return transaction->commit();
}

Status Recorder::record(store::Transaction& transaction, engine::Outcome outcome,
                        Written& written) {
  if (outcome.empty()) return Done{};
  if (auto done = transaction.record(state_.folded.seq, outcome.decisions); !done) return done;
  if (auto done = transaction.record(outcome.nights); !done) return done;
  written.nights = written.nights || !outcome.nights.empty();
  std::ranges::move(outcome.decisions, std::back_inserter(written.decisions));
  return Done{};
}

Result<Written> Recorder::advance(Instant now) {
  engine::Outcome outcome;
  state_.folded.engine.advance(now, outcome);
  if (outcome.empty()) return Written{};
  auto transaction = store_.begin();
  if (!transaction) return fail(transaction.error());
  const auto seq = append(*transaction, row_of(store::JournalKind::tick, now));
  if (!seq) return fail(seq.error());
  Written written;
  if (auto done = record(*transaction, std::move(outcome), written); !done)
    return fail(done.error());
  return finish(*transaction, std::move(written), false);
}

Result<Written> Recorder::finish(store::Transaction& transaction, Written written,
                                 bool look_at_orders) {
  const bool looks = state_.ordering && (look_at_orders || !written.decisions.empty());
  if (!looks && written.decisions.empty()) {
    if (auto done = transaction.commit(); !done) return fail(done.error());
    return written;
  }
  // Computed once for all uses: with a thousand benches this is most of a request's cost.
  const auto benches = state_.engine().benches();
  const auto pumps = state_.engine().pumps();
  // Simple pumps get what the book holds repeatedly, so it must never hold an unrecorded order.
  orders::OrderBook::Undo undo;
  Status stored =
      looks
          ? put(transaction,
                state_.book.changed(state_.now(), benches, pumps, written.decisions, undo), written)
          : Status(Done{});
  if (stored && !written.decisions.empty()) {
    look(notices::told_by(written.decisions), benches, pumps);
    stored = put(transaction, due_messages(), written);
  }
  if (stored) stored = transaction.commit();
  if (stored) return written;
  state_.book.take_back(std::move(undo));
  return fail(stored.error());
}

Result<Written> Recorder::allow_orders() {
  auto transaction = store_.begin();
  if (!transaction) return fail(transaction.error());
  state_.book.start_afresh();
  state_.ordering = true;
  return finish(*transaction, {}, true);
}

Result<Written> Recorder::reissue() {
  if (!state_.ordering || !state_.book.mark_passed(state_.now())) return Written{};
  orders::OrderBook recorded = state_.book;
  auto due = state_.book.reissued(state_.engine());
  if (due.empty()) return Written{};
  Written written;
  auto transaction = store_.begin();
  Status stored =
      transaction ? put(*transaction, std::move(due), written) : Status(transaction.error());
  if (stored) stored = transaction->commit();
  if (stored) return written;
  state_.book = std::move(recorded);
  return fail(stored.error());
}

void Recorder::note_order(const std::string& bench, const orders::OrderStamp& stamp) {
  state_.book.seen(bench, stamp);
}

Status Recorder::put(store::Transaction& transaction, std::vector<orders::Order> orders,
                     Written& written) {
  for (auto& order : orders) {
    store::Effect effect;
    effect.kind = kOrderKind;
    effect.topic = topics_.order(order.content.bench);
    effect.payload = orders::to_json(order, settings_->board.reader());
    effect.retain = true;
    effect.expires = order.valid_until;
    effect.created = order.issued;
    const auto row = transaction.put_outbox(effect);
    if (!row) return row.error();
    written.orders.push_back({*row, std::move(order)});
  }
  return Done{};
}

Status Recorder::put_snapshot(store::Transaction& transaction, bool for_ever) {
  const Instant now = state_.now();
  const store::Snapshot whole{state_.folded.seq, now, engine::kRulesRevision,
                              state_.engine().snapshot(), for_ever};
  if (auto done = transaction.save_snapshot(whole); !done) return fail(done.error());
  if (state_.folded.clock == ClockTrust::settled) return Done{};
  // So that a fold that starts here knows the clock's trust. A state that has not begun has no
  // time.
  const auto seq = append(transaction, row_of(store::JournalKind::clock, std::max(now, from_ms(0)),
                                              replay::clock_body(state_.folded.clock)));
  if (!seq) return fail(seq.error());
  return Done{};
}

Status Recorder::snapshot() {
  auto transaction = store_.begin();
  if (!transaction) return fail(transaction.error());
  if (auto done = put_snapshot(*transaction); !done) return done;
  if (auto done = transaction->commit(); !done) return fail(done.error());
  return Done{};
}

Status Recorder::recover() {
  if (auto done = store_.try_recover(); !done) return done;
  auto folded = replay::fold_store(store_, settings_);
  if (!folded) return folded.error();
  state_.folded = std::move(*folded);
  if (auto done = strike_off_old_orders(store_, state_.now()); !done) return done;
  if (auto done = read_desk(); !done) return done;
  stale_.reset();
  state_.ordering = false;
  return Done{};
}

}  // namespace plainwater::service
